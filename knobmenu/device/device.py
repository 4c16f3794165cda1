"""One simulated device, wired: events or contacts in, screens and effects out, every past state kept.

The only state of a `Device` is its history, which only grows, and which of its moments is the present one. Going back
selects another moment; an event in the past begins a branch and removes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from knobmenu.design.whole import Design
from knobmenu.device.history import History
from knobmenu.device.moment import Moment, apply_event, find_due_ms, power_on
from knobmenu.device.pages import LIVE, Cause
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.knob import contacts
from knobmenu.knob.contacts import ContactsState
from knobmenu.machine.effects import Effect
from knobmenu.machine.indicators import find_lit_lamps
from knobmenu.machine.state import State, get_value
from knobmenu.machine.values import Value
from knobmenu.screen.cells import Screen
from knobmenu.screen.render import render
from knobmenu.trace import GAP_MS


class Device:
    """A device that is turned and pressed at a desk.

    Gestures take their time, in milliseconds since power-on; by default they happen 100 ms after the previous event.
    They raise `EventError` if that time has already passed, and then nothing has changed. Each returns the moment after
    it.
    """

    def __init__(self, design: Design, state: State | None = None, live_pages: int = LIVE) -> None:
        """Switch a device on.

        Args:
            design: Its design.
            state: The state in which it starts, such as one with saved values; None: new, at home.
            live_pages: How much of the history stays unpacked; see `knobmenu.device.pages`. [pages]
        """
        self.design = design
        self.history: History[Moment] = History(
            power_on(design) if state is None else Moment(state), partial(_replay, design), live_pages
        )
        """Every moment so far, on all branches, by number; 0 is power-on."""
        self._contacts: ContactsState | None = None

    # What it shows and does.

    @property
    def present(self) -> Moment:
        """The present moment: state, event, effects."""
        return self.history.present

    @property
    def state(self) -> State:
        """Everything that it remembers now."""
        return self.present.state

    @property
    def screen(self) -> Screen:
        """What its display shows now."""
        return render(self.design, self.state)

    @property
    def effects(self) -> tuple[Effect, ...]:
        """What the last event requires of it, in order."""
        return self.present.effects

    @property
    def lamps(self) -> dict[str, bool]:
        """Which of its lamps are lit now, by key."""
        return dict(zip((lamp.key for lamp in self.design.lamps), find_lit_lamps(self.design, self.state), strict=True))

    @property
    def due_ms(self) -> int | None:
        """When something happens by time alone, or None where nothing will. [ms since power-on]"""
        return find_due_ms(self.design, self.present)

    def get_value(self, key: str) -> Value:
        """Return the present value of a setting or readout.

        Raises:
            KeyError: There is none of this key.
        """
        return get_value(self.design, self.state, key)

    # What happens to it.

    def turn(self, detents: int, at_ms: int | None = None) -> Moment:
        """Turn the knob by whole detents, positive is up; the knob's acceleration counts."""
        return self.tell(Turn(self._choose_time(at_ms), detents))

    def press(self, at_ms: int | None = None) -> Moment:
        """Press the knob and release it."""
        return self.tell(Press(self._choose_time(at_ms)))

    def long_press(self, at_ms: int | None = None) -> Moment:
        """Press long: hold the knob down for `long_press_ms`."""
        return self.tell(LongPress(self._choose_time(at_ms)))

    def double_press(self, at_ms: int | None = None) -> Moment:
        """Press the knob twice in quick succession."""
        return self.tell(DoublePress(self._choose_time(at_ms)))

    def held_turn(self, detents: int, at_ms: int | None = None) -> Moment:
        """Turn the knob while holding it down."""
        return self.tell(HeldTurn(self._choose_time(at_ms), detents))

    def wait(self, for_ms: int) -> Moment:
        """Let time pass. [ms]"""
        return self.tell(Wait(self.present.at_ms + for_ms))

    def report(self, key: str, value: int, at_ms: int | None = None) -> Moment:
        """Report a readout's value, as a whole number with the readout's decimals."""
        return self.tell(Report(self._choose_time(at_ms), key, value))

    def tell(self, event: Event, *, final: bool = False) -> Moment:
        """Take one event.

        Args:
            event: What happens. A turn with one step per detent is accelerated by the knob.
            final: Whether a turn is final because its steps per detent are already known, as in a recording.

        Raises:
            EventError: The device refuses the event. Nothing has changed.
        """
        moment = apply_event(self.design, self.present, event, final=final)
        self.history.add(moment, (moment.event,))
        return moment

    def tell_all(self, events: Iterable[Event], *, final: bool = False) -> tuple[Moment, ...]:
        """Take several events; if the device refuses one, those before it have taken effect."""
        return tuple(self.tell(event, final=final) for event in events)

    def read_contacts(self, level_a: int, level_b: int, pressed: bool, at_ms: int) -> tuple[Moment, ...]:
        """Read the levels on its wires: phase A, phase B and the push switch.

        The first reading only shows where the wheel stands. Between readings the button's deadlines pass, so it is
        enough to read when something changes, and once more when time has passed.

        Args:
            level_a: Phase A, 1 while its contact is closed, else 0; a pin with a pull-up reads the opposite.
            level_b: Phase B, likewise.
            pressed: Whether the push switch is closed.
            at_ms: When. [ms since power-on]

        Returns:
            The moments that followed, none for most readings.
        """
        knob = self.design.knob
        if self._contacts is None:
            self._contacts = contacts.start(knob, level_a, level_b, self.present.at_ms, self.present.acceleration)
        self._contacts, events = contacts.read(knob, self._contacts, level_a, level_b, pressed, at_ms)
        return self.tell_all(events, final=True)

    # What it was.

    def go(self, number: int) -> Moment:
        """Go to any moment of the history, by its number; levels read from the wires are discarded.

        Raises:
            IndexError: There is no moment of this number.
        """
        self._contacts = None
        return self.history.go_to(number)

    def list_events(self) -> tuple[Event, ...]:
        """Return the events that led here, in order."""
        moments = (self.history[number] for number in self.history.walk_path())
        return tuple(moment.event for moment in moments if moment.event is not None)

    def _choose_time(self, at_ms: int | None) -> int:
        return self.present.at_ms + GAP_MS if at_ms is None else at_ms


def _replay(design: Design, moment: Moment, cause: Cause) -> Moment:
    """Compute a moment of the history again; every event there is final."""
    (event,) = cause
    assert event is not None, "a device has one variant, to which everything happens"
    return apply_event(design, moment, event, final=True)
