"""The state changes of one trial, played again on the recorded design."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple, get_args

import attrs

from knobmenu.design.whole import Design
from knobmenu.errors import EventError, RecordingError
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Turn
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.effects import ActionRun, Effect, ValueChanged
from knobmenu.machine.state import Mode, State
from knobmenu.review.study import Trial
from knobmenu.session.part import follow, switch_on
from knobmenu.session.records import DesignRecord, EventRecord, GoRecord, Header, MarkRecord, PowerOnRecord, Record

Outcome = Literal["done", "gave-up", "time-out"]
"""How an attempt ended: it succeeded, the participant gave up, or the give-up time passed."""

Screen = tuple[Mode, str]
"""A screen: its mode, and the key of its menu, setting or action."""

Node = tuple[Mode | None, str]
"""A place on the map of the menu: a screen, or no mode and the key of an entry that acts within its list."""


def format_begin_mark(trial: Trial) -> str:
    """Format the name of the mark at which a trial begins."""
    return f"begin {trial.variant} {trial.task}"


def format_end_mark(outcome: Outcome) -> str:
    """Format the name of the mark at which a trial ends."""
    return f"end {outcome}"


class StateChange(NamedTuple):
    """One event, with the states before and after it."""

    real_ms: int
    """The time. [ms of real time since the header]"""
    before: State
    event: Event
    after: State
    effects: tuple[Effect, ...]


@attrs.frozen(eq=False)
class Walk:
    """Everything that happened from the start to the end of a trial."""

    trial: Trial
    design: Design
    """The recorded design."""
    start: State
    changes: tuple[StateChange, ...]
    outcome: Outcome
    begun_ms: int
    """The start. [ms of real time since the header]"""
    ended_ms: int
    """The end. [ms of real time since the header]"""


def read_walks(header: Header, records: Iterable[Record]) -> Iterator[Walk]:
    """Walk the finished trials of a sitting's records.

    An unfinished trial, for example of a killed process, is omitted; it begins again when the sitting resumes.

    Args:
        header: The header of the recording, with one design.
        records: The records; the effects and screens of events are not needed.

    Raises:
        RecordingError: A record does not follow from those before it, or does not belong to a sitting.
    """
    part = switch_on(header.designs[0].design)
    trial: Trial | None = None
    start, changes, begun_ms = part.state, list[StateChange](), 0
    for record in records:
        match record:
            case EventRecord(real_ms, _, (event,)) if event is not None:
                before = part.state
                try:
                    part = follow(part, event, final=True)
                except EventError as error:
                    raise _make_error(record, str(error)) from None
                if trial is not None:
                    changes.append(StateChange(real_ms, before, event, part.state, part.effects))
            case EventRecord():
                raise _make_error(record, f"expected one variant, got {len(record.events)}")
            case PowerOnRecord():
                part, trial = switch_on(part.design), None
            case DesignRecord():
                part, trial = switch_on(record.design.design), None
            case GoRecord():
                raise _make_error(record, "a sitting does not go back")
            case MarkRecord(real_ms, _, name):
                word, _, rest = name.partition(" ")
                if word == "begin":
                    trial = _parse_trial(rest, record)
                    start, changes, begun_ms = part.state, [], real_ms
                elif word == "end" and trial is not None:
                    outcome = _parse_outcome(rest, record)
                    yield Walk(trial, part.design, start, tuple(changes), outcome, begun_ms, real_ms)
                    trial = None
            case _:
                pass


def _parse_trial(text: str, record: MarkRecord) -> Trial:
    variant, space, task = text.partition(" ")
    if not space:
        raise _make_error(record, f"expected a variant and a task, got {text!r}")
    return Trial(variant, task)


def _parse_outcome(text: str, record: MarkRecord) -> Outcome:
    for outcome in get_args(Outcome):
        if outcome == text:
            return outcome  # type: ignore[no-any-return]  # get_args loses the type
    raise _make_error(record, f"expected an outcome, got {text!r}")


def _make_error(record: Record, reason: str) -> RecordingError:
    return RecordingError(f"{record.kind} at {record.real_ms} ms: {reason}")


# Facts about state changes, of a participant and of the least way alike.


def count_gestures(event: Event) -> int:
    """Count the gestures of an event: the detents of a turn, 1 for a press of any kind, 0 for time and reports."""
    match event:
        case Turn() | HeldTurn():
            return abs(event.detents)
        case Press() | LongPress() | DoublePress():
            return 1
        case _:
            return 0


def find_pressed_entry(change: StateChange) -> tuple[str, int] | None:
    """Return the menu and the index of the entry that a press chose; None if it chose none."""
    if not isinstance(change.event, Press) or change.before.mode is not Mode.BROWSING:
        return None
    here = change.before.path[-1]
    return (here.menu, here.entry) if here.entry >= 0 else None


def is_action_in_place(change: StateChange) -> bool:
    """Return whether an entry was pressed that acts within its list, like a switch."""
    acts = any(isinstance(effect, ValueChanged | ActionRun) for effect in change.effects)
    return (
        acts
        and find_pressed_entry(change) is not None
        and identify_screen(change.after) == identify_screen(change.before)
    )


def list_screens(start: State, changes: Iterable[StateChange]) -> tuple[Screen, ...]:
    """List each screen visited, in order, including the first."""
    screens = [identify_screen(start)]
    for change in changes:
        here = identify_screen(change.after)
        if here != screens[-1]:
            screens.append(here)
    return tuple(screens)


def list_nodes(design: Design, start: State, changes: Iterable[StateChange]) -> tuple[Node, ...]:
    """List each place visited on the map of the menu, in order, including the first."""
    nodes: list[Node] = [identify_screen(start)]
    for change in changes:
        if is_action_in_place(change) and (entry := find_pressed_entry(change)):
            nodes.append((None, get_target(design, entry)))
        here = identify_screen(change.after)
        if here != nodes[-1]:
            nodes.append(here)
    return tuple(nodes)


def get_target(design: Design, entry: tuple[str, int]) -> str:
    """Return the key of an entry's target."""
    menu, place = entry
    return design.index.menus[menu].entries[place].target
