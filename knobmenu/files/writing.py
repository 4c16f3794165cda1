"""Conversion of plain data to readable TOML text: a header for each part, short tables on one line."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping

from knobmenu.codec.forms import BARE, Plain

WIDTH = 100
"""A list that does not fit a line of this width has one item on each line. [characters]"""

SECTIONS = ("settings", "menus", "actions", "readouts", "lamps", "translations", "simulation")
"""The tables in which each member has a header."""

TABLE_LISTS = ("accepted", "simulation_keys")
"""The lists in which each item has a header."""


def format_document(data: Mapping[str, Plain]) -> str:
    """Format the plain data of a whole design."""
    lines: list[str] = [
        format_line(name, value)
        for name, value in data.items()
        if not isinstance(value, dict) and name not in TABLE_LISTS
    ]
    for name, value in data.items():
        if name in TABLE_LISTS:
            for part in value:
                lines += ["", *format_item(name, part)]
        elif name in SECTIONS:
            for key, part in value.items():
                lines += ["", *format_section((name, key), part)]
        elif isinstance(value, dict):
            lines += ["", *format_section((name,), value)]
    return "\n".join(lines) + "\n"


def format_section(path: tuple[str, ...], table: Mapping[str, Plain]) -> Iterator[str]:
    """Format one part: its header and its fields."""
    yield f"[{'.'.join(map(format_key, path))}]"
    for name, value in table.items():
        yield format_line(name, value)


def format_item(name: str, table: Mapping[str, Plain]) -> Iterator[str]:
    """Format one item of a list of tables: its header and its fields."""
    yield f"[[{format_key(name)}]]"
    for field, value in table.items():
        yield format_line(field, value)


def format_line(name: str, value: Plain) -> str:
    """Format one field, over several lines if it is a long list."""
    start = f"{format_key(name)} = "
    text = start + format_inline(value)
    if len(text) > WIDTH and isinstance(value, list):
        return start + "[\n" + "".join(f"    {format_inline(item)},\n" for item in value) + "]"
    return text


def format_inline(value: Plain) -> str:
    """Format a value on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return quote(value)
    if isinstance(value, list):
        return "[" + ", ".join(map(format_inline, value)) + "]"
    members = ", ".join(f"{format_key(name)} = {format_inline(item)}" for name, item in value.items())
    return f"{{ {members} }}" if members else "{}"


def quote(text: str) -> str:
    """Quote a text. TOML has the same escapes as JSON, and additionally requires one for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def format_key(key: str) -> str:
    """Format a key, in quotes if it needs them."""
    return key if BARE.match(key) else quote(key)
