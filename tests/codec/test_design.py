"""A design and its plain data, TOML text and JSON text say the same."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.codec import from_plain, to_plain
from knobmenu.codec.tables import ORDER
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem
from knobmenu.files import json, toml
from tests.strategies import designs, simulated_designs

MINIMAL: dict[str, Any] = {
    "format": 1,
    "name": "Radio",
    "home": {"press": "main"},
    "settings": {"volume": {"kind": "number", "label": "Volume", "low": 0, "high": 30, "initial": 12}},
    "menus": {"main": {"label": "Menu", "entries": ["volume"]}},
}


def same(one: Design, other: Design) -> bool:
    """Compare the types too: to Python, true equals 1."""
    return one == other and repr(one) == repr(other)


@settings(max_examples=60, deadline=None)
@given(st.one_of(designs(), simulated_designs()))
def test_a_design_comes_back_from_plain_data_as_it_was(design: Design) -> None:
    assert same(from_plain(to_plain(design)), design)


@settings(max_examples=60, deadline=None)
@given(st.one_of(designs(), simulated_designs()))
def test_a_design_comes_back_from_toml_text_as_it_was(design: Design) -> None:
    text = toml.dumps(design)

    assert same(toml.loads(text), design)
    assert toml.dumps(toml.loads(text)) == text


@settings(max_examples=60, deadline=None)
@given(st.one_of(designs(), simulated_designs()))
def test_a_design_comes_back_from_json_text_as_it_was(design: Design) -> None:
    assert same(json.loads(json.dumps(design)), design)


@settings(max_examples=30, deadline=None)
@given(designs())
def test_toml_text_and_json_text_hold_the_same_plain_data(design: Design) -> None:
    assert toml.parse(toml.dumps(design)) == json.parse(json.dumps(design))


@settings(max_examples=30, deadline=None)
@given(designs())
def test_what_is_at_its_default_is_not_written(design: Design) -> None:
    plain = to_plain(design)

    assert [name for name in ORDER if name in plain] == list(plain)
    assert ("sounder" in plain) == (design.sounder is not None)
    assert ("lamps" in plain) == bool(design.lamps)


def test_a_part_keeps_its_place_in_the_file() -> None:
    data = MINIMAL | {"readouts": {"z": {"label": "Z"}, "a": {"label": "A"}}}

    assert [readout.key for readout in from_plain(data).readouts] == ["z", "a"]


JUNK = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5), st.just("volume")),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=8), inner, max_size=3)),
    max_leaves=6,
)


def places(data: Any) -> list[tuple[Any, Any]]:
    """List every table or list in plain data with each of its keys or indices."""
    found = []
    for key, value in list(data.items() if isinstance(data, dict) else enumerate(data)):
        found.append((data, key))
        if isinstance(value, dict | list):
            found += places(value)
    return found


@settings(max_examples=300, deadline=None)
@given(designs(most_settings=3), JUNK, st.randoms(use_true_random=False), st.sampled_from(["put", "drop", "rename"]))
def test_plain_data_with_something_else_in_any_place_is_a_design_or_is_refused_in_words(
    design: Design, junk: Any, random: Any, how: str
) -> None:
    data = to_plain(design)
    table, key = random.choice(places(data))
    if how == "put":
        table[key] = junk
    elif how == "drop":
        del table[key]
    elif isinstance(table, dict):
        table[f"{key}x"] = table.pop(key)

    problems: tuple[Problem, ...] = ()
    made = None
    try:
        made = from_plain(data)
    except DesignError as error:
        problems = error.problems

    assert (made is None) == bool(problems)
    assert len(set(problems)) == len(problems)
    assert made is None or same(from_plain(to_plain(made)), made)


@pytest.mark.parametrize("data", [None, 5, [], "format = 1", {"format": True}, {"format": 10**400}, {}])
def test_what_is_no_table_of_a_design_is_refused(data: Any) -> None:
    with pytest.raises(DesignError) as refused:
        from_plain(data)

    assert refused.value.problems


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"words": {}}, 'words: renamed to "translations". Write "translations".'),
        (
            {"display": {"kind": "character", "glyphs": [{"sign": "♪", "dots": ["....."] * 8}]}},
            'display.glyphs[0].sign: renamed to "character". Write "character".',
        ),
    ],
)
def test_a_key_of_an_earlier_version_is_refused_with_its_new_name(change: dict[str, Any], message: str) -> None:
    with pytest.raises(DesignError) as refused:
        from_plain(MINIMAL | change)

    assert message in [str(problem) for problem in refused.value.problems]
