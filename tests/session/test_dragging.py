"""The mouse on the knob: where its middle is, and how far a drag turns it."""

from math import cos, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.picture.knob import KNOB_WORDS, locate_on_knob
from knobmenu.picture.runs import Box
from knobmenu.session.dragging import Drag, continue_drag

BOX = Box(10, 5, 28, 14 + KNOB_WORDS)


@pytest.mark.parametrize(
    ("x", "y", "turn"), [(23.5, 5, 0.0), (37, 11.5, 0.25), (23.5, 18, 0.5), (10, 11.5, 0.75)], ids=str
)
def test_the_angle_is_counted_clockwise_from_the_top(x: float, y: float, turn: float) -> None:
    found, on_middle = locate_on_knob(BOX, x, y)
    assert found == pytest.approx(turn, abs=0.001)
    assert not on_middle


def test_the_middle_of_the_knob_is_pressed() -> None:
    assert locate_on_knob(BOX, 23, 11)[1]
    assert locate_on_knob(BOX, 20, 10)[1]
    assert not locate_on_knob(BOX, 12, 11)[1]


@given(st.integers(1, 128), st.lists(st.floats(-0.45, 0.45), max_size=30))
def test_a_drag_in_pieces_turns_as_far_as_its_sum(detents_per_turn: int, pieces: list[float]) -> None:
    """However slowly the mouse goes round, no part of a detent is lost; a piece goes the shorter way round."""
    drag, at, detents = Drag(0.0), 0.0, 0
    for piece in pieces:
        at += piece
        drag, more = continue_drag(drag, at % 1.0, detents_per_turn)
        detents += more
    assert abs(detents - sum(pieces) * detents_per_turn) <= 1 + 1e-6


@given(st.integers(1, 128), st.integers(-5, 5))
def test_whole_turns_of_a_drag_turn_whole_turns(detents_per_turn: int, turns: int) -> None:
    drag, detents = Drag(0.0), 0
    for step in range(1, abs(turns) * 16 + 1):
        way = step if turns > 0 else -step
        drag, more = continue_drag(drag, (way / 16) % 1.0, detents_per_turn)
        detents += more
    assert abs(detents - turns * detents_per_turn) <= 1


@given(st.floats(0, 0.999), st.floats(0.75, 1.0))
def test_where_the_mouse_is_on_the_rim_gives_its_angle_back(turn: float, part: float) -> None:
    rows = BOX.rows - KNOB_WORDS
    x = BOX.x + BOX.columns / 2 + rows * part * sin(2 * pi * turn) - 0.5
    y = BOX.y + rows / 2 - rows / 2 * part * cos(2 * pi * turn) - 0.5
    found, on_middle = locate_on_knob(BOX, x, y)
    assert abs((found - turn + 0.5) % 1.0 - 0.5) < 1e-6
    assert not on_middle
