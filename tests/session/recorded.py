"""Sessions that are recorded while something is done in them."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence

import attrs
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.errors import EventError
from knobmenu.session.recorder import Recorder
from knobmenu.session.recording import encode
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from tests.strategies import designs

_MOVES = (
    "turn", "turn", "turn", "click", "hold", "press", "release", "time", "back",
    "newest", "branch", "play", "redesign", "note", "mark", "freeze",
)  # fmt: skip

moves = st.tuples(st.sampled_from(_MOVES), st.integers(1, 20))
"""Something that is done, and how much of it."""


def turned_round(design: Design) -> Design:
    """Return a design whose knob counts the other way; its name would not do, since a translation may need it."""
    knob = attrs.evolve(design.knob, clockwise="down" if design.knob.clockwise == "up" else "up")
    return attrs.evolve(design, knob=knob)


def record(
    variants: Sequence[Design], other: Design, done: Sequence[tuple[str, int]], live_pages: int = 16
) -> tuple[Session, list[str]]:
    """Do things in a session; return it with the lines of its recording."""
    lines: list[str] = []
    recorder = Recorder(lambda one: lines.append(encode(one)), 5000, started="2026-03-01T10:00:00+01:00")
    trial = Session(Timeline(variants, recorder, live_pages), 5000)
    with contextlib.suppress(EventError):
        # A trace that was played on another design may not be playable on this one.
        walk(trial, other, done)
    return trial, lines


def walk(trial: Session, other: Design, done: Sequence[tuple[str, int]]) -> None:
    """Do things in a session, each a while after the one before."""
    now = 5000
    for move, number in done:
        now += 40 * number
        match move:
            case "turn":
                trial.spin(number - 6 or 1, now)
            case "click":
                trial.click(now)
            case "hold":
                trial.long_press(now)
            case "press":
                trial.press("sticky", now)
            case "release":
                trial.release("sticky", now)
            case "time":
                trial.pass_time(now)
            case "back":
                trial.go_back(now, number)
            case "newest":
                trial.go_forward(now, len(trial.history))
            case "branch":
                trial.go_to_next_branch(now)
            case "play":
                trial.play_again(now)
            case "freeze":
                trial.freeze(now)
            case "redesign":
                variant = len(trial.designs) - 1
                trial.timeline.redesign(variant, other if number % 2 else trial.designs[0], now)
            case "note":
                trial.timeline.note(f"note {number}", now, number % len(trial.history))
            case "mark":
                trial.timeline.mark(f"task {number}", now)


@attrs.frozen
class Story:
    """What was done in a session with two variants, and its recording."""

    designs: tuple[Design, Design]
    session: Session
    lines: list[str]


@st.composite
def stories(draw: st.DrawFn, redesigned: bool = True) -> Story:
    """Draw a session with two variants and its recording; of designs that change, unless they must not."""
    one = draw(designs())
    variants = one, turned_round(one)
    other = attrs.evolve(one, save_after_ms=(one.save_after_ms + 500) % 3_600_000)
    session, lines = record(
        variants, other, [move for move in draw(st.lists(moves, max_size=25)) if redesigned or move[0] != "redesign"]
    )
    return Story(variants, session, lines)
