"""Screens in words and lines."""

from __future__ import annotations

from rich.cells import cell_len

from knobmenu.screen.cells import Screen, Span
from knobmenu.session.narration import draw_box


def test_a_frame_stays_closed_around_characters_that_take_two_columns() -> None:
    """Wide characters take two columns of a terminal (Unicode Standard Annex 11); rich counts them independently."""
    drawn = draw_box(Screen(("明るさ 10", "ab  é\u0301 "), (Span(0, 1, 3), Span(1, 5, 6))))

    assert len({cell_len(line) for line in drawn}) == 1
    assert drawn[1:3] == ("│明るさ 10│", "┊  ^^^^   ┊")
