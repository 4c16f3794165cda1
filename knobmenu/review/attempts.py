"""What each participant did with each task, counted from the records of a session.

A sitting marks where a task begins and ends (`begin_mark`, `end_mark`); what lies between is one attempt. It is played
again on the design that was recorded, so that drafts count as well as values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Literal, get_args

import attrs

from knobmenu.analysis.cost.gestures import perform
from knobmenu.analysis.cost.routes import Route
from knobmenu.design.conditions import All, Condition, Equal
from knobmenu.design.settings import TextSetting
from knobmenu.design.whole import Design, operand_number
from knobmenu.errors import EventError, RecordingError
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Turn, Wait
from knobmenu.machine.advance import screen_of
from knobmenu.machine.effects import Reverted, ScreenEntered
from knobmenu.machine.state import Editing, Mode, State, value_of
from knobmenu.review.measures import count_overshoots, measure_lostness
from knobmenu.review.study import Trial
from knobmenu.review.study_form import Setup
from knobmenu.session.part import Part, follow, switch_on
from knobmenu.session.recording import DesignChanged, Happened, Header, Marked, PoweredOn, Record, Went

Outcome = Literal["done", "gave-up", "time-out"]
"""How an attempt ended: it succeeded, the participant gave up, or the give-up time had passed."""

Screen = tuple[Mode, str]
"""A screen: its mode, and the menu, setting or action that it is about."""


def begin_mark(trial: Trial) -> str:
    """Return the name of the mark at which a trial begins."""
    return f"begin {trial.variant} {trial.task}"


def end_mark(outcome: Outcome) -> str:
    """Return the name of the mark at which a trial ends."""
    return f"end {outcome}"


@attrs.frozen
class Attempt:
    """What a participant did with one task and one variant."""

    trial: Trial
    outcome: Outcome
    lasted_ms: int
    """From the begin to the end, in real time. [ms]"""
    detents: int
    """Detents turned, whatever the direction, while held down too."""
    presses: int
    """Presses, long presses and double presses."""
    screens: tuple[Screen, ...]
    """Each screen that was visited, in order, the first included."""
    overshoots: int
    """How often a setting went past the value that the task asks for."""
    reverts: int
    """Edits that the participant undid."""
    time_outs: int
    """How often the device left a screen because nobody touched the knob."""
    wrong_screens: int | None
    """Visits to screens that the least way does not show; None where it is not known."""
    first_press: bool | None
    """Whether the first entry that was pressed is the one that the least way presses first; None where one of the two
    presses none, or the least way is not known."""
    lostness: float | None
    """See `knobmenu.review.measures.measure_lostness`; None where the least way is not known."""
    extra_gestures: int | None
    """Detents and presses beyond those of the least way, below 0 where acceleration saved some; None where it is not
    known."""

    @property
    def succeeded(self) -> bool:
        """Whether the task was done."""
        return self.outcome == "done"


def read_attempts(setup: Setup, header: Header, records: Iterable[Record]) -> Iterator[Attempt]:
    """Walk the finished attempts of a sitting's records.

    An attempt without an end, as of a killed process, is left out; it begins again when the sitting resumes.

    Args:
        setup: The study.
        header: How the recording begins; it holds one design.
        records: What follows.

    Raises:
        RecordingError: A record does not follow from those before it, or is not of this study.
    """
    part = switch_on(header.designs[0].design)
    running: _Running | None = None
    for record in records:
        match record:
            case PoweredOn():
                part = switch_on(part.design)
                running = None
            case DesignChanged():
                part = switch_on(record.design.design)
                running = None
            case Happened():
                before, part = part, _follow(part, record)
                if running is not None:
                    running.take(before.state, part)
            case Went():
                raise RecordingError(f"{record.kind} at {record.real_ms} ms: a sitting does not go back")
            case Marked():
                word, _, rest = record.name.partition(" ")
                if word == "begin":
                    running = _Running(setup, _trial(setup, rest, record), part, record.real_ms)
                elif word == "end" and running is not None:
                    yield running.end(_outcome(rest, record), record.real_ms)
                    running = None
            case _:
                pass


def _follow(part: Part, record: Happened) -> Part:
    try:
        return follow(part, record.events[0], final=True)
    except EventError as error:
        raise RecordingError(f"{record.kind} at {record.real_ms} ms: {error}") from None


def _trial(setup: Setup, text: str, record: Marked) -> Trial:
    variant, _, task = text.partition(" ")
    if (variant, task) not in setup.least:
        raise RecordingError(f"mark at {record.real_ms} ms: expected a variant and a task of this study, got {text!r}")
    return Trial(variant, task)


def _outcome(text: str, record: Marked) -> Outcome:
    for outcome in get_args(Outcome):
        if outcome == text:
            return outcome  # type: ignore[no-any-return]  # get_args forgets what they are
    raise RecordingError(f"mark at {record.real_ms} ms: expected an outcome, got {text!r}")


class _Running:
    """An attempt while its records are read."""

    def __init__(self, setup: Setup, trial: Trial, part: Part, real_ms: int) -> None:
        self.trial, self.began_ms = trial, real_ms
        self.design = part.design
        task = next(task for task in setup.study.tasks if task.key == trial.task)
        self.targets = dict(targets_of(part.design, task.done))
        self.route = setup.least[trial.variant, trial.task]
        self.screens = [screen_of(part.state)]
        self.first_entry: tuple[str, int] | None = None
        self.runs = {key: [[_seen(part.design, part.state, key)]] for key in self.targets}
        self.detents = self.presses = self.reverts = self.time_outs = 0

    def take(self, before: State, part: Part) -> None:
        """Count one event."""
        event, state = part.event, part.state
        if isinstance(event, Turn | HeldTurn):
            self.detents += abs(event.detents)
        elif isinstance(event, Press | LongPress | DoublePress):
            self.presses += 1
            if self.first_entry is None:
                self.first_entry = _pressed_entry(before, event)
        if isinstance(event, Wait):
            self.time_outs += any(isinstance(effect, ScreenEntered) for effect in part.effects)
        else:
            self.reverts += any(isinstance(effect, Reverted) for effect in part.effects)
        if screen_of(state) != self.screens[-1]:
            self.screens.append(screen_of(state))
        for key, runs in self.runs.items():
            value = _seen(self.design, state, key)
            if value == runs[-1][-1]:
                continue
            if isinstance(event, Turn | HeldTurn):
                runs[-1].append(value)
            else:  # a value that jumps, as back by a revert, passes nothing on its way
                runs.append([value])

    def end(self, outcome: Outcome, real_ms: int) -> Attempt:
        """Return the attempt."""
        least = None if self.route is None else _trail(self.route)
        tally = None if self.route is None else self.route.tally
        shown = set() if least is None else set(least.screens)
        comparable = least is not None and least.first_entry is not None and self.first_entry is not None
        return Attempt(
            trial=self.trial,
            outcome=outcome,
            lasted_ms=real_ms - self.began_ms,
            detents=self.detents,
            presses=self.presses,
            screens=tuple(self.screens),
            overshoots=sum(
                count_overshoots(run, target) for key, target in self.targets.items() for run in self.runs[key]
            ),
            reverts=self.reverts,
            time_outs=self.time_outs,
            wrong_screens=None if least is None else sum(screen not in shown for screen in self.screens),
            first_press=least.first_entry == self.first_entry if least is not None and comparable else None,
            lostness=None if least is None else measure_lostness([str(one) for one in self.screens], len(shown)),
            extra_gestures=None if tally is None else self.detents + self.presses - tally.gestures,
        )


def targets_of(design: Design, condition: Condition) -> Iterator[tuple[str, int]]:
    """Walk the settings for which a condition asks for exactly one value, each with that value."""
    if isinstance(condition, All):
        for part in condition.of:
            yield from targets_of(design, part)
    elif isinstance(condition, Equal):
        settings: Mapping[str, object] = design.index.settings
        if condition.key in settings and not isinstance(settings[condition.key], TextSetting):
            yield condition.key, operand_number(design.index.settings, condition.key, condition.value)


def _seen(design: Design, state: State, key: str) -> int:
    """Return the value of a setting as the participant sees it: its draft while it is edited."""
    editing = isinstance(state.focus, Editing) and state.focus.setting == key
    value = state.focus.draft if editing and isinstance(state.focus, Editing) else value_of(design, state, key)
    assert isinstance(value, int), "no condition is over a text"
    return value


def _pressed_entry(before: State, event: Event) -> tuple[str, int] | None:
    """Return the menu and the place of the entry that a press chose; None where it chose none."""
    if not isinstance(event, Press) or before.mode is not Mode.BROWSING:
        return None
    return before.path[-1].menu, before.path[-1].entry


@attrs.frozen
class _Trail:
    """What a least way shows."""

    screens: tuple[Screen, ...]
    first_entry: tuple[str, int] | None


def _trail(route: Route) -> _Trail:
    state = route.start
    screens = [screen_of(state)]
    first_entry = None
    for gesture in route.way:
        if gesture.kind == "press" and first_entry is None:
            first_entry = _pressed_entry(state, Press(state.at_ms))
        state, _ = perform(route.design, state, gesture)
        if screen_of(state) != screens[-1]:
            screens.append(screen_of(state))
    return _Trail(tuple(screens), first_entry)
