"""Find values of settings that no turn of the knob reaches."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence

from knobmenu.analysis.abstraction import TooLargeError, find_held_alone, find_tied
from knobmenu.analysis.check.findings import Finding
from knobmenu.analysis.check.proofs import report_undecided
from knobmenu.analysis.check.subject import Subject
from knobmenu.analysis.sites import HOME
from knobmenu.design.domains import get_domain
from knobmenu.design.kinds import get_initial_number
from knobmenu.errors import one_of

MOST_VALUES = 4096
"""Settings with more values than this that only held turns adjust are not decided."""


def check_values(subject: Subject) -> Iterator[Finding]:
    """Find values that can never be set.

    An editor reaches every value between its present limits, so only two kinds of setting are examined: those limited
    by other settings, and those that only held turns at home adjust, by several steps each.
    """
    design, offered = subject.design, subject.sites.of_target
    coarse = [key for key in find_held_alone(design) if offered.get(key) == (HOME,)]
    for key in coarse:
        try:
            yield from _find_jumped_over(subject, key)
        except TooLargeError as error:
            yield report_undecided(f"settings.{key}", error)
    limited = [
        key
        for key in design.index.limits
        if key in offered and key not in coarse and len(find_tied(design, key)) > 1
        and not any(other in find_held_alone(design) for other in find_tied(design, key))
    ]  # fmt: skip
    cuts = {
        key: (get_domain(design, key)[1], get_domain(design, key)[-1])
        for limited_key in limited
        for key in find_tied(design, limited_key)
    }
    ends = Subject(design, cuts)
    for key in limited:
        try:
            yield from _find_beyond_limits(ends, key)
        except TooLargeError as error:
            yield report_undecided(f"settings.{key}", error)


def _find_jumped_over(subject: Subject, key: str) -> Iterator[Finding]:
    design = subject.design
    domain = get_domain(design, key)
    if len(domain) > MOST_VALUES:
        raise TooLargeError(len(domain))
    reached = _find_reached_values(Subject(design, {key: tuple(domain[1:])}), key)
    missing = [value for value in domain if value not in reached]
    if missing:
        yield Finding(
            "unsettable",
            f"settings.{key}",
            f'{len(missing)} of {len(domain)} values of "{key}" can never be set, such as {missing[0]}:'
            " only held turns change it, by 10 steps each.",
            "List it in a menu, or let turning at home change it.",
        )


def _find_reached_values(subject: Subject, key: str) -> set[int]:
    """Find the lowest value of each class that a setting can reach."""
    everything = subject.get_searches(subject.build_cone(keys=(key,))).everything
    space, values = everything.model.space, everything.get_all_states()
    place = next(at for at, variable in enumerate(space.variables) if key in variable.keys)
    variable = space.variables[place]
    states = (state for state in range(len(variable.states)) if values & space.get_slice(place, state))
    return {variable.find_class(key, state).low for state in states}


def _find_beyond_limits(ends: Subject, key: str) -> Iterator[Finding]:
    design, domain = ends.design, get_domain(ends.design, key)
    reached = _find_reached_values(ends, key)
    partners = [other for other in find_tied(design, key) if other != key]
    for end, sign, there in (
        (domain[-1], "above", max(reached) >= domain[-1]),
        (domain[0], "below", min(reached) <= domain[0]),
    ):
        if not there:
            limit = _find_farthest(ends, key, domain, upward=sign == "above")
            yield Finding(
                "unsettable",
                f"settings.{key}",
                f'Values of "{key}" {sign} {limit} can never be set, although it goes to {end}.',
                f"Look at {one_of(partners)}, which it may not pass and which cannot be set far enough.",
            )


def _find_farthest(ends: Subject, key: str, domain: Sequence[int], upward: bool) -> int:
    """Find the farthest value that a setting can reach, by bisection."""
    low, high = 0, len(domain) - 1
    start = bisect_left(domain, get_initial_number(ends.design.index.numeric[key]))
    low, high = (start, high) if upward else (low, start)
    while low < high:
        middle = (low + high + 1) // 2 if upward else (low + high) // 2
        cut = domain[middle if upward else middle + 1]
        reached = _find_reached_values(Subject(ends.design, {key: (cut,)}), key)
        if upward:
            low, high = (middle, high) if max(reached) >= cut else (low, middle - 1)
        else:
            low, high = (low, middle) if min(reached) < cut else (middle + 1, high)
    return domain[low]
