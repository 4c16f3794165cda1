"""The small TOML file that describes a chain: read and written."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import attrs

from knobmenu.bench.chain import PARTS, SECTIONS, Chain, get_value
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.errors import BenchError
from knobmenu.bench.filter import Filter
from knobmenu.bench.inputs import InputKind, get_thresholds_v
from knobmenu.bench.rules import describe_problem, locate
from knobmenu.codec.recognition import Document, recognize, recognize_json
from knobmenu.codec.toml_text import parse_toml
from knobmenu.errors import DesignError, Problem, nearest, one_of, quote_value

LARGEST_FILE = 1_000_000
"""A chain's file above this is refused before it is read whole. [bytes]"""

RENAMED = {
    "contact.clean_share": "no_bounce_fraction",
    "contact.break_clean_share": "break_no_bounce_fraction",
    "reader.looks": "samples",
    "judging.error_share": "tolerated_error_rate",
}
"""Keys that an earlier version had, and what they are called now."""


def load(path: Path) -> Chain:
    """Read a chain's file.

    Raises:
        BenchError: the file cannot be read, or describes what cannot be; all problems together.
    """
    name = str(path)
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise BenchError(
            [Problem("", error.strerror or "no file", "a chain's file that can be read", file=name)]
        ) from None
    if len(content) > LARGEST_FILE:
        raise BenchError([Problem("", f"more than {LARGEST_FILE} bytes", "a small TOML file", file=name)])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        found = f"byte 0x{content[error.start]:02x} at position {error.start}"
        raise BenchError([Problem("", found, "text in UTF-8; this looks like a binary file", file=name)]) from None
    return loads(text, name)


def loads(text: str, name: str = "") -> Chain:
    """Read a chain from its text.

    Args:
        text: TOML.
        name: the file's name, for errors.

    Raises:
        BenchError: the text is not valid TOML, or describes what cannot be; all problems together.
    """
    if name.endswith(".py"):
        advice = '"knobmenu bench show" prints a chain to start from'
        raise BenchError([Problem("", "a .py file", "a chain in TOML", advice, name)])
    try:
        tables = parse_toml(text, name)
    except DesignError as error:
        _refuse_other(recognize_json(text), name)
        raise BenchError(error.problems) from None
    _refuse_other(recognize(tables), name)
    problems: list[Problem] = []
    parts: dict[str, Any] = {}
    for section, table in tables.items():
        if section not in SECTIONS:
            advice = nearest(section, SECTIONS)
            problems.append(Problem(section[:60], "an unknown section", one_of(SECTIONS), advice))
        elif not isinstance(table, dict):
            problems.append(Problem(section, quote_value(table), f"a section, [{section}]"))
        elif faults := _find_faults(section, table):
            problems += faults
        else:
            try:
                parts[section] = _make_part(section, table)
            except BenchError as error:
                problems += error.problems
    if problems:
        raise BenchError([one._replace(file=name, line=_find_line(text, *one.path.split(".", 1))) for one in problems])
    return Chain(**parts)


def _refuse_other(found: Document | None, name: str) -> None:
    """Refuse a document of another kind, and name the command that reads it."""
    if found is not None and found is not Document.CHAIN:
        raise BenchError([Problem("", found.noun, Document.CHAIN.noun, found.advice, name, 1)])


def _find_faults(section: str, table: dict[str, Any]) -> list[Problem]:
    problems = []
    for key, value in table.items():
        rule = SECTIONS[section].get(key)
        if rule is not None:
            if not rule.accepts(value):
                problems.append(describe_problem(rule, f"{section}.{key}", value))
        elif new := RENAMED.get(f"{section}.{key}"):
            problems.append(Problem(f"{section}.{key}", f"renamed to {new}", advice=f"Write {new}"))
        else:
            keys = SECTIONS[section]
            problems.append(
                Problem(f"{section}.{key[:60]}", "an unknown key", one_of(keys, len(keys)), nearest(key, keys))
            )
    if section == "filter" and "input" in table and table.keys() & {"rising_v", "falling_v"}:
        expected = "one of the two"
        problems.append(
            Problem("filter.input", "an input beside thresholds of your own", expected, "remove one of them")
        )
    if section == "contact" and "preset" in table and len(table) > 1:
        problems.append(
            Problem("contact.preset", "a preset beside figures of your own", "one of the two", "remove one of them")
        )
    return problems


