"""One hand on the push switch: it presses, the contact bounces, the firmware samples, and presses are reported.

What is judged is the project's own timing of the button, `knobmenu.knob.button`, unchanged, at any debounce; and beside
it what people write first, which takes every closing for a press.
"""

from __future__ import annotations

import math

import attrs
import numpy as np

from knobmenu.bench.chain import Chain
from knobmenu.bench.motion import SETTLING_S
from knobmenu.bench.pressing import Pressing
from knobmenu.bench.randomness import Source, make_stream
from knobmenu.bench.signal import Signal
from knobmenu.bench.switch import SwitchLine
from knobmenu.design.hardware import Knob
from knobmenu.events import Event, LongPress
from knobmenu.knob import button


@attrs.frozen(kw_only=True)
class PressCount:
    """The reported presses compared with the actual ones."""

    true: int
    """Presses. [presses]"""
    reported: int
    """Events reported. [events]"""
    lost: int
    """Presses of which nothing was reported. [presses]"""
    extra: int
    """Events beyond one for each press. [events]"""
    mistaken: int
    """Short presses reported as long, and long ones as short. [presses]"""

    @property
    def errors(self) -> int:
        """Everything that is wrong. [presses]"""
        return self.lost + self.extra + self.mistaken


@attrs.frozen(eq=False)
class PressRun:
    """One hand, stage by stage."""

    pressed_s: tuple[tuple[float, float], ...]
    """When each press began and ended. [s]"""
    accepted: Signal
    """What the firmware accepts of the switch after its own reading, 1 while closed."""
    end_s: float
    """When it is over. [s]"""


def press(chain: Chain, seed: int) -> PressRun:
    """Press the knob and read its switch.

    Args:
        chain: how it is pressed, which switch, and what lies behind it.
        seed: the random seed.
    """
    pressing, generator = chain.pressing, make_stream(seed, Source.HAND)
    lengths_s = generator.uniform(pressing.shortest_ms, pressing.longest_ms, pressing.presses) / 1000
    pauses_s = generator.uniform(pressing.apart_ms, 2 * pressing.apart_ms, pressing.presses) / 1000
    begins_s = SETTLING_S + np.cumsum(np.concatenate(([0.0], (lengths_s + pauses_s)[:-1])))
    ends_s = begins_s + lengths_s
    end_s = float(ends_s[-1]) + SETTLING_S + pressing.long_press_ms / 1000
    accepted = SwitchLine(chain, seed).feed(np.column_stack((begins_s, ends_s)).ravel(), end_s)
    return PressRun(tuple(zip(begins_s.tolist(), ends_s.tolist(), strict=True)), accepted, end_s)


def report(done: PressRun, pressing: Pressing, debounce_ms: int | None) -> list[tuple[float, bool]]:
    """Report presses from what the firmware accepts.

    Args:
        done: the run.
        pressing: states what is long.
        debounce_ms: of the project's own timing, below `long_press_ms`; None takes every closing for a press. [ms]

    Returns:
        When each was reported, and whether it was a long one. [s]
    """
    edges_s = done.accepted.changes_s.tolist()
    if debounce_ms is None:
        return [(at_s, False) for nth, at_s in enumerate(edges_s) if (nth + done.accepted.first) % 2 == 0]
    knob = Knob(debounce_ms=debounce_ms, long_press_ms=pressing.long_press_ms)
    state = button.ButtonState()
    events: list[Event] = []
    for nth, at_s in enumerate(edges_s):
        state, more = button.read(knob, state, (nth + done.accepted.first) % 2 == 0, math.ceil(at_s * 1000))
        events += more
    events += button.wait(knob, state, math.ceil(done.end_s * 1000))[1]
    # Without a double press, presses and long presses are all that a button reports.
    return [(event.at_ms / 1000, isinstance(event, LongPress)) for event in events]


def count(done: PressRun, pressing: Pressing, debounce_ms: int | None) -> PressCount:
    """Compare what is reported with what was pressed, press by press; see `report` for its arguments."""
    events = report(done, pressing, debounce_ms)
    begins_s = np.array([begin for begin, _ in done.pressed_s])
    # What is reported belongs to the press that had last begun.
    of = np.maximum(np.searchsorted(begins_s, [at_s for at_s, _ in events], side="right") - 1, 0)
    mine: list[list[bool]] = [[] for _ in done.pressed_s]
    for nth, (_, long) in zip(of.tolist(), events, strict=True):
        mine[nth].append(long)
    truly = [(end_s - begin_s) * 1000 >= pressing.long_press_ms for begin_s, end_s in done.pressed_s]
    return PressCount(
        true=len(mine),
        reported=len(events),
        lost=sum(not one for one in mine),
        extra=sum(max(len(one) - 1, 0) for one in mine),
        mistaken=sum(one[0] != long for one, long in zip(mine, truly, strict=True) if one),
    )
