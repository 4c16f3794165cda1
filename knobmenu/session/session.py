"""One person trying one or more variants of a design with one knob.

Theory of operation. What the hand does arrives with its real time. The session turns that into device time, works the
knob's own button timing (without debouncing, since keys and mice do not bounce), and tells every variant what its
knob makes of it; together that is the next moment. Device time runs with real time while the session is live, and
stands still in the past and while it is frozen; it never goes back.

Between the hand and the devices lies a knob source: what the hand turns and presses goes into it, and what the firmware
read comes out when it would have. Only that reaches the devices, so the history holds what was counted. A source needs
time to pass; while device time is frozen, the hand works the devices directly.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import zip_longest

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.design.whole import Design
from knobmenu.events import LATEST_MS, Event, Wait
from knobmenu.knob import button
from knobmenu.knob.button import ButtonState
from knobmenu.machine.advance import next_due_ms
from knobmenu.session import hand
from knobmenu.session.hand import Hand, Holder
from knobmenu.session.history import History
from knobmenu.session.pages import LIVE, Moment
from knobmenu.session.source import IdealEncoder, KnobSource, Reading
from knobmenu.session.trying import Part, after, carried, power_on
from knobmenu.trace import GAP_MS

MEASURED_SPARE_MS = 50
"""How much longer than the longest threshold a long press made to measure lasts. [ms]"""

CLICK_MS = 60
"""How long a press lasts where its release is not told. [ms]"""

SPIN_MS = 12
"""Between the detents of a quick spin. [ms]"""


@attrs.frozen
class Note:
    """A remark of the person at a moment."""

    number: int
    """The moment's number."""
    at_ms: int
    """When that was. [ms since power-on]"""
    text: str


