"""Plain data to TOML text that people like to read: a header for each part, short tables in one line."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping

from knobmenu.codec.forms import BARE, Plain

WIDTH = 100
"""A list whose line would be longer than this is written with one item on each line. [characters]"""

SECTIONS = ("settings", "menus", "actions", "readouts", "lamps", "translations", "simulation")
"""The tables whose members have a header each."""

TABLE_LISTS = ("accepted", "simulation_keys")
"""The lists whose items have a header each."""


def document(data: Mapping[str, Plain]) -> str:
    """Write the plain data of a whole design."""
    lines: list[str] = [
        line(name, value) for name, value in data.items() if not isinstance(value, dict) and name not in TABLE_LISTS
    ]
    for name, value in data.items():
        if name in TABLE_LISTS:
            for part in value:
                lines += ["", *item(name, part)]
        elif name in SECTIONS:
            for key, part in value.items():
                lines += ["", *section((name, key), part)]
        elif isinstance(value, dict):
            lines += ["", *section((name,), value)]
    return "\n".join(lines) + "\n"


def section(path: tuple[str, ...], table: Mapping[str, Plain]) -> Iterator[str]:
    """Write one part: its header and its fields."""
    yield f"[{'.'.join(map(key_text, path))}]"
    for name, value in table.items():
        yield line(name, value)


def item(name: str, table: Mapping[str, Plain]) -> Iterator[str]:
    """Write one item of a list of tables: its header and its fields."""
    yield f"[[{key_text(name)}]]"
    for field, value in table.items():
        yield line(field, value)


def line(name: str, value: Plain) -> str:
    """Write one field, over several lines where it is a long list."""
    start = f"{key_text(name)} = "
    text = start + inline(value)
    if len(text) > WIDTH and isinstance(value, list):
        return start + "[\n" + "".join(f"    {inline(item)},\n" for item in value) + "]"
    return text


def inline(value: Plain) -> str:
    """Write a value in one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return quote(value)
    if isinstance(value, list):
        return "[" + ", ".join(map(inline, value)) + "]"
    members = ", ".join(f"{key_text(name)} = {inline(item)}" for name, item in value.items())
    return f"{{ {members} }}" if members else "{}"


def quote(text: str) -> str:
    """Write a text in quotes. What JSON escapes, TOML escapes in the same way, but for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def key_text(key: str) -> str:
    """Write a key, in quotes where it needs them."""
    return key if BARE.match(key) else quote(key)
