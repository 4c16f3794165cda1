"""The published schema holds every spec, by a validator that is not ours.

Source: JSON Schema, draft 2020-12, https://json-schema.org/draft/2020-12; validator: the library jsonschema.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from knobmenu.design.whole import Design
from knobmenu.export.spec import schema, spec, spec_text
from knobmenu.files.plain import to_plain
from tests.strategies import designs


@cache
def validator() -> Any:
    return Draft202012Validator(schema())


def test_the_schema_is_one_by_its_own_standard() -> None:
    Draft202012Validator.check_schema(schema())


@given(designs())
def test_every_spec_is_valid_by_the_schema(design: Design) -> None:
    document = json.loads(spec_text(design, to_plain(design)))
    assert [error.message for error in validator().iter_errors(document)] == []


def _places(value: Any) -> Iterator[Any]:
    """Walk the objects in a document whose fields the schema names; the design part and translations are open."""
    if isinstance(value, dict):
        yield value
        for name, part in value.items():
            if name not in ("design", "in"):
                yield from _places(part)
    elif isinstance(value, list):
        for part in value:
            yield from _places(part)


@given(designs(most_settings=3), st.data())
def test_no_object_may_have_a_field_more_or_less(design: Design, data: st.DataObject) -> None:
    document = spec(design, to_plain(design))
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
    described = schema()["$defs"]
    for path, part in _properties(schema()):
        named = described[part["$ref"].rsplit("/", 1)[1]] if "$ref" in part else part
        assert part.get("description") or named.get("description"), path


def test_every_time_says_its_unit() -> None:
    for path, part in _properties(schema()):
        for ending, unit in (("_ms", "[ms]"), ("_hz", "[Hz]"), ("_per_turn", "per revolution]")):
            if path.endswith(ending):
                assert part["description"].endswith(unit), path
