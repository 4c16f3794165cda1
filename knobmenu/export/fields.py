"""The fields of a spec as numbered tables, generated from its schema so that the two never differ."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from typing import NamedTuple

from knobmenu.design.fields import INT32_HIGH, INT32_LOW
from knobmenu.export.parts import Plain
from knobmenu.export.spec import load_schema

SECTIONS = {
    "": "6.0",
    "hazard": "6.1",
    "knob": "6.2",
    "display": "6.3",
    "text": "6.4",
    "setting": "6.5",
    "readout": "6.6",
    "action": "6.7",
    "menu": "6.8",
    "home": "6.9",
    "gestures": "6.10",
    "wording": "6.11",
    "timing": "6.12",
    "lamp": "6.13",
    "tone": "6.14",
    "transition": "6.15",
    "entry": "6.16",
    "pressed": "6.17",
    "turned": "6.18",
    "name": "6.19",
    "glyph": "6.20",
    "marks": "6.21",
    "cell_character": "6.22",
    "replaced_character": "6.23",
    "pair": "6.24",
    "unit": "6.25",
    "condition": "7",
}
"""The section of the standard that numbers the fields of each definition; the first one is the document itself."""


class Field(NamedTuple):
    """One field of an object of the document."""

    name: str
    """Its name; a point separates it from a field inside it, and ``[]`` stands for each item of a list."""
    kind: str
    """What it holds, in words."""
    meaning: str
    """What it means, with its unit."""


def write_field_tables(definition: str) -> str:
    """Write the fields of one definition of the schema as Markdown tables, numbered within its section.

    Args:
        definition: One of `SECTIONS`.
    """
    part = load_schema()["$defs"][definition] if definition else load_schema()
    section, numbers = SECTIONS[definition], count(1)
    if "oneOf" not in part:
        return _write_table(section, numbers, list(_walk_fields(part)))
    objects = [variant for variant in part["oneOf"] if "properties" in variant]
    variants = [list(_walk_fields(variant)) for variant in objects]
    if len(objects) == 1:
        return _write_table(section, numbers, variants[0])
    shared = [field for field in variants[0] if all(field in variant for variant in variants)]
    text = _write_table(section, numbers, shared) if shared else ""
    for variant, fields in zip(objects, variants, strict=True):
        own = [field for field in fields if field not in shared]
        text += f"\n{_write_variant_title(variant)}\n\n{_write_table(section, numbers, own)}"
    return text.lstrip("\n")


def _write_variant_title(variant: Plain) -> str:
    kind = variant["properties"].get("kind", {}).get("const")
    return f"Kind `{kind}`. {variant['description']}" if kind else str(variant["description"])


def _write_table(section: str, numbers: Iterator[int], fields: list[Field]) -> str:
    lines = ["| no. | field | holds | meaning |", "| --- | --- | --- | --- |"]
    lines += [f"| {section}.{next(numbers)} | `{field.name}` | {field.kind} | {field.meaning} |" for field in fields]
    return "\n".join(lines) + "\n"


def _walk_fields(part: Plain, inside: str = "") -> Iterator[Field]:
    for name, held in part.get("properties", {}).items():
        yield Field(inside + name, _describe_kind(held), _find_meaning(held))
        if "properties" in held:
            yield from _walk_fields(held, f"{inside}{name}.")
        if "properties" in held.get("items", {}):
            yield from _walk_fields(held["items"], f"{inside}{name}[].")


def _find_meaning(held: Plain) -> str:
    text = held.get("description") or load_schema()["$defs"][_get_definition_name(held)].get("description", "")
    return str(text).replace("|", "\\|")


def _get_definition_name(held: Plain) -> str:
    return str(held["$ref"]).removeprefix("#/$defs/")


_ELSEWHERE = {"key": "key (3.3)", "position": "position (3.4)", "design": "a design file"}
"""Definitions that the standard describes without a table of fields."""


def _describe_kind(held: Plain) -> str:
    """Describe what a field holds."""
    if "$ref" in held:
        name = _get_definition_name(held)
        if name in SECTIONS:
            return f"{name} ({SECTIONS[name]})"
        return _ELSEWHERE.get(name) or _describe_kind(load_schema()["$defs"][name])
    if "const" in held:
        return _write_literal(held["const"])
    if "enum" in held:
        return ", ".join(map(_write_literal, held["enum"]))
    if "oneOf" in held:
        return ", or ".join(_describe_kind(variant) for variant in held["oneOf"])
    match held["type"]:
        case "integer":
            return _describe_range(held)
        case "string":
            return f"text of {held.get('minLength', 0)} to {held['maxLength']}" if "maxLength" in held else "text"
        case "boolean":
            return "true, false"
        case "array":
            return _describe_list(held)
        case other:
            return str(other)


def _describe_range(held: Plain) -> str:
    low, high = held["minimum"], held.get("maximum")
    if high is None:
        return f"{low} or more"
    return "whole number (3.1)" if (low, high) == (INT32_LOW, INT32_HIGH) else f"{low} to {high}"


def _describe_list(held: Plain) -> str:
    low, high = held.get("minItems", 0), held.get("maxItems")
    amount = f"{low} to {high}" if high is not None else f"{low} or more" if low else "any number"
    amount = str(low) if low == high else amount
    return f"list, {amount}, of {_describe_kind(held['items'])}"


def _write_literal(value: object) -> str:
    return f'`"{value}"`' if isinstance(value, str) else f"{value}"
