"""The published schema holds every spec, by a validator that is not ours.

Source: JSON Schema, draft 2020-12, https://json-schema.org/draft/2020-12; validator: the library jsonschema.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

import attrs
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from knobmenu.codec.tables import DISPLAYS, SETTINGS
from knobmenu.design import hardware, home, menu
from knobmenu.design.acceptance import Accepted
from knobmenu.design.generators import Generator
from knobmenu.design.settings import Option
from knobmenu.design.whole import Design
from knobmenu.export.spec import build_spec, load_schema, write_spec
from tests.strategies import designs


@cache
def validator() -> Any:
    return Draft202012Validator(load_schema())


def test_the_schema_is_one_by_its_own_standard() -> None:
    Draft202012Validator.check_schema(load_schema())


@given(designs())
def test_every_spec_is_valid_by_the_schema(design: Design) -> None:
    document = json.loads(write_spec(design))
    assert [error.message for error in validator().iter_errors(document)] == []


def _places(value: Any) -> Iterator[Any]:
    """Walk the objects whose fields the schema names; the design part and what is listed by language are open."""
    if isinstance(value, dict):
        yield value
        for name, part in value.items():
            if name not in ("design", "in", "cells", "suffix", "left", "right"):
                yield from _places(part)
    elif isinstance(value, list):
        for part in value:
            yield from _places(part)


@given(designs(most_settings=3), st.data())
def test_no_object_of_the_design_part_may_have_a_field_more(design: Design, data: st.DataObject) -> None:
    document = json.loads(write_spec(design))
    place = data.draw(st.sampled_from([document["design"], *_objects(document["design"])]))
    place["extra"] = 1
    assert not validator().is_valid(document)


def _objects(value: Any) -> Iterator[Any]:
    for part in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        if isinstance(part, dict):
            yield part
        yield from _objects(part)


def _forms() -> Iterator[tuple[str, Any, Any]]:
    """Walk the tables that a design file has, each with its definition in the schema and its class."""
    described = load_schema()["$defs"]
    for name, kinds in (("design_display", DISPLAYS.kinds), ("design_setting", SETTINGS.kinds)):
        for variant in described[name]["oneOf"]:
            yield name, variant, kinds[variant["properties"]["kind"]["const"]].made
    classes = {
        "design": Design, "design_knob": hardware.Knob, "design_acceleration": hardware.Acceleration,
        "design_glyph": hardware.Glyph, "design_lamp": hardware.Lamp, "design_sounder": hardware.Sounder,
        "design_tone": hardware.Tone, "design_home": home.Home, "design_row": home.Row, "design_idle": home.Idle,
        "design_gestures": home.Gestures, "design_wording": home.Wording, "design_menu": menu.Menu,
        "design_entry": menu.Entry, "design_action": menu.Action, "design_readout": menu.Readout,
        "design_accepted": Accepted, "design_option": Option, "design_generator": Generator,
    }  # fmt: skip
    for name, made in classes.items():
        yield name, described[name].get("oneOf", [described[name]])[-1], made


def test_the_schema_of_the_design_part_has_the_fields_of_the_design_and_no_others() -> None:
    forms = list(_forms())
    for name, part, made in forms:
        own = {field.name: field.default is attrs.NOTHING for field in attrs.fields(made) if field.init}
        fields = {**own, **({"format": True} if made is Design else {}), **({"kind": True} if _is_kind(part) else {})}
        for name_left_out in ("simulation", "simulation_speed", "simulation_keys") if made is Design else ():
            fields.pop(name_left_out)  # an export holds the device alone
        if "key" not in part["properties"]:
            fields.pop("key", None)  # it stands before the table
        assert set(part["properties"]) == set(fields), name
        assert set(part["required"]) == {field for field, required in fields.items() if required}, name
    told = {name for name, _, _ in forms} | {"design_condition"}
    assert told == {name for name in load_schema()["$defs"] if name.startswith("design")}


def _is_kind(part: Any) -> bool:
    return "const" in part["properties"].get("kind", {})


@given(designs(most_settings=3), st.data())
def test_no_object_may_have_a_field_more_or_less(design: Design, data: st.DataObject) -> None:
    document = build_spec(design)
    place = data.draw(st.sampled_from(list(_places(document))))
    if data.draw(st.booleans()):
        place["extra"] = 1
    else:
        del place[data.draw(st.sampled_from(sorted(place)))]
    assert not validator().is_valid(document)


def _properties(part: Any, path: str = "$") -> Iterator[tuple[str, Any]]:
    if isinstance(part, dict):
        for name, inner in part.get("properties", {}).items() if "type" in part else ():
            yield f"{path}.{name}", inner
        for name, inner in part.items():
            yield from _properties(inner, f"{path}.{name}")
    elif isinstance(part, list):
        for number, inner in enumerate(part):
            yield from _properties(inner, f"{path}[{number}]")


def test_every_property_says_what_it_is() -> None:
    described = load_schema()["$defs"]
    for path, part in _properties(load_schema()):
        named = described[part["$ref"].rsplit("/", 1)[1]] if "$ref" in part else part
        assert part.get("description") or named.get("description"), path


def test_every_time_says_its_unit() -> None:
    seen = set()
    for path, part in _properties(load_schema()):
        for ending, unit in (("_ms", "[ms]"), ("_hz", "[Hz]"), ("_per_turn", "per revolution]")):
            if path.endswith(ending):
                assert part["description"].endswith(unit), path
                seen.add(ending)
    assert seen == {"_ms", "_hz", "_per_turn"}
