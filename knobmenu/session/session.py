"""A session: one person tries one or more variants of a design with one knob.

Movements of the hand enter a knob source with their real times; the source returns what the firmware reads, and when.
The session converts that to device time, applies the button timing of each variant, and sends every variant its events;
together they make the next moment of the history.

Device time runs with real time while the session is live. It stops in the past and while it is frozen, and never goes
back. A knob source needs time to pass; while device time is stopped, the hand drives the devices directly.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import zip_longest

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.design.whole import Design
from knobmenu.device.history import History
from knobmenu.events import Event, Report, Turn, Wait
from knobmenu.session import hand
from knobmenu.session.buttons import Buttons, VariantEvents, remove_debounce
from knobmenu.session.clock import Clock
from knobmenu.session.hand import Hand, Holder
from knobmenu.session.interleaving import choose_next_value, collect_due_events
from knobmenu.session.notes import Note
from knobmenu.session.part import Part, Snapshot
from knobmenu.session.source import IdealEncoder, KnobSource, Reading
from knobmenu.session.timeline import Timeline
from knobmenu.trace import GAP_MS

MEASURED_SPARE_MS = 50
"""How much longer than the longest threshold a long press of measured length lasts. [ms]"""

CLICK_MS = 60
"""Length of a press whose release is not reported. [ms]"""

SPIN_MS = 12
"""Time between the detents of a quick spin. [ms]"""


class Session:
    """A hand on a knob, and the clock of the devices.

    All times passed to methods are real times in milliseconds, of any monotonic clock.
    """

    def __init__(self, timeline: Timeline, real_ms: int) -> None:
        """Start with the knob released.

        Args:
            timeline: The variants, just switched on or restored from a recording.
            real_ms: Real time now. [ms]
        """
        self.timeline = timeline
        """The variants, and everything that happened to them."""
        self.hand = Hand()
        self.frozen = False
        self.source: KnobSource = IdealEncoder()
        """The source that reads the knob."""
        self.turned = 0
        """The position of the knob, 0 at the start, clockwise positive. [detents]"""
        self._buttons = Buttons(len(timeline.designs))
        self._clock: Clock | None = None
        """The clock of device time while it runs; None while it is stopped."""
        self._resume(real_ms)

    # State.

    @property
    def designs(self) -> Sequence[Design]:
        """The variants, as they are designed now."""
        return self.timeline.designs

    @property
    def history(self) -> History[Snapshot]:
        """Every moment, and which one is present."""
        return self.timeline.history

    @property
    def parts(self) -> tuple[Part, ...]:
        """Each variant at the present moment."""
        return self.timeline.parts

    @property
    def notes(self) -> Sequence[Note]:
        """The user's notes, in order."""
        return self.timeline.notes

    @property
    def live(self) -> bool:
        """Whether device time runs."""
        return self._clock is not None

    @property
    def at_ms(self) -> int:
        """The time of the present moment. [ms since power-on]"""
        return self.timeline.at_ms

    def to_device_ms(self, real_ms: int) -> int:
        """Return the device time at a real time. [ms since power-on]"""
        if self._clock is None:
            return self.at_ms
        return max(self.at_ms, self._buttons.at_ms, self._clock.to_device(real_ms))

    # The hand.

    def turn(self, clockwise: int, real_ms: int) -> None:
        """Turn the knob; negative is counter-clockwise. [detents]"""
        self.turned += clockwise
        self._record_hand(self.hand.down, real_ms)
        at_ms = self._live_at(real_ms)
        if self._clock is None:
            self._turn_devices(clockwise, at_ms)
        else:
            self._take(self.source.turn(clockwise, real_ms))

    def spin(self, clockwise: int, real_ms: int) -> None:
        """Turn the knob by several detents quickly, one after the other. [detents]"""
        for number in range(abs(clockwise)):
            self.turn(1 if clockwise > 0 else -1, real_ms + number * SPIN_MS)

    def press(self, by: Holder, real_ms: int, name: str = "") -> None:
        """Press the knob down."""
        if not self.hand.down:
            at_ms = self._live_at(real_ms)
            self.hand = hand.press(self.hand, by, at_ms, name)
            self._push(True, at_ms)

    def release(self, by: Holder, real_ms: int, name: str = "") -> None:
        """Release the knob; nothing happens unless the same holder pressed it."""
        self._release(hand.release(self.hand, by, name), self.to_device_ms(real_ms))

    def click(self, real_ms: int) -> None:
        """Press the knob and release it, for an input that does not report releases."""
        if self.hand.down:
            return
        at_ms = self._live_at(real_ms)
        self._push(True, at_ms)
        self._push(False, at_ms + min(CLICK_MS, min(design.knob.long_press_ms for design in self.designs) - 1))

    def long_press(self, real_ms: int) -> None:
        """Press the knob for as long as a long press takes; immediately if device time is stopped."""
        if self.hand.down:
            return
        self.press("measured", real_ms)
        if self._clock is None:
            self._release(Hand(), self.hand.since_ms + self.measured_ms)

    def press_simulation_key(self, key: str, real_ms: int) -> tuple[str, ...]:
        """Report the next value of a moderator's key to every device whose design binds it.

        Returns:
            The labels of the bindings; an empty tuple if no design binds the key.
        """
        bound = [next((one for one in design.simulation_keys if one.key == key), None) for design in self.designs]
        if not any(bound):
            return ()
        at_ms = self._live_at(real_ms)
        self._tell(
            [
                () if one is None else (Report(at_ms, one.readout, choose_next_value(one, part)),)
                for one, part in zip(bound, self.parts, strict=True)
            ]
        )
        return tuple(dict.fromkeys(one.label for one in bound if one is not None))

    def double_press(self, real_ms: int) -> None:
        """Press the knob twice in quick succession, for an input that does not report releases."""
        self.click(real_ms)
        self.click(real_ms + 2 * CLICK_MS)

    def blur(self, real_ms: int) -> None:
        """Release the knob when the window loses focus, since releases are then not reported."""
        self._release(hand.release_on_blur(self.hand), self.to_device_ms(real_ms))

    @property
    def measured_ms(self) -> int:
        """Length of a long press of measured length. [ms]"""
        return max(design.knob.long_press_ms for design in self.designs) + MEASURED_SPARE_MS

    def measure_held_fraction(self, real_ms: int) -> float:
        """Return the elapsed fraction of a long press, 0 to 1."""
        if not self.hand.down:
            return 0.0
        long_ms = max(design.knob.long_press_ms for design in self.designs)
        return min(1.0, (self.to_device_ms(real_ms) - self.hand.since_ms) / long_ms)

    def take_source(self, source: KnobSource, real_ms: int) -> None:
        """Release the knob, and read another source from now on."""
        self._release(Hand(), self.to_device_ms(real_ms))
        self.source = source

    def _take(self, readings: Iterable[Reading]) -> None:
        """Send the devices what the firmware read."""
        for reading in readings:
            at_ms = self._live_at(reading.at_ms)
            if reading.detents:
                self._turn_devices(reading.detents, at_ms)
            else:
                self._push_devices(reading.down, at_ms)

    def _push(self, down: bool, at_ms: int) -> None:
        self._record_hand(down, None if self._clock is None else self._clock.to_real(at_ms))
        # A source needs time to pass; while device time is stopped, the hand drives the devices directly.
        if self._clock is None:
            self._push_devices(down, at_ms)
        else:
            self._take(self.source.push(down, self._clock.to_real(at_ms)))

    def _release(self, hand: Hand, at_ms: int) -> None:
        if self.hand.down and not hand.down:
            self.hand = hand
            self._push(False, at_ms)

    def _record_hand(self, down: bool, real_ms: int | None) -> None:
        if self.timeline.recorder is not None:
            self.timeline.recorder.move(self.turned, down, real_ms)

    def _turn_devices(self, clockwise: int, at_ms: int) -> None:
        self._tell(self._buttons.turn(self._knobs, clockwise, at_ms))

    def _push_devices(self, down: bool, at_ms: int) -> None:
        self._tell(self._buttons.push(self._knobs, down, at_ms))

    @property
    def _knobs(self) -> list[Knob]:
        """The variants' knobs, without debouncing if the switch does not bounce."""
        if self.source.bounces and self._clock is not None:
            return [design.knob for design in self.designs]
        return [remove_debounce(design.knob) for design in self.designs]

    # Time.

    def find_due_ms(self) -> int | None:
        """Return the real time at which to call `pass_time` next, or None if nothing is due. [ms]"""
        if self._clock is None:
            return self.source.due_ms
        due = self._find_device_due_ms()
        real = None if due is None else self._clock.to_real(due)
        return min((moment for moment in (real, self.source.due_ms) if moment is not None), default=None)

    def pass_time(self, real_ms: int) -> bool:
        """Do everything that is due, each at its own time; so the result does not depend on how often this is called.

        Returns:
            Whether anything happened.
        """
        before = self.history.present
        self._take(self.source.wait(real_ms))
        if self._clock is None:
            return self.history.present is not before
        at_ms = self.to_device_ms(real_ms)
        while (due := self._find_device_due_ms()) is not None and due <= at_ms:
            self._pass_to(due)
        self._buttons.wait(self._knobs, at_ms)
        return self.history.present is not before

    def _find_device_due_ms(self) -> int | None:
        """Return the device time at which something is due next, or None. [ms since power-on]"""
        candidates = [hand.find_release_due_ms(self.hand, self.measured_ms), self._buttons.find_due_ms(self._knobs)]
        candidates += [None if event is None else event.at_ms for event in (part.upcoming for part in self.parts)]
        return min((candidate for candidate in candidates if candidate is not None), default=None)

    def _pass_to(self, due: int) -> None:
        """Do the first thing that is due at a device time: of the hand, the buttons, then the devices."""
        until = hand.find_release_due_ms(self.hand, self.measured_ms)
        button = self._buttons.find_due_ms(self._knobs)
        if until is not None and until <= due:
            self._release(Hand(), until)
        elif button is not None and button <= due:
            self._tell(self._buttons.wait(self._knobs, due))
        else:
            self._tell_due(due)

    def _tell_due(self, due: int) -> None:
        """Send each variant the event that is due by time alone."""
        upcoming = [part.upcoming for part in self.parts]
        self._tell([(event,) if event is not None and event.at_ms <= due else () for event in upcoming])

    def freeze(self, real_ms: int) -> None:
        """Stop device time, or start it again."""
        if self.frozen:
            self.frozen = False
            self._start(real_ms)
        else:
            self.pass_time(real_ms)
            self._tell([(Wait(self.to_device_ms(real_ms)),)] * len(self.designs))
            self.frozen = True
            self._stop()

    def _live_at(self, real_ms: int) -> int:
        """Return the device time of a movement of the hand; stopped time starts again unless it is frozen."""
        if self._clock is None:
            at_ms = self.at_ms + GAP_MS
            if not self.frozen:
                self._clock = Clock(real_ms, at_ms)
            self._buttons.reset(self.at_ms)
            return at_ms
        self.pass_time(real_ms)
        return self.to_device_ms(real_ms)

    def _stop(self) -> None:
        """Stop device time, and release everything."""
        self._clock = None
        self.hand = Hand()
        self.source.reset()
        self._buttons.reset(self.at_ms)

    def _start(self, real_ms: int) -> None:
        """Start device time at the present moment, unless that is in the past or time is frozen."""
        if not self.frozen and not self.history.in_past:
            self._clock = Clock(real_ms, self.at_ms)

    def _resume(self, real_ms: int) -> None:
        """Continue from the present moment, with everything released."""
        self._stop()
        self._start(real_ms)

    # Events.

    def list_events(self, variant: int = 0) -> tuple[Event, ...]:
        """Return the events that led a variant to the present moment, in order."""
        return self.timeline.list_events(variant)

    def tell(self, events: Iterable[Event], real_ms: int) -> None:
        """Send every variant events whose times count from the present moment.

        Reports of the surroundings happen between them; see `knobmenu.session.interleaving`.

        Raises:
            EventError: An event is illegal; those before it have happened.
        """
        base = self.at_ms
        try:
            for event in events:
                moved = attrs.evolve(event, at_ms=base + event.at_ms)
                while due_events := collect_due_events(self.parts, moved.at_ms, moved):
                    self._tell(due_events, real_ms)
                self._tell([(moved,)] * len(self.designs), real_ms)
            while due_events := collect_due_events(self.parts, self.at_ms):
                self._tell(due_events, real_ms)
        finally:
            self._resume(real_ms)

    def play(self, events: Iterable[Event], remark: str, real_ms: int) -> None:
        """Play events from power-on, on a new branch.

        Raises:
            EventError: An event is illegal; those before it have happened.
        """
        self.timeline.switch_on(remark, real_ms)
        self.tell(events, real_ms)

    def play_again(self, real_ms: int) -> None:
        """Play the same events from power-on with the present designs, on a new branch.

        Raises:
            EventError: An event is now illegal; those before it have happened.
        """
        # The knob of the present design accelerates each turn again.
        before = self.timeline.list_events()
        events = [attrs.evolve(event, times=1) if isinstance(event, Turn) else event for event in before]
        self.play(events, "played again", real_ms)

    def _tell(self, variant_events: VariantEvents, real_ms: int | None = None) -> None:
        """Send each variant its events; events of the same index make one moment."""
        if real_ms is None and self._clock is not None and any(variant_events):
            real_ms = self._clock.to_real(max(event.at_ms for events in variant_events for event in events))
        for events in zip_longest(*variant_events):
            self.timeline.follow(events, real_ms)

    # Navigation in the history.

    def go_back(self, real_ms: int, moments: int = 1) -> None:
        """Go back; beyond power-on, to power-on."""
        self.go(self.history.place - moments, real_ms)

    def go_forward(self, real_ms: int, moments: int = 1) -> None:
        """Go forward; beyond the newest moment, to the newest."""
        self.go(self.history.place + moments, real_ms)

    def go(self, place: int, real_ms: int) -> None:
        """Go to a place on the branch; at its end, device time continues."""
        self.timeline.go(place, real_ms)
        self._resume(real_ms)

    def go_to(self, number: int, real_ms: int) -> None:
        """Go to a moment by its number, on any branch.

        Raises:
            IndexError: No moment has this number.
        """
        self.timeline.go_to(number, real_ms)
        self._resume(real_ms)

    def go_to_next_branch(self, real_ms: int) -> None:
        """Go to the end of the next branch; after the last branch, of the first."""
        self.timeline.go_to_next_branch(real_ms)
        self._resume(real_ms)
