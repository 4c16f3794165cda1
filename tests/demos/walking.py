"""Long random walks over a design, checked at every event, and cut short where they fail.

A walk is worth little if its failure cannot be looked at. So each is a number of devices, each new at power-on and
walked a moderate way; and a failing one is told as the shortest trace that was found to fail still, ready to be pasted
behind ``knobmenu play``.

Looking at a whole state after each event would cost most of the time. What an event says that it changed is looked at
after each; that nothing else changed, too; and the whole state after every thousand.
"""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator

import attrs

from knobmenu.design.conditions import comparisons
from knobmenu.design.settings import TextSetting
from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.knob.acceleration import AccelerationState, step
from knobmenu.machine.advance import advance
from knobmenu.machine.changing import pick_done, places
from knobmenu.machine.effects import Effect, ValueChanged
from knobmenu.machine.state import Editing, State, initial_state, value_of
from knobmenu.machine.values import differences
from knobmenu.trace import written
from tests.invariants import check_fits, check_selection, check_state

DEVICE_EVENTS = 10_000
"""Events that one device of a walk takes."""

WHOLE_EVERY = 1000
"""After so many events the whole state is looked at."""

Advance = Callable[[Design, State, Event], tuple[State, tuple[Effect, ...]]]


def walk(design: Design, seed: int, events: int, machine: Advance = advance) -> set[tuple[str, int]]:
    """Walk new devices for so many events in all, with the invariants on.

    Returns:
        The entries that were selected on the way: each a menu's key and the entry's place.

    Raises:
        AssertionError: Something did not hold; says the seed and a short trace on which it does not.
    """
    met: set[tuple[str, int]] = set()
    for number in range(-(-events // DEVICE_EVENTS)):
        amount = min(DEVICE_EVENTS, events - number * DEVICE_EVENTS)
        trail: list[Event] = []
        try:
            _play(design, gestures(design, random.Random(f"{seed}/{number}"), amount), machine, trail, met)
        except Exception as error:
            short = shortest(trail, lambda events: fails(design, events, machine))
            raise AssertionError(
                f"seed {seed}, device {number}, event {len(trail)}: {type(error).__name__}: {error}\n"
                f"the shortest trace found that fails, of {len(short)} events:\n{written(short)}"
            ) from error
    return met


def fails(design: Design, events: Iterable[Event], machine: Advance = advance) -> bool:
    """Tell whether a new device breaks an invariant somewhere on a trace."""
    try:
        _play(design, events, machine, [], set(), whole_every=1)
    except Exception:  # whatever it is, it should not have happened
        return True
    return False


def _play(
    design: Design,
    events: Iterable[Event],
    machine: Advance,
    trail: list[Event],
    met: set[tuple[str, int]],
    whole_every: int = WHOLE_EVERY,
) -> None:
    state, turned = initial_state(design), AccelerationState()
    check_state(design, state)
    for number, event in enumerate(events, 1):
        trail.append(event)
        if type(event) is Turn:
            turned, times = step(design.knob, turned, event.detents, event.at_ms)
            if times != 1:
                event = Turn(event.at_ms, event.detents, times)
        before = state
        state, effects = machine(design, before, event)
        assert state.at_ms == event.at_ms
        if state.values is not before.values or effects:
            check_change(design, before, effects, state)
        if state.path:
            place = state.path[-1]
            met.add((place.menu, place.entry))
            if state.focus is None and place.menu in design.index.conditional:
                check_selection(design, state)
        if state.focus is not None and state.focus is not before.focus:
            _check_draft(design, state)
        if not number % whole_every:
            check_state(design, state)
    check_state(design, state)


def check_change(design: Design, before: State, effects: tuple[Effect, ...], after: State) -> None:
    """Assert that what changed was told, fits its setting, and keeps the limits that it is one side of."""
    told = {effect.key: effect.value for effect in effects if isinstance(effect, ValueChanged)}
    for position in differences(before.values, after.values):
        key = design.settings[position].key
        assert key in told, f"{key} changed and nobody said so"
    for key, value in told.items():
        now = value_of(design, after, key)
        assert value == now, f"{key} was told as {value} and is {now}"
        check_fits(design, key, now)
        limits = design.index.limits.get(key)
        if limits is not None:
            for other in limits.pushed_down:
                assert value_of(design, after, other) <= now, (other, key)  # type: ignore[operator]
            for other in limits.pushed_up:
                assert value_of(design, after, other) >= now, (key, other)  # type: ignore[operator]


def _check_draft(design: Design, state: State) -> None:
    focus = state.focus
    if not isinstance(focus, Editing):
        return
    setting = design.index.settings[focus.setting]
    check_fits(design, focus.setting, focus.draft)
    assert 0 <= focus.place < places(setting)
    if isinstance(setting, TextSetting):
        assert 0 <= focus.pick <= pick_done(setting)
    if setting.applies == "live":
        assert value_of(design, state, focus.setting) == focus.draft


# What somebody does who does not know what they are doing.

_TURNS = (1, 1, 1, 1, 1, 2, 2, 3, 5, 8, 13, 30)
_GAPS_MS = (15, 30, 60, 100, 150, 250, 400, 900)


def gestures(design: Design, chance: random.Random, amount: int) -> Iterator[Event]:
    """Make events that a device of this design can be told, each after the one before."""
    readouts = [(readout.key, _interesting(design, readout.key)) for readout in design.readouts]
    kinds = ["turn"] * 55 + ["press"] * 33 + ["hold"] * 4 + ["wait"] * 3
    kinds += ["double"] * 3 if design.knob.double_press_ms else []
    kinds += ["held"] * 3 if design.knob.turns_while_held else []
    kinds += ["report"] * 4 if readouts else []
    at_ms = 0
    choice, random_ = chance.choice, chance.random
    for _ in range(amount):
        kind = choice(kinds)
        at_ms += choice(_GAPS_MS)
        if kind == "turn" or kind == "held":
            detents = choice(_TURNS) if random_() < 0.6 else -choice(_TURNS)
            yield Turn(at_ms, detents) if kind == "turn" else HeldTurn(at_ms, detents)
        elif kind == "press":
            yield Press(at_ms)
        elif kind == "hold":
            yield LongPress(at_ms)
        elif kind == "double":
            yield DoublePress(at_ms)
        elif kind == "report":
            key, values = choice(readouts)
            yield Report(at_ms, key, choice(values))
        else:
            at_ms += choice((500, 3000, 12_000, 70_000))
            yield Wait(at_ms)


def _interesting(design: Design, readout: str) -> list[int]:
    """List values of a readout at which something is another: named ones, and those around a condition's."""
    values = {design.index.readouts[readout].initial, -1, 0, 1, *dict(design.index.readouts[readout].names)}
    asked = [entry.shown_if for menu in design.menus for entry in menu.entries]
    asked += [entry.enabled_if for menu in design.menus for entry in menu.entries]
    asked += [lamp.lit_if for lamp in design.lamps]
    for condition in asked:
        if condition is None:
            continue
        for _, comparison in comparisons(condition):
            if comparison.key == readout:
                values |= {int(comparison.value) + near for near in (-1, 0, 1)}
    return sorted(values)


# Cutting a failing trace short.


def shortest(events: list[Event], still_fails: Callable[[list[Event]], bool]) -> list[Event]:
    """Leave out of a failing trace whatever it fails without.

    First its end goes, by halving; then runs of events, ever shorter ones, until no single event can go. (Delta
    debugging: A. Zeller and R. Hildebrandt, Simplifying and Isolating Failure-Inducing Input, IEEE Transactions on
    Software Engineering 28(2), 2002; from memory.)
    """
    if not still_fails(events):
        return events
    lengths = range(len(events) + 1)
    events = events[: bisect_left(lengths, True, key=lambda length: still_fails(events[:length]))]
    run = max(len(events) // 2, 1)
    while True:
        start, gone = 0, False
        while start < len(events):
            fewer = events[:start] + events[start + run :]
            if still_fails(fewer):
                events, gone = fewer, True
            else:
                start += run
        if run == 1 and not gone:
            return events
        run = max(run // 2, 1)


@attrs.frozen
class Unmet:
    """An entry that a walk never selected."""

    menu: str
    target: str
    entry: int


def unmet(design: Design, met: set[tuple[str, int]]) -> list[Unmet]:
    """List the entries that were never selected."""
    return [
        Unmet(menu.key, entry.target, number)
        for menu in design.menus
        for number, entry in enumerate(menu.entries)
        if (menu.key, number) not in met
    ]
