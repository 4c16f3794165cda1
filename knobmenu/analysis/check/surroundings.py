"""Find faults in simulated surroundings: behaviours that never begin, never settle, or go unnoticed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice, product

from knobmenu.analysis.check.findings import Finding
from knobmenu.analysis.check.subject import Subject
from knobmenu.design.conditions import (
    All,
    Any,
    AtLeast,
    Comparison,
    Condition,
    Equal,
    Less,
    Not,
    Unequal,
    walk_comparisons,
)
from knobmenu.design.domains import get_domain
from knobmenu.design.simulation import (
    Approach,
    Behaviour,
    Countdown,
    Noise,
    Ramp,
    SetBy,
    walk_operands,
    walk_simulation_conditions,
)
from knobmenu.design.texts import PLACEHOLDER
from knobmenu.design.whole import Design, resolve_operand
from knobmenu.events import Event, Report, Wait
from knobmenu.session.interleaving import interleave_reports
from knobmenu.session.surroundings import MOST_AT_ONCE
from knobmenu.trace import format_trace

MOST_STARTS = 256
"""How many combinations of reports are played to find readouts that set each other endlessly."""

MOST_ROUNDS = 32
"""Values that still grow after this many rounds are assumed to grow without end."""

Values = tuple[Sequence[int], ...]
"""The possible values of a setting or readout: ascending sequences."""


def check_surroundings(subject: Subject) -> Iterator[Finding]:
    """Check how readouts behave while the design is tried out."""
    design = subject.design
    if design.simulation:
        yield from _find_idle(design, frozenset(subject.sites.of_target))
        yield from _find_unsettled(design)
    yield from _find_unread(design)


# What never begins.


def _find_idle(design: Design, offered: frozenset[str]) -> Iterator[Finding]:
    possible = _find_possible_values(design, offered)
    for behaviour in design.simulation:
        place = f"simulation.{behaviour.key}"
        match behaviour:
            case SetBy():
                for number, case in enumerate(behaviour.cases):
                    if case.when is None and case.action not in offered:
                        yield _make_idle_finding(
                            f"{place}.cases[{number}].action", f'nothing leads to the action "{case.action}"'
                        )
                    elif case.when is not None and not _judge(design, possible, case.when)[0]:
                        yield _make_idle_finding(f"{place}.cases[{number}].when", "its condition can never hold")
            case Countdown() if offered.isdisjoint(behaviour.started_by):
                yield _make_idle_finding(f"{place}.started_by", "nothing leads to an action that starts it")
            case _ if behaviour.when is not None and not _judge(design, possible, behaviour.when)[0]:
                yield _make_idle_finding(f"{place}.when", "its condition can never hold")


def _make_idle_finding(place: str, why: str) -> Finding:
    advice = "Correct it, let something make it begin, or remove it."
    return Finding("never-begins", place, f'"{place.split(".")[1]}" never does this: {why}.', advice)


def _find_possible_values(design: Design, offered: frozenset[str]) -> Mapping[str, Values]:
    """Find all values that settings, and readouts in these surroundings, can have: perhaps too many, never too few."""
    possible: dict[str, Values] = {key: (get_domain(design, key),) for key in design.index.numeric}
    possible |= {readout.key: ((readout.initial,),) for readout in design.readouts}
    for bound in design.simulation_keys:
        possible[bound.readout] += tuple((value,) for value in bound.values)
    for number in range(MOST_ROUNDS + 1):
        before = dict(possible)
        for behaviour in design.simulation:
            for key, values, between in _walk_outcomes(design, possible, behaviour, offered):
                _join(design, possible, key, values, between=between)
        if possible == before:
            break
        if number == MOST_ROUNDS - 1:
            for key in [key for key in design.index.readouts if possible[key] != before[key]]:
                possible[key] = (get_domain(design, key),)
    return possible


def _walk_outcomes(
    design: Design, possible: Mapping[str, Values], behaviour: Behaviour, offered: frozenset[str]
) -> Iterator[tuple[str, Values, bool]]:
    """Walk what a behaviour can report: the readout, its values, and whether intermediate values are reported, too."""

    def list_values(operand: int | str) -> Values:
        return possible[operand] if isinstance(operand, str) else ((operand,),)

    if isinstance(behaviour, SetBy):
        for case in behaviour.cases:
            if case.action in offered or (case.when is not None and _judge(design, possible, case.when)[0]):
                if case.step is not None:
                    declared = get_domain(design, behaviour.key)
                    yield behaviour.key, ((declared[-1 if case.step > 0 else 0],),), True
                elif case.value is not None:
                    yield behaviour.key, list_values(case.value), False
        return
    begins, rests = (True, False) if behaviour.when is None else _judge(design, possible, behaviour.when)
    match behaviour:
        case Countdown():
            yield behaviour.key, list_values(behaviour.begin), False
            if begins and not offered.isdisjoint(behaviour.started_by):
                yield behaviour.key, ((0,), *list_values(behaviour.begin)), True
                yield from ((end.readout, ((end.value,),), False) for end in behaviour.ends)
            return
        case Noise():
            if begins:
                low, high = _find_ends(list_values(behaviour.around))
                yield behaviour.key, (range(low - behaviour.spread, high + behaviour.spread + 1),), True
        case Approach() | Ramp():
            if begins:
                yield behaviour.key, list_values(behaviour.to), True
    if rests and behaviour.rest is not None:
        yield behaviour.key, list_values(behaviour.rest), not isinstance(behaviour, Noise)


def _find_ends(values: Values) -> tuple[int, int]:
    return min(part[0] for part in values), max(part[-1] for part in values)


def _join(design: Design, possible: dict[str, Values], key: str, more: Values, *, between: bool) -> None:
    declared = get_domain(design, key)
    if between:
        low, high = _find_ends((*possible[key], *more))
        possible[key] = (range(max(low, declared[0]), min(high, declared[-1]) + 1),)
    else:
        low, high = _find_ends(possible[key])
        whole = len(possible[key]) == 1 and isinstance(possible[key][0], range)
        new = [part for part in more if part not in possible[key]]
        possible[key] += tuple(part for part in new if not (whole and low <= part[0] and part[-1] <= high))


def _judge(design: Design, possible: Mapping[str, Values], condition: Condition) -> tuple[bool, bool]:
    """Return whether a condition can hold, and whether it can fail, evaluating each comparison independently."""
    match condition:
        case Not():
            holds, fails = _judge(design, possible, condition.of)
            return fails, holds
        case All() | Any():
            parts = [_judge(design, possible, part) for part in condition.of]
            hold, fail = [holds for holds, _ in parts], [fails for _, fails in parts]
            return (all(hold), any(fail)) if isinstance(condition, All) else (any(hold), all(fail))
    return _compare(
        possible[condition.key], condition, resolve_operand(design.index.settings, condition.key, condition.value)
    )


def _compare(values: Values, comparison: Comparison, number: int) -> tuple[bool, bool]:
    low, high = _find_ends(values)
    match comparison:
        case Equal() | Unequal():
            holds, fails = any(number in part for part in values), (low, high) != (number, number)
            return (holds, fails) if isinstance(comparison, Equal) else (fails, holds)
        case Less():
            return low < number, high >= number
        case AtLeast():
            return high >= number, low < number


# What never settles.


def _find_unsettled(design: Design) -> Iterator[Finding]:
    """Play readouts that set each other, from power-on and from various reports."""
    for cycle in _walk_cycles(design):
        tried = _choose_tried_values(design, cycle)
        starts = product(*([Report(0, key, value) for value in values] for key, values in tried.items()))
        for start in ((), *islice(starts, MOST_STARTS)):
            trace: list[Event] = [*start, Wait(1)]
            reported = sum(event.at_ms == 0 for event in interleave_reports(design, trace)) - len(start)
            if reported >= MOST_AT_ONCE:
                names = ", ".join(f'"{key}"' for key in cycle)
                message = f"{names} set each other again and again in no time."
                advice = "Let one of them be set by an action alone, or put an approach or a ramp between them."
                yield Finding("never-settles", f"simulation.{cycle[0]}", message, advice, format_trace(trace))
                break


def _walk_cycles(design: Design) -> Iterator[tuple[str, ...]]:
    """Walk the groups of readouts that set each other through conditions, in the order of the design."""
    read: dict[str, set[str]] = {}
    for behaviour in design.simulation:
        if isinstance(behaviour, SetBy):
            read[behaviour.key] = _list_read(behaviour)
    reached = {key: _reach(read, key) for key in read}
    done: set[str] = set()
    for key in read:
        if key in reached[key] and key not in done:
            group = tuple(other for other in read if other in reached[key] and key in reached[other])
            done.update(group)
            yield group


def _list_read(behaviour: SetBy) -> set[str]:
    cases = [case for case in behaviour.cases if case.when is not None]
    values = {case.value for case in cases if isinstance(case.value, str)}
    return values | {item.key for case in cases if case.when is not None for _, item in walk_comparisons(case.when)}


def _reach(read: Mapping[str, set[str]], key: str) -> set[str]:
    reached: set[str] = set()
    ahead = list(read[key])
    while ahead:
        if (other := ahead.pop()) in read and other not in reached:
            reached.add(other)
            ahead += read[other]
    return reached


def _choose_tried_values(design: Design, cycle: tuple[str, ...]) -> Mapping[str, Sequence[int]]:
    """Choose the values to report for a cycle and for the readouts that its conditions read."""
    tried: dict[str, dict[int, None]] = {key: {design.index.readouts[key].initial: None} for key in cycle}
    for behaviour in design.simulation:
        if not isinstance(behaviour, SetBy) or behaviour.key not in cycle:
            continue
        for case in behaviour.cases:
            if isinstance(case.value, int):
                tried[behaviour.key][case.value] = None
            for _, item in walk_comparisons(case.when) if case.when is not None else ():
                if item.key in design.index.readouts:
                    values = tried.setdefault(item.key, {design.index.readouts[item.key].initial: None})
                    values |= dict.fromkeys((int(item.value), int(item.value) - 1))
    return {key: [value for value in values if value in get_domain(design, key)] for key, values in tried.items()}


# What nobody notices.


def _find_unread(design: Design) -> Iterator[Finding]:
    read = _list_read_keys(design)
    advice = "Show it in a menu or at home, read it in a condition, or remove this."
    reports: list[tuple[str, str]] = []
    for behaviour in design.simulation:
        # A countdown may serve only as a timer for the reports at its end.
        if not (isinstance(behaviour, Countdown) and any(end.readout in read for end in behaviour.ends)):
            reports.append((f"simulation.{behaviour.key}", behaviour.key))
        if isinstance(behaviour, Countdown):
            ends = enumerate(behaviour.ends)
            reports += [(f"simulation.{behaviour.key}.ends[{number}]", end.readout) for number, end in ends]
    reports += [(f"simulation_keys[{number}]", bound.readout) for number, bound in enumerate(design.simulation_keys)]
    for place, key in reports:
        if key not in read:
            yield Finding("unread-report", place, f'It reports "{key}", which nothing shows or reads.', advice)


def _list_read_keys(design: Design) -> set[str]:
    """List the keys whose values are shown or read."""
    rows = [f"{row.left} {row.right} {{{row.bar}}}" for row in design.home.rows]
    read = {key for row in rows for key in PLACEHOLDER.findall(row)}
    conditions = [lamp.lit_if for lamp in design.lamps]
    for menu in design.menus:
        for entry in menu.entries:
            read.add(entry.target)
            conditions += [entry.shown_if, entry.enabled_if]
    read |= {item.key for condition in conditions if condition is not None for _, item in walk_comparisons(condition)}
    for path, condition in walk_simulation_conditions(design.simulation):
        own = path.split(".")[1]
        read |= {item.key for _, item in walk_comparisons(condition) if item.key != own}
    for behaviour in design.simulation:
        read |= {operand for _, operand in walk_operands(behaviour) if isinstance(operand, str)}
    return read
