"""A knob built from Annex A of the standard alone tells what the project's own tells.

The other knob is tests/export/independent_knob.py, which imports nothing of the project.
"""

from __future__ import annotations

from typing import Any

import attrs
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import Knob
from knobmenu.events import Event
from knobmenu.knob import acceleration, button, quadrature
from tests.export.independent_knob import IndependentAcceleration, IndependentButton, IndependentDecoder
from tests.strategies import knobs


def as_json(event: Event) -> dict[str, Any]:
    return {"event": event.word, **attrs.asdict(event)}


@given(knobs(), st.lists(st.integers(0, 3), min_size=1))
def test_the_decoder_of_the_annex_is_the_decoder(knob: Knob, codes: list[int]) -> None:
    first, *rest = codes
    other = IndependentDecoder(attrs.asdict(knob), first)
    state = quadrature.start(knob, first >> 1, first & 1)
    for code in rest:
        state, detents = quadrature.read(knob, state, code >> 1, code & 1)
        assert other.read(code) == detents
    assert other.invalid == state.invalid


@given(knobs(), st.lists(st.tuples(st.integers(0, 900), st.sampled_from(["down", "up", "turn", "wait"])), max_size=12))
def test_the_button_of_the_annex_is_the_button(knob: Knob, story: list[tuple[int, str]]) -> None:
    other, state = IndependentButton(attrs.asdict(knob)), button.ButtonState()
    told: list[Event] = []
    now = 0
    for gap, what in [*story, (4100, "wait")]:
        for _ in range(gap):
            now += 1
            other.tick(now)
        if what == "turn":
            state, events = button.turn(knob, state, 1, 1, now)
            other.turn(1, now)
        elif what == "wait":
            state, events = button.wait(knob, state, now)
        else:
            state, events = button.read(knob, state, what == "down", now)
            other.change(what == "down", now)
        told += events
    assert other.events == [as_json(event) for event in told]


@given(knobs(), st.lists(st.tuples(st.integers(0, 300), st.integers(-4, 4).filter(bool))))
def test_the_acceleration_of_the_annex_is_the_acceleration(knob: Knob, turns: list[tuple[int, int]]) -> None:
    other, state = IndependentAcceleration(attrs.asdict(knob)), acceleration.AccelerationState()
    now = 0
    for gap, detents in turns:
        now += gap
        state, times = acceleration.choose_times(knob, state, detents, now)
        assert other.times(detents, now) == times
