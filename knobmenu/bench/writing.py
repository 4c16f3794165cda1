"""A chain as the text of its file."""

from __future__ import annotations

import json

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import PRESETS, Burst, Contact


def preset_of(contact: Contact) -> str:
    """Give the name of the preset that a contact is, or nothing."""
    return next((name for name, one in PRESETS.items() if one == contact), "")


def toml_text(chain: Chain) -> str:
    """Write a chain as TOML that loads to the same chain."""
    lines = ["# A chain for knobmenu bench: what each key may be is said in docs/reference/bench.md."]
    for section in ("turning", "encoder", "contact", "filter", "reader", "decoder", "pressing", "judging"):
        value = getattr(chain, section)
        if section == "decoder":
            figures = {"kind": value}
        elif section == "contact":
            figures = _contact_figures(value)
        else:
            figures = attrs.asdict(value)
        lines += ["", f"[{section}]", *(f"{key} = {json.dumps(item)}" for key, item in figures.items())]
    return "\n".join(lines) + "\n"


def _contact_figures(contact: Contact) -> dict[str, str | float]:
    """Say a contact by its preset, or by its figures; those of an opening only where they differ."""
    if preset := preset_of(contact):
        return {"preset": preset}
    figures = _burst_figures(contact.on_make)
    if contact.on_break != contact.on_make:
        figures |= {f"break_{key}": value for key, value in _burst_figures(contact.on_break).items()}
    return figures


def _burst_figures(burst: Burst | None) -> dict[str, str | float]:
    return {"clean_share": 1.0} if burst is None else attrs.asdict(burst)
