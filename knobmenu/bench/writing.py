"""A chain as the text of its file."""

from __future__ import annotations

import json

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import PRESETS, Contact


def preset_of(contact: Contact) -> str:
    """Give the name of the preset that a contact is, or nothing."""
    return next((name for name, one in PRESETS.items() if one == contact), "")


def toml_text(chain: Chain) -> str:
    """Write a chain as TOML that loads to the same chain.

    A contact that bounces one way on make and another way on break, and is no preset, cannot be said in a file: its
    figures on make are written.
    """
    lines = ["# A chain for knobmenu bench: what each key may be is said in docs/bench.md."]
    for section in ("turning", "encoder", "contact", "filter", "reader", "decoder", "judging"):
        lines += ["", f"[{section}]"]
        value = getattr(chain, section)
        if section == "decoder":
            lines.append(f'kind = "{value}"')
        elif section == "contact" and (preset := preset_of(value)):
            lines.append(f'preset = "{preset}"')
        else:
            figures = value.on_make or value.on_break if section == "contact" else value
            lines += [f"{key} = {json.dumps(item)}" for key, item in attrs.asdict(figures).items()]
    return "\n".join(lines) + "\n"
