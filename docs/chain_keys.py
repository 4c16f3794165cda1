"""Tables of docs/reference/bench.md drawn from the code: the keys of a chain file and the contact presets."""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from docs.design_keys import meanings_of
from docs.tables import draw_table
from knobmenu.bench.chain import SECTIONS, Chain, get_value
from knobmenu.bench.contact import PRESETS, Burst
from knobmenu.bench.inputs import INPUTS

_OTHERS = {
    "contact.preset": "A contact with published figures, see below; not together with your own figures.",
    "contact.break": "The same for the opening edge; as at the closing edge, if left out.",
    "filter.input": "An input with a name, see below; in place of both thresholds.",
    "decoder.kind": "What counts: one edge of phase A, both of its edges, or one of two transition tables.",
}
"""What no field says: a contact's file is flat, and a decoder is a word."""


def keys_table(section: str) -> str:
    """Draw the keys of one section of a chain's file."""
    default = getattr(Chain(), section)
    rows = []
    meanings = {} if isinstance(default, str) else meanings_of(Burst if section == "contact" else type(default))
    shown = attrs.asdict(default) if attrs.has(type(default)) else {"kind": default}
    if section == "contact":
        shown = {"preset": next(name for name, one in PRESETS.items() if one == default)}
    if section == "filter":
        shown["input"] = get_value(Chain(), "filter.input")
    for key, rule in SECTIONS[section].items():
        if key.startswith("break_"):
            continue
        meaning = meanings.get(key) or _OTHERS[f"{section}.{key}"]
        rows.append((f"`{key}`", _shown(shown.get(key)), _allowed(rule.state_expected()), meaning))
    if section == "contact":
        breaks = ", ".join(f"`{key}`" for key in SECTIONS[section] if key.startswith("break_"))
        rows.append((breaks, "", "as above", _OTHERS["contact.break"]))
    return draw_table(("key", "default", "allowed", "meaning"), rows)


def presets_table() -> str:
    """Draw the presets of a contact, closing and opening."""
    rows = (
        (f"`{name}`", edge, *_describe_burst(burst))
        for name, contact in PRESETS.items()
        for edge, burst in (("closing", contact.on_make), ("opening", contact.on_break))
    )
    return draw_table(("preset", "edge", "mean [ms]", "longest [ms]", "bounces, mean", "clean edges"), rows)


def _describe_burst(burst: Burst | None) -> tuple[str, ...]:
    if burst is None:
        return "-", "-", "0", "all"
    return f"{burst.mean_ms:.3g}", f"{burst.longest_ms:g}", f"{burst.bounces:.3g}", f"{burst.no_bounce_fraction:.0%}"


def inputs_table() -> str:
    """Draw the thresholds of every input with a name, as fractions of the supply."""
    rows = (
        (
            f"`{name}`",
            _list_fractions(one.rising),
            _list_fractions(one.falling),
            f"{one.least_hysteresis:.3g}",
            one.note,
        )
        for name, one in INPUTS.items()
    )
    return draw_table(("input", "rising: minimum, typical, maximum", "falling", "apart, at least", "what it is"), rows)


def _list_fractions(fractions: Iterable[float]) -> str:
    return ", ".join(f"{fraction:.3g}" for fraction in fractions)


def _shown(value: object) -> str:
    if value is None or value == ():
        return ""
    return f"`{value}`" if isinstance(value, str) else f"`{value:g}`"


def _allowed(words: str) -> str:
    return words.removeprefix("one of ").replace('"', "`")
