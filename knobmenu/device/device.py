"""One simulated device, wired: events or contacts in, screens and effects out, every past state kept.

A `Device` is the core's only mutable object, and all that changes in it is the list of steps, which only grows, and
which of them is the present one. A step remembers the step that it followed; so going back is an index, and an event
told in the past begins a branch without taking anything away.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.knob import acceleration, button, quadrature
from knobmenu.knob.acceleration import AccelerationState
from knobmenu.machine.advance import advance, next_due_ms
from knobmenu.machine.effects import Effect
from knobmenu.machine.indicators import lamps_lit
from knobmenu.machine.state import State, initial_state, value_of
from knobmenu.machine.values import Value
from knobmenu.screen.cells import Screen
from knobmenu.screen.render import render
from knobmenu.trace import GAP_MS


@attrs.frozen
class Step:
    """One event that a device took, and what it was afterwards."""

    event: Event | None
    """What happened; nothing for the first step, power-on."""
    state: State
    """The device after it."""
    effects: tuple[Effect, ...] = ()
    """What the device was to do, in order."""
    parent: int = -1
    """The step that this one followed; -1 for power-on."""
    turned: AccelerationState = attrs.field(factory=AccelerationState)
    """The last turn, for the acceleration of the next."""


@attrs.frozen
class _Contacts:
    """What the levels on the wires have told so far."""

    wheel: quadrature.QuadratureState
    switch: button.ButtonState


class Device:
    """A device that is turned and pressed at a desk.

    Its gestures take the moment at which they happen, in milliseconds since power-on; without one they happen 100 ms
    after the event before. All of them raise `EventError` where that moment has passed already, and then nothing has
    changed.
    """

    def __init__(self, design: Design, state: State | None = None) -> None:
        """Switch a device on.

        Args:
            design: What it is.
            state: Where it goes on, such as a state with saved values; new, at home, without one.
        """
        self.design = design
        self._steps: list[Step] = [Step(None, initial_state(design) if state is None else state)]
        self._position = 0
        self._contacts: _Contacts | None = None

    # What it shows and does.

    @property
    def state(self) -> State:
        """Everything that it remembers now."""
        return self._steps[self._position].state

    @property
    def screen(self) -> Screen:
        """What its display shows now."""
        return render(self.design, self.state)

    @property
    def effects(self) -> tuple[Effect, ...]:
        """What the present step asked of it, in order."""
        return self._steps[self._position].effects

    @property
    def lamps(self) -> dict[str, bool]:
        """Which of its lamps are lit now, by key."""
        return dict(zip((lamp.key for lamp in self.design.lamps), lamps_lit(self.design, self.state), strict=True))

    @property
    def due_ms(self) -> int | None:
        """When something happens by time alone, or None where nothing will. [ms since power-on]"""
        return next_due_ms(self.design, self.state)

    def value(self, key: str) -> Value:
        """Return the present value of a setting or readout.

        Raises:
            KeyError: There is none of this key.
        """
        return value_of(self.design, self.state, key)

    # What happens to it.

    def turn(self, detents: int, at_ms: int | None = None) -> Step:
        """Turn the knob by whole detents, positive is up; the knob's acceleration counts."""
        return self.tell(Turn(self._when(at_ms), detents))

    def press(self, at_ms: int | None = None) -> Step:
        """Press the knob and let it go."""
        return self.tell(Press(self._when(at_ms)))

    def long_press(self, at_ms: int | None = None) -> Step:
        """Hold the knob down as long as a long press takes."""
        return self.tell(LongPress(self._when(at_ms)))

    def double_press(self, at_ms: int | None = None) -> Step:
        """Press the knob twice in short order."""
        return self.tell(DoublePress(self._when(at_ms)))

    def held_turn(self, detents: int, at_ms: int | None = None) -> Step:
        """Turn the knob while holding it down."""
        return self.tell(HeldTurn(self._when(at_ms), detents))

    def wait(self, for_ms: int) -> Step:
        """Let time pass. [ms]"""
        return self.tell(Wait(self.state.at_ms + for_ms))

    def report(self, key: str, value: int, at_ms: int | None = None) -> Step:
        """Let the device report a readout's value, as a whole number with the readout's decimals."""
        return self.tell(Report(self._when(at_ms), key, value))

    def tell(self, event: Event) -> Step:
        """Take one event as it is; a turn that says nothing of acceleration is given its own.

        Raises:
            EventError: It cannot come now. Nothing has changed.
        """
        turned = self.present.turned
        if isinstance(event, Turn) and event.times == 1:
            turned, times = acceleration.step(self.design.knob, turned, event.detents, event.at_ms)
            event = attrs.evolve(event, times=times)
        state, effects = advance(self.design, self.state, event)
        self._steps.append(Step(event, state, effects, self._position, turned))
        self._position = len(self._steps) - 1
        return self.present

    def tell_all(self, events: Iterable[Event]) -> tuple[Step, ...]:
        """Take several events; those before one that cannot come have happened when it is refused."""
        return tuple(self.tell(event) for event in events)

    def contacts(self, level_a: int, level_b: int, pressed: bool, at_ms: int) -> tuple[Step, ...]:
        """Read the levels on its wires: phase A, phase B and the push switch.

        The first reading only tells where the wheel stands. Between readings the button's deadlines pass, so it is
        enough to read when something changes, and once more when time has passed.

        Args:
            level_a: 0 or 1.
            level_b: 0 or 1.
            pressed: Whether the push switch is closed.
            at_ms: When. [ms since power-on]

        Returns:
            The steps that followed, none for most readings.
        """
        knob = self.design.knob
        if self._contacts is None:
            self._contacts = _Contacts(
                quadrature.start(knob, level_a, level_b), button.ButtonState(at_ms=self.state.at_ms)
            )
        switch, events = button.step(knob, self._contacts.switch, pressed, at_ms)
        wheel, detents = quadrature.step(knob, self._contacts.wheel, level_a, level_b)
        if detents:
            switch, more = button.turn(knob, switch, detents, 1, at_ms)
            events += more
        self._contacts = _Contacts(wheel, switch)
        return self.tell_all(events)

    # What it was.

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every step it ever took, branches too, in the order in which they were taken."""
        return tuple(self._steps)

    @property
    def present(self) -> Step:
        """The step that it is at."""
        return self._steps[self._position]

    @property
    def position(self) -> int:
        """The number of the present step; 0 is power-on."""
        return self._position

    def go(self, position: int) -> Step:
        """Go to any step that was ever taken; what the wires told is forgotten.

        Raises:
            IndexError: There is no such step.
        """
        if not 0 <= position < len(self._steps):
            raise IndexError(f"step {position}: allowed is 0 to {len(self._steps) - 1}")
        self._position = position
        self._contacts = None
        return self.present

    def line(self) -> tuple[int, ...]:
        """Return the numbers of the steps that led here, from power-on to the present one."""
        return tuple(reversed(tuple(self._back_from(self._position))))

    def events(self) -> tuple[Event, ...]:
        """Return the events that led here, in order."""
        return tuple(event for number in self.line() if (event := self._steps[number].event) is not None)

    def _back_from(self, position: int) -> Iterator[int]:
        while position >= 0:
            yield position
            position = self._steps[position].parent

    def _when(self, at_ms: int | None) -> int:
        return self.state.at_ms + GAP_MS if at_ms is None else at_ms