class Session:
    """Variants, the hand, the clock, the history and the notes."""

    def __init__(self, designs: Sequence[Design], real_ms: int, live: int = LIVE) -> None:
        """Switch one device on for each design.

        Args:
            designs: The variants, at least one.
            real_ms: Real time now. [ms]
            live: How many pages of the history are kept as they are; see `knobmenu.session.pages`.
        """
        self.designs: list[Design] = list(designs)
        self.history = History(tuple(map(power_on, designs)), live)
        self.hand = Hand()
        self.frozen = False
        self.notes: list[Note] = []
        self.source: KnobSource = IdealEncoder()
        """What reads the knob."""
        self.turned = 0
        """How far the knob was turned, clockwise. [detents]"""
        self._buttons: list[ButtonState] = [ButtonState() for _ in designs]
        self._anchor: tuple[int, int] | None = (real_ms, 0)
        self._shown: tuple[Moment, tuple[Part, ...]] | None = None

    # What is shown.

    @property
    def parts(self) -> tuple[Part, ...]:
        """Each variant at the present moment; one that was taken with an older design, taken over into the new."""
        moment = self.history.present
        if self._shown is None or self._shown[0] is not moment:
            self._shown = (
                moment,
                tuple(
                    part if part.design is design else carried(part, design)[0]
                    for part, design in zip(moment.parts, self.designs, strict=True)
                ),
            )
        return self._shown[1]

    @property
    def live(self) -> bool:
        """Whether device time runs."""
        return self._anchor is not None

    @property
    def at_ms(self) -> int:
        """The time of the present moment. [ms since power-on]"""
        return self.history.present.at_ms

    def device_ms(self, real_ms: int) -> int:
        """Return the device's time at a real time. [ms since power-on]"""
        if self._anchor is None:
            return self.at_ms
        return max(self.at_ms, *(state.at_ms for state in self._buttons), self._passed(real_ms))

    def _passed(self, real_ms: int) -> int:
        assert self._anchor is not None
        return min(self._anchor[1] + max(real_ms - self._anchor[0], 0), LATEST_MS - 1_000_000)

    # What the hand does.

    def turn(self, clockwise: int, real_ms: int) -> None:
        """Turn the knob, clockwise or back. [detents]"""
        self.turned += clockwise
        at_ms = self._live_at(real_ms)
        if self._anchor is None:
            self._turn(clockwise, at_ms)
        else:
            self._take(self.source.turn(clockwise, real_ms))

    def _turn(self, clockwise: int, at_ms: int) -> None:
        told = []
        for place, design in enumerate(self.designs):
            detents = clockwise if design.knob.clockwise == "up" else -clockwise
            self._buttons[place], events = button.turn(
                self._knob_of(design), self._buttons[place], detents, 1, max(at_ms, self._buttons[place].at_ms)
            )
            told.append(events)
        self._tell(told)

    def spin(self, clockwise: int, real_ms: int) -> None:
        """Turn the knob by several detents quickly, one after the other. [detents]"""
        for number in range(abs(clockwise)):
            self.turn(1 if clockwise > 0 else -1, real_ms + number * SPIN_MS)

    def press(self, by: Holder, real_ms: int, name: str = "") -> None:
        """Press the knob down."""
        if not self.hand.down:
            at_ms = self._live_at(real_ms)
            self.hand = hand.press(self.hand, by, at_ms, name)
            self._level(True, at_ms)

    def release(self, by: Holder, real_ms: int, name: str = "") -> None:
        """Let the knob go; nothing happens unless the same source pressed it."""
        self._let_go(hand.release(self.hand, by, name), self.device_ms(real_ms))

    def click(self, real_ms: int) -> None:
        """Press the knob and let it go, where the release is not told."""
        if self.hand.down:
            return
        at_ms = self._live_at(real_ms)
        self._level(True, at_ms)
        self._level(False, at_ms + min(CLICK_MS, min(design.knob.long_press_ms for design in self.designs) - 1))

    def long_press(self, real_ms: int) -> None:
        """Press the knob for as long as a long press takes; at once where device time is frozen."""
        if self.hand.down:
            return
        self.press("measured", real_ms)
        if self._anchor is None:
            until = self.hand.since_ms + self.measured_ms
            self._let_go(Hand(), until)

    def double_press(self, real_ms: int) -> None:
        """Press the knob twice in short order, where its release is not told."""
        self.click(real_ms)
        self.click(real_ms + 2 * CLICK_MS)

    def blur(self, real_ms: int) -> None:
        """Let go what a window without focus hears no release of."""
        self._let_go(hand.release_on_blur(self.hand), self.device_ms(real_ms))

    @property
    def measured_ms(self) -> int:
        """How long a long press made to measure lasts. [ms]"""
        return max(design.knob.long_press_ms for design in self.designs) + MEASURED_SPARE_MS

    def held_part(self, real_ms: int) -> float:
        """Return how much of a long press has passed, 0 to 1."""
        if not self.hand.down:
            return 0.0
        long_ms = max(design.knob.long_press_ms for design in self.designs)
        return min(1.0, (self.device_ms(real_ms) - self.hand.since_ms) / long_ms)

    def take_source(self, source: KnobSource, real_ms: int) -> None:
        """Read another knob from now on."""
        self._let_go(Hand(), self.device_ms(real_ms))
        self.source = source

    def _take(self, readings: Iterable[Reading]) -> None:
        """Pass on what the firmware read."""
        for reading in readings:
            at_ms = self._live_at(reading.at_ms)
            if reading.detents:
                self._turn(reading.detents, at_ms)
            else:
                self._found(reading.down, at_ms)

    def _level(self, down: bool, at_ms: int) -> None:
        # A source needs time to pass; while device time stands still, the hand works the devices directly.
        if self._anchor is None:
            self._found(down, at_ms)
        else:
            self._take(self.source.push(down, self._anchor[0] + at_ms - self._anchor[1]))

    def _found(self, down: bool, at_ms: int) -> None:
        told = []
        for place, design in enumerate(self.designs):
            at = max(at_ms, self._buttons[place].at_ms)
            self._buttons[place], events = button.step(self._knob_of(design), self._buttons[place], down, at)
            told.append(events)
        self._tell(told)

    def _let_go(self, hand: Hand, at_ms: int) -> None:
        if self.hand.down and not hand.down:
            self.hand = hand
            self._level(False, at_ms)

    def _knob_of(self, design: Design) -> Knob:
        """Return the knob whose button timing is worked; a switch that does not bounce needs no debouncing."""
        return design.knob if self.source.bounces and self._anchor is not None else _bounceless(design.knob)

    # Time.

    def due_ms(self) -> int | None:
        """Return the real time at which time alone does something next, or None where it never does. [ms]"""
        if self._anchor is None:
            return None
        candidates = [hand.release_due_ms(self.hand, self.measured_ms)]
        for part, state, design in zip(self.parts, self._buttons, self.designs, strict=True):
            candidates += [next_due_ms(part.design, part.state), button.due_ms(self._knob_of(design), state)]
        due = min((candidate for candidate in candidates if candidate is not None), default=None)
        real = None if due is None else self._anchor[0] + due - self._anchor[1]
        return min((moment for moment in (real, self.source.due_ms) if moment is not None), default=None)

    def pass_time(self, real_ms: int) -> bool:
        """Do what fell due.

        Returns:
            Whether anything happened.
        """
        if self._anchor is None:
            return False
        before = self.history.present
        self._take(self.source.wait(real_ms))
        at_ms = self.device_ms(real_ms)
        until = hand.release_due_ms(self.hand, self.measured_ms)
        if until is not None and until <= at_ms:
            self._let_go(Hand(), until)
        told = []
        for place, design in enumerate(self.designs):
            at = max(at_ms, self._buttons[place].at_ms)
            self._buttons[place], events = button.wait(self._knob_of(design), self._buttons[place], at)
            told.append(events)
        self._tell(told)
        dues = [next_due_ms(part.design, part.state) for part in self.parts]
        fell_due = [due for due in dues if due is not None and due <= at_ms]
        if fell_due:
            self._tell([(Wait(max(max(fell_due), self.at_ms)),)] * len(self.designs))
        return self.history.present is not before

    def freeze(self, real_ms: int) -> None:
        """Stop device time, or let it run again."""
        if self.frozen:
            self.frozen = False
            self._start(real_ms)
        else:
            self.pass_time(real_ms)
            self._tell([(Wait(self.device_ms(real_ms)),)] * len(self.designs))
            self.frozen = True
            self._stop()

    def _live_at(self, real_ms: int) -> int:
        """Return the device time of something that the hand does now; a device that stood still goes on."""
        if self._anchor is None:
            at_ms = self.at_ms + GAP_MS
            if not self.frozen:
                self._anchor = real_ms, at_ms
            self._buttons = [ButtonState(at_ms=self.at_ms) for _ in self.designs]
            return at_ms
        self.pass_time(real_ms)
        return self.device_ms(real_ms)

    def _stop(self) -> None:
        """Let device time stand still, and the hand forget what it held."""
        self._anchor = None
        self.hand = Hand()
        self.source.rest()
        self._buttons = [ButtonState(at_ms=self.at_ms) for _ in self.designs]

    # Events as they are.

    def tell(self, events: Iterable[Event], real_ms: int) -> None:
        """Tell every variant events at their own times after the present moment, as if played from power-on.

        Raises:
            EventError: At the first that cannot come; those before it have happened.
        """
        base = self.at_ms
        try:
            for event in events:
                self._tell([(attrs.evolve(event, at_ms=base + event.at_ms),)] * len(self.designs))
        finally:
            self._stop()
            self._start(real_ms)

    def play(self, events: Iterable[Event], remark: str, real_ms: int) -> None:
        """Play events from power-on, as a line of their own.

        Raises:
            EventError: At the first that cannot come; those before it have happened.
        """
        self.history.go(0)
        self.history.add(tuple(map(power_on, self.designs)), remark, switched_on=True)
        self.tell(events, real_ms)

    def events(self, variant: int = 0) -> tuple[Event, ...]:
        """Return the events that led a variant here, in order."""
        parts = (moment.parts[variant] for moment in self.history.up_to_present())
        return tuple(part.event for part in parts if part.event is not None)

    def _tell(self, told: Sequence[Sequence[Event]]) -> None:
        """Tell each variant its events; those that come together become one moment."""
        for events in zip_longest(*told):
            self.history.add(tuple(after(part, event) for part, event in zip(self.parts, events, strict=True)))

    # Going about in the history.

    def back(self, real_ms: int, moments: int = 1) -> None:
        """Go back; beyond power-on, to power-on."""
        self.go(self.history.place - moments, real_ms)

    def on(self, real_ms: int, moments: int = 1) -> None:
        """Go on; beyond the newest moment, to the newest."""
        self.go(self.history.place + moments, real_ms)

    def go(self, place: int, real_ms: int) -> None:
        """Go to a place of the line; at its end, device time runs on."""
        self.history.go(place)
        self._stop()
        self._start(real_ms)

    def other_line(self, real_ms: int) -> None:
        """Go to the end of another line."""
        self.history.other_line()
        self._stop()
        self._start(real_ms)

    def _start(self, real_ms: int) -> None:
        """Let device time run on from the present moment, where nothing followed it and it is not frozen."""
        if not self.frozen and not self.history.in_past:
            self._anchor = real_ms, self.at_ms

    # Changed designs.

    def redesign(self, variant: int, design: Design) -> tuple[str, ...]:
        """Take a changed design; place and values are kept by key.

        Returns:
            A sentence for each thing that the changed design could not take.
        """
        part, dropped = carried(self.parts[variant], design)
        parts = tuple(part if place == variant else after(other, None) for place, other in enumerate(self.parts))
        self.designs[variant] = design
        if self.history.in_past:
            self._shown = None
        else:
            self.history.add(parts, "design changed")
        return dropped

    def play_again(self, real_ms: int) -> None:
        """Play the same events from power-on with the designs as they are now, as a line of their own.

        Raises:
            EventError: At the first that cannot come any more; those before it have happened.
        """
        self.play(self.events(), "played again", real_ms)

    # Notes.

    def note(self, text: str, moment: Moment | None = None) -> None:
        """Write a remark at a moment, the present one if none is named; going back does not take it away."""
        about = moment or self.history.present
        self.notes.append(Note(about.number, about.at_ms, text))


@lru_cache(maxsize=16)
def _bounceless(knob: Knob) -> Knob:
    """Give the same knob for a hand on keys or a mouse, which do not bounce."""
    return attrs.evolve(knob, debounce_ms=0)
