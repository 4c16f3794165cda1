"""What goes where, for any display, any panes and any size of terminal."""

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from knobmenu.design.hardware import CharacterDisplay, Display, SegmentDisplay
from knobmenu.picture.forms import Kind, measure_size
from knobmenu.picture.runs import Box
from knobmenu.terminal.desk.layout import COST_ROWS, LEAST, PANES, Plan, plan
from tests.strategies import displays

SIZES = ((80, 24), (100, 30), (120, 40), (200, 50), (250, 70))
TEXT_16X2 = CharacterDisplay(columns=16, rows=2)

variants = st.lists(displays(), min_size=1, max_size=2).map(tuple)
wanted = st.permutations(PANES).flatmap(lambda panes: st.integers(0, len(PANES)).map(lambda most: tuple(panes[:most])))
kinds: st.SearchStrategy[Kind] = st.sampled_from(("half", "braille", "spaced", "text"))


def plan_or_skip(columns: int, rows: int, shown: tuple[Display, ...], panes: tuple[str, ...], least: Kind) -> Plan:
    """Lay out what the terminal has room for; an example without room is skipped."""
    found = plan(columns, rows, shown, panes, least)
    assume(found is not None)
    assert found is not None
    return found


def meet(one: Box, other: Box) -> bool:
    across = one.x < other.x + other.columns and other.x < one.x + one.columns
    return across and one.y < other.y + other.rows and other.y < one.y + one.rows


def planned(columns: int, rows: int, *of: Display, panes: tuple[str, ...] = PANES[::-1]) -> Plan:
    found = plan(columns, rows, of or (TEXT_16X2,), panes)
    assert found is not None
    return found


@given(st.integers(1, 300), st.integers(1, 100), variants, wanted, kinds)
@example(68, 24, (TEXT_16X2,), ("events",), "spaced")
def test_everything_is_inside_the_terminal_and_nothing_covers_anything(
    columns: int, rows: int, shown: tuple[Display, ...], panes: tuple[str, ...], least: Kind
) -> None:
    found = plan_or_skip(columns, rows, shown, panes, least)
    boxes = list(found.boxes.items())
    for name, box in boxes:
        assert box.x >= 0, name
        assert box.y >= 0, name
        assert 0 < box.columns <= columns - box.x, name
        assert 0 < box.rows <= rows - box.y, name
    for number, (name, box) in enumerate(boxes):
        assert not [other for other, place in boxes[number + 1 :] if meet(box, place)], name


@given(st.integers(1, 300), st.integers(1, 100), variants, wanted, kinds)
def test_a_device_has_the_room_that_its_form_takes_and_a_row_for_its_signals(
    columns: int, rows: int, shown: tuple[Display, ...], panes: tuple[str, ...], least: Kind
) -> None:
    found = plan_or_skip(columns, rows, shown, panes, least)
    for number, display in enumerate(shown):
        box, size = found.boxes[f"device-{number}"], measure_size(display, found.form)
        assert (box.columns, box.rows) == (size.columns, size.rows + 1)
    assert {"header", "knob", "bar", "footer"} <= set(found.boxes)


@given(st.integers(1, 300), st.integers(1, 100), variants)
def test_nothing_is_planned_below_the_least_size(columns: int, rows: int, shown: tuple[Display, ...]) -> None:
    assume(columns < LEAST.columns or rows < LEAST.rows)

    assert plan(columns, rows, shown, PANES) is None


@given(displays(), kinds)
def test_any_one_display_has_room_in_the_common_terminal(display: Display, least: Kind) -> None:
    """80 by 24, the size that terminals begin with (common practice)."""
    assert plan(80, 24, (display,), PANES, least) is not None


@pytest.mark.parametrize(("columns", "rows"), SIZES)
@pytest.mark.parametrize("shown", [(TEXT_16X2,), (TEXT_16X2,) * 2, (SegmentDisplay(digits=4),)], ids=len)
def test_the_costs_and_the_place_are_seen_beside_the_events_at_every_common_size(
    columns: int, rows: int, shown: tuple[Display, ...]
) -> None:
    boxes = planned(columns, rows, *shown).boxes
    assert {"events", "place", "cost"} <= set(boxes)
    assert boxes["cost"].rows == COST_ROWS


@given(st.integers(80, 300), st.integers(24, 100), displays(), st.permutations(PANES))
def test_a_pane_that_is_wanted_most_is_seen(columns: int, rows: int, display: Display, panes: list[str]) -> None:
    assert panes[-1] in planned(columns, rows, display, panes=tuple(panes)).boxes


@given(st.integers(80, 300), st.integers(24, 100), displays(), wanted)
def test_no_pane_is_seen_that_is_not_wanted(columns: int, rows: int, display: Display, panes: tuple[str, ...]) -> None:
    assert set(planned(columns, rows, display, panes=panes).boxes) & set(PANES) <= set(panes)


@pytest.mark.parametrize("least", ["half", "braille", "spaced", "text"])
def test_a_smaller_display_hides_no_pane(least: Kind) -> None:
    found = plan(80, 24, (TEXT_16X2,), PANES[::-1], least)
    assert found is not None
    assert {"events", "place", "cost"} <= set(found.boxes)


def test_a_large_terminal_shows_every_pane() -> None:
    assert set(PANES) <= set(planned(250, 70).boxes)
    assert set(PANES) <= set(planned(80, 60).boxes)


def test_words_keep_off_the_terminals_edges() -> None:
    for columns, rows in SIZES:
        boxes = planned(columns, rows).boxes
        assert all(box.x >= 1 for name, box in boxes.items() if name in PANES)
        assert all(box.x + box.columns <= columns - 1 for name, box in boxes.items() if name in PANES)