def _make_part(section: str, table: dict[str, Any]) -> Any:
    """Make the part of a chain that a section describes."""
    match section:
        case "decoder":
            return table.get("kind", Chain().decoder)
        case "contact":
            return _make_contact(table)
        case "filter":
            table = _complete_filter(table)
    with locate(section):
        return PARTS[section](**table)


def _complete_filter(table: dict[str, Any]) -> dict[str, Any]:
    """Complete an input's thresholds; one that is not described is plain, with its threshold at half the supply."""
    kind: InputKind = table.get("input", "cmos")
    rising_v, falling_v = get_thresholds_v(kind, table.get("supply_v", Filter().supply_v))
    if "rising_v" in table:
        falling_v = table["rising_v"]
    given = {key: value for key, value in table.items() if key != "input"}
    return {"rising_v": rising_v, "falling_v": falling_v} | given


def _make_contact(figures: dict[str, Any]) -> Contact:
    if not figures:
        return Chain().contact
    if "preset" in figures:
        return PRESETS[figures["preset"]]
    on_make = {key: value for key, value in figures.items() if not key.startswith("break_")}
    on_break = {key.removeprefix("break_"): value for key, value in figures.items() if key.startswith("break_")}
    if not on_break:
        with locate("contact"):
            return Contact(on_make=_make_burst(on_make), on_break=_make_burst(on_make))
    with locate("contact.break_"):
        opening = _make_burst(on_make | on_break)
    with locate("contact"):
        return Contact(on_make=_make_burst(on_make), on_break=opening)


def _make_burst(figures: dict[str, Any]) -> Burst | None:
    """Make a burst from the figures in a file; None if no edge bounces."""
    longest_ms = figures.get("longest_ms", 2.0)
    given = {"mean_ms": 0.35 * longest_ms, "longest_ms": longest_ms, "bounces": 3.0} | figures
    return None if figures.get("no_bounce_fraction") == 1 else Burst(**given)


def _find_line(text: str, section: str, key: str = "") -> int:
    """Find the line of a section or a key, or 0; only errors ask."""
    inside = False
    for number, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if bare.startswith("["):
            inside = bare.lstrip("[ ").startswith(section)
            if inside and not key:
                return number
        elif re.match(rf"['\"]?{re.escape(key if inside else section)}['\"]?\s*[.=]", bare) and (key or not inside):
            return number
    return _find_line(text, section) if key else 0


def write_toml(chain: Chain) -> str:
    """Write a chain as TOML that loads to the same chain."""
    lines = ["# A chain for knobmenu bench: docs/reference/bench.md describes each key."]
    for section in SECTIONS:
        if section == "contact":
            figures = _describe_contact(chain)
        elif section == "decoder":
            figures = {"kind": chain.decoder}
        else:
            figures = attrs.asdict(getattr(chain, section))
            if section == "filter" and (kind := get_value(chain, "filter.input")):
                del figures["rising_v"], figures["falling_v"]
                figures = {"input": kind, **figures}
        lines += ["", f"[{section}]", *(f"{key} = {json.dumps(item)}" for key, item in figures.items())]
    return "\n".join(lines) + "\n"


def _describe_contact(chain: Chain) -> dict[str, Any]:
    """Describe a contact by its preset, or by its figures; those of an opening only where they differ."""
    if preset := get_value(chain, "contact.preset"):
        return {"preset": preset}
    contact = chain.contact
    figures = _describe_burst(contact.on_make)
    if contact.on_break != contact.on_make:
        figures |= {f"break_{key}": value for key, value in _describe_burst(contact.on_break).items()}
    return figures


def _describe_burst(burst: Burst | None) -> dict[str, Any]:
    return {"no_bounce_fraction": 1.0} if burst is None else attrs.asdict(burst)
