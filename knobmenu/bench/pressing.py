"""The push switch: a hand presses, the contact bounces, the firmware looks, and presses are told.

The switch goes through the same kind of filter and is looked at by the same reader as the phases. What is judged is the
project's own timing of the button, `knobmenu.knob.button`, unchanged, at every debounce that comes into question; and
beside it what people write first, which takes every closing for a press.
"""

from __future__ import annotations

import math

import attrs
import numpy as np

from knobmenu.bench import contact, filter, reader
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.filter import Filter
from knobmenu.bench.motion import SETTLING_S
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import Signal
from knobmenu.design.hardware import Knob
from knobmenu.events import Event, LongPress
from knobmenu.knob import button


@attrs.frozen(kw_only=True)
class Pressing:
    """How the knob is pressed, and what its switch is."""

    preset: str = "tactile-5ms"
    """The contact of the switch, one of the presets."""
    presses: int = 50
    """How often it is pressed in one run. [presses]"""
    shortest_ms: float = 60.0
    """The shortest press; 60 is assumed for a quick finger. [ms]"""
    longest_ms: float = 250.0
    """The longest press; each is drawn between the two. [ms]"""
    apart_ms: float = 150.0
    """The shortest pause between two presses; each is drawn between this and twice as much. [ms]"""
    long_press_ms: int = 500
    """How long a press must last to be long, as in a design. [ms]"""


@attrs.frozen(kw_only=True)
class PressCount:
    """How what was told compares with what was pressed."""

    true: int
    """Presses. [presses]"""
    told: int
    """Events told. [events]"""
    lost: int
    """Presses of which nothing was told. [presses]"""
    extra: int
    """Events beyond one for each press. [events]"""
    mistaken: int
    """Short presses told as long, and long ones as short. [presses]"""

    @property
    def errors(self) -> int:
        """Everything that is wrong. [presses]"""
        return self.lost + self.extra + self.mistaken


@attrs.frozen(eq=False)
class PressRun:
    """One hand, stage by stage."""

    pressed_s: tuple[tuple[float, float], ...]
    """When each press began and ended. [s]"""
    contact: Signal
    """The switch, with bounce; 1 while closed."""
    seen: Signal
    """What the firmware believes of it after its own reading, 1 while closed."""
    end_s: float
    """When it is over. [s]"""


def press(wish: Pressing, parts: Filter, looking: Reader, seed: int) -> PressRun:
    """Press the knob and look at its switch.

    Args:
        wish: how, and which switch.
        parts: the filter between switch and pin.
        looking: when the firmware looks, and its own debounce, if it has one.
        seed: settles all chance.
    """
    generator = np.random.default_rng(seed)
    lengths_s = generator.uniform(wish.shortest_ms, wish.longest_ms, wish.presses) / 1000
    pauses_s = generator.uniform(wish.apart_ms, 2 * wish.apart_ms, wish.presses) / 1000
    begins_s = SETTLING_S + np.cumsum(np.concatenate(([0.0], (lengths_s + pauses_s)[:-1])))
    ends_s = begins_s + lengths_s
    end_s = float(ends_s[-1]) + SETTLING_S + wish.long_press_ms / 1000
    ideal = Signal(0, np.column_stack((begins_s, ends_s)).ravel())
    bounced = contact.bouncing(PRESETS[wish.preset], ideal, generator)
    pin, _ = filter.solve(parts, bounced)
    looks_s, codes = reader.read(looking, pin, Signal(0, np.zeros(0)), end_s, generator)
    levels = codes >> 1
    changed = levels != np.concatenate(([pin.first], levels[:-1]))[: len(levels)]
    pressed = tuple(zip(begins_s.tolist(), ends_s.tolist(), strict=True))
    return PressRun(pressed, bounced, Signal(pin.first, looks_s[changed]), end_s)


def told(done: PressRun, wish: Pressing, debounce_ms: int | None) -> list[tuple[float, bool]]:
    """Tell presses of what the firmware believes.

    Args:
        done: the run.
        wish: says what is long.
        debounce_ms: of the project's own timing, below `long_press_ms`; None takes every closing for a press. [ms]

    Returns:
        When each was told, and whether it was a long one. [s]
    """
    edges_s = done.seen.changes_s.tolist()
    if debounce_ms is None:
        return [(at_s, False) for nth, at_s in enumerate(edges_s) if (nth + done.seen.first) % 2 == 0]
    knob = Knob(debounce_ms=debounce_ms, long_press_ms=wish.long_press_ms)
    state = button.ButtonState()
    events: list[Event] = []
    for nth, at_s in enumerate(edges_s):
        state, more = button.step(knob, state, (nth + done.seen.first) % 2 == 0, math.ceil(at_s * 1000))
        events += more
    events += button.wait(knob, state, math.ceil(done.end_s * 1000))[1]
    # Without a double press, presses and long presses are all that a button tells.
    return [(event.at_ms / 1000, isinstance(event, LongPress)) for event in events]


def count(done: PressRun, wish: Pressing, debounce_ms: int | None) -> PressCount:
    """Compare what is told with what was pressed, press by press; see `told` for its arguments."""
    events = told(done, wish, debounce_ms)
    begins_s = np.array([begin for begin, _ in done.pressed_s])
    # What is told belongs to the press that had last begun.
    of = np.maximum(np.searchsorted(begins_s, [at_s for at_s, _ in events], side="right") - 1, 0)
    mine: list[list[bool]] = [[] for _ in done.pressed_s]
    for nth, (_, long) in zip(of.tolist(), events, strict=True):
        mine[nth].append(long)
    truly = [(end_s - begin_s) * 1000 >= wish.long_press_ms for begin_s, end_s in done.pressed_s]
    return PressCount(
        true=len(mine),
        told=len(events),
        lost=sum(not one for one in mine),
        extra=sum(max(len(one) - 1, 0) for one in mine),
        mistaken=sum(one[0] != long for one, long in zip(mine, truly, strict=True) if one),
    )
