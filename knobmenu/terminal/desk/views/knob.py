"""The knob from above, and where it stands in words."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.picture.disc import Shading
from knobmenu.picture.fitting import fit, measure_width
from knobmenu.picture.knob import HOLD_STEPS, KNOB_WORDS, describe_knob, draw_knob
from knobmenu.picture.runs import Drawing, Row, Run, merge
from knobmenu.session.session import Session


def draw_knob_and_words(
    session: Session,
    columns: int,
    height: int,
    real_ms: int,
    clicked: bool,
    tally: tuple[str, str] | None = None,
    shading: Shading | None = None,
) -> Drawing:
    """Draw the knob with its words.

    Args:
        session: Whose.
        columns: Width of its place. [terminal cells]
        height: Height of its place, words and all. [terminal cells]
        real_ms: Real time. [ms]
        clicked: Whether a click is still to be seen.
        tally: How a simulated encoder counted, in two lines that replace the angle and the state of a switch at rest.
        shading: The colours of a shaded disc; None: a ring.
    """
    turned, detents_per_turn = session.turned, session.designs[0].knob.detents_per_turn
    hand = session.hand
    pressed = hand.down or clicked
    held_ms = session.to_device_ms(real_ms) - hand.since_ms if hand.down else 0
    held_steps = round(session.measure_held_fraction(real_ms) * HOLD_STEPS)
    rows = height - KNOB_WORDS
    size = min(columns, rows * 2)
    picture = draw_knob(turned % detents_per_turn, detents_per_turn, size, rows, pressed, held_steps, shading)
    state = [Run(f"held {held_ms / 1000:.1f} s", "press")] if pressed and held_ms >= 100 else _describe_press(pressed)
    words = describe_knob(turned, detents_per_turn) if tally is None else tally[0]
    if tally is not None and not pressed:
        state = [Run(tally[1], "caution")]
    if len(words) > columns:
        words = words.replace("detent ", "")
    return (
        *_indent(picture, (columns - size) // 2),
        _centre([Run(words, "text")], columns),
        _centre(state, columns),
    )


@lru_cache(maxsize=64)
def _indent(picture: Drawing, columns: int) -> Drawing:
    """Move a picture to the right. [terminal cells]"""
    margin = Run(" " * columns, "text")
    return tuple(merge([margin, *row]) for row in picture)


def _describe_press(pressed: bool) -> list[Run]:
    return [Run("pressed", "press") if pressed else Run("not pressed", "dim")]


def _centre(runs: list[Run], columns: int) -> Row:
    width = measure_width(runs)
    return fit([Run(" " * max((columns - width) // 2, 0), "text"), *runs], columns)
