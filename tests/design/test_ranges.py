"""The model accepts what docs/reference/design-file.md says that each key holds, and nothing beyond."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any as Anything
from typing import NamedTuple

import attrs
import pytest

from docs.design_keys import PARTS
from knobmenu.design.conditions import All, Any
from knobmenu.design.hardware import Sounder
from knobmenu.design.home import Row
from knobmenu.design.kinds import SETTINGS
from knobmenu.design.menu import Entry, Menu
from knobmenu.design.settings import Choice
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError

TEXT = (Path(__file__).parents[2] / "docs" / "reference" / "design-file.md").read_text(encoding="utf-8")

CLASSES: dict[str, tuple[type, ...]] = {
    "top": (Design,),
    "every kind": SETTINGS,
    **{name: (part,) for name, part in PARTS.items()},
}


class Key(NamedTuple):
    """A row of the reference: a key of a part, what it holds and its default."""

    part: type
    name: str
    holds: str
    default: str

    def __str__(self) -> str:
        return f"{self.part.__name__}.{self.name}"

    @property
    def field(self) -> Anything:
        """The field that holds it."""
        return getattr(attrs.fields(self.part), self.name)


def _rows() -> Iterator[Key]:
    for name, table in re.findall(r"<!-- drawn: keys ([^>]+) -->\n(.*?)<!-- end -->", TEXT, re.DOTALL):
        for line in table.splitlines()[2:]:
            cells = [cell.strip() for cell in line.replace("\\|", "").split("|")]
            for part in CLASSES[name]:
                yield Key(part, cells[1].strip("`"), cells[2], cells[3])


ROWS = list(_rows())


def _refusal(key: Key, value: object) -> str:
    """Say what the field refuses of a value; nothing where it accepts it."""
    try:
        key.field.validator(None, key.field, value)
    except DesignError as error:
        return str(error)
    return ""


def _bounds(pattern: str) -> list[Anything]:
    """The keys of which the reference says this, each with its least and its most; nothing said is 0."""
    found = [(key, re.match(pattern, key.holds)) for key in ROWS]
    bounds = [
        pytest.param(key, int(match["low"] or 0), int(match["high"]), id=str(key)) for key, match in found if match
    ]
    assert bounds
    return bounds


@pytest.mark.parametrize(("key", "low", "high"), _bounds(r"a whole number from (?P<low>-?\d+) to (?P<high>\d+)"))
def test_a_number_reaches_from_its_least_to_its_most(key: Key, low: int, high: int) -> None:
    assert (_refusal(key, low), _refusal(key, high)) == ("", "")
    assert f"expected a whole number from {low} to {high}, got {low - 1}" in _refusal(key, low - 1)
    assert f"expected a whole number from {low} to {high}, got {high + 1}" in _refusal(key, high + 1)


@pytest.mark.parametrize("key", [key for key in ROWS if key.holds.startswith("a 32-bit integer")], ids=str)
def test_a_number_without_bounds_of_its_own_has_32_bits(key: Key) -> None:
    """Two's complement."""
    assert (_refusal(key, -2_147_483_648), _refusal(key, 2_147_483_647)) == ("", "")
    assert "32-bit" in _refusal(key, -2_147_483_649)
    assert "32-bit" in _refusal(key, 2_147_483_648)


@pytest.mark.parametrize(
    ("key", "low", "high"), _bounds(r"text of (?:at most|(?P<low>\d+) to) (?P<high>\d+) characters")
)
def test_a_text_is_as_long_as_the_reference_says(key: Key, low: int, high: int) -> None:
    assert (_refusal(key, "x" * low), _refusal(key, "x" * high)) == ("", "")
    assert f"{high} characters" in _refusal(key, "x" * (high + 1))
    assert low == 0 or f"{high} characters" in _refusal(key, "x" * (low - 1))


@pytest.mark.parametrize(("key", "low", "high"), _bounds(r"(?:at most |(?P<low>\d+) to )?(?P<high>\d+) items, each"))
def test_a_list_is_as_long_as_the_reference_says(key: Key, low: int, high: int) -> None:
    exact = key.holds.startswith(f"{high} items")
    for amount in (high if exact else low, high):
        assert f"got {amount} item" not in _refusal(key, (None,) * amount)
    for amount in (high + 1, (high if exact else low) - 1):
        assert amount < 0 or f"got {amount} item" in _refusal(key, (None,) * amount)


@pytest.mark.parametrize(
    ("part", "name", "low", "high"),
    [
        (Design, "lamps", 0, 32),  # docs/reference/spec.md, 6.0.23
        (Design, "languages", 1, 64),  # 6.0.10
        (Design, "translations", 0, 64),
        (Design, "accepted", 0, 1000),
        (Design, "simulation", 0, 1000),
        (Sounder, "tones", 1, 8),  # 6.0.24: one for each of what can be answered
        (All, "of", 0, 64),
        (Any, "of", 0, 64),
        (Menu, "entries", 1, 100_000),
        (Choice, "options", 2, 10_000),
    ],
)
def test_a_list_of_parts_is_bounded_so_that_no_file_takes_long_to_refuse(
    part: type, name: str, low: int, high: int
) -> None:
    key = Key(part, name, "", "")
    assert all(f"got {amount} item" not in _refusal(key, (None,) * amount) for amount in (low, high))
    assert all(amount < 0 or f"got {amount} item" in _refusal(key, (None,) * amount) for amount in (low - 1, high + 1))


@pytest.mark.parametrize("key", [key for key in ROWS if key.holds == "a key"], ids=str)
def test_a_key_may_be_empty_only_where_it_may_be_left_out(key: Key) -> None:
    assert bool(_refusal(key, "")) is (key.default == "required")
    assert _refusal(key, "a" * 40) == ""
    assert "40 characters at most" in _refusal(key, "a" * 41)


@pytest.mark.parametrize(
    "part", [part for part in PARTS.values() if "key" in attrs.fields_dict(part)], ids=lambda part: part.__name__
)
def test_whatever_has_a_key_has_one_that_is_not_empty(part: type) -> None:
    assert _refusal(Key(part, "key", "", ""), "")


@pytest.mark.parametrize("key", ROWS, ids=str)
def test_a_key_that_is_left_out_has_its_default(key: Key) -> None:
    made = key.field.default
    default = made.factory() if isinstance(made, attrs.Factory) else made  # type: ignore[arg-type]
    match key.default:
        case "required":
            assert default is attrs.NOTHING
        case "none":
            assert default in ("", (), None)
        case "`true`" | "`false`":
            assert default is (key.default == "`true`")
        case text if text.startswith("`["):
            assert [*default] == re.findall(r'"([^"]*)"', text)
        case text:
            assert text == (f'`"{default}"`' if isinstance(default, str) else f"`{default}`")


@pytest.mark.parametrize("part", [*PARTS.values(), Design], ids=lambda part: part.__name__)
def test_fields_are_given_by_name_so_that_a_new_one_can_stand_anywhere(part: type) -> None:
    """But the one of an entry and of a row that can stand for the whole."""
    kinds = {name: one.kind for name, one in inspect.signature(part).parameters.items()}
    first = {Entry: ["target"], Row: ["left"]}.get(part, [])

    assert [name for name, kind in kinds.items() if kind is not inspect.Parameter.KEYWORD_ONLY] == first
