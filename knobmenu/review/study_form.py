"""Studies as plain data, and the checks that a study must pass before a sitting."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from typing import Any

import attrs

from knobmenu.analysis.cost.fast import is_accelerated
from knobmenu.analysis.cost.routes import Model, Route, find_least_route_to_condition
from knobmenu.codec.conditions import Conditions
from knobmenu.codec.forms import Found, Keyed, Plain, Table, Tagged, join_key, join_paths, make_form_error
from knobmenu.design.conditions import All, resolve
from knobmenu.design.kinds import get_initial_value
from knobmenu.design.rules import find_condition_problems
from knobmenu.design.whole import Design, resolve_operand
from knobmenu.errors import DesignError, Problem, nearest, one_of, quote_value
from knobmenu.machine.changing import assign
from knobmenu.machine.state import State, get_value, make_initial_state
from knobmenu.machine.stored import UnfitError, restore, store
from knobmenu.machine.values import Value
from knobmenu.machine.walking import condition_holds
from knobmenu.review.study import FORMAT, FreeText, Scale, Start, Study, Task, Variant
from knobmenu.review.trail import Trail, make_trail

MOST_STATES = 200_000
"""The number of states after which the search for the least way of a task stops."""


@attrs.frozen
class _Starts:
    """A table from keys of settings to values."""

    def build(self, value: Plain) -> tuple[Start, ...]:
        """Make the values."""
        if type(value) is not dict:
            raise make_form_error(quote_value(value), "a table")
        return tuple(Start(key, item) for key, item in value.items())

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Collect malformed keys; whether the settings exist is checked against the designs."""
        if not isinstance(value, dict):
            found.note(path, quote_value(value), "a table from settings to values", "write { volume = 3 }")
            return None
        starts = []
        for key, item in value.items():
            try:
                starts.append(Start(key, item))
            except DesignError as error:
                found.problems += [problem._replace(path=join_key(path, key)) for problem in error.problems]
        return tuple(starts)

    def write(self, part: Any) -> Plain:
        """Convert the values to a table by key."""
        return {start.key: start.value for start in part}


_TEXT = {"text": "unnamed"}
_VARIANT = {"design": "unnamed"}
_TASK: dict[str, Any] = {**_TEXT, "done": All(())}

STUDY = Table(
    Study,
    {
        "variants": Keyed(Table(Variant, {}, _VARIANT, keyed=True, bare="design"), "variant"),
        "tasks": Keyed(Table(Task, {"done": Conditions(), "start": _Starts()}, _TASK, keyed=True), "task"),
        "questions": Keyed(
            Tagged({"scale": Table(Scale, {}, _TEXT, keyed=True), "text": Table(FreeText, {}, _TEXT, keyed=True)}),
            "question",
        ),
    },
    {"name": "unnamed", "variants": (Variant("unnamed", "unnamed"),), "tasks": (Task("unnamed", **_TASK),)},
)
"""The form of a study."""


@attrs.frozen(slots=False)
class Setup:
    """A study that is ready to run, with its designs and the least way of each task."""

    study: Study
    designs: Mapping[str, Design]
    """The design of each variant."""
    starts: Mapping[tuple[str, str], State]
    """The start state of each variant and task."""
    least: Mapping[tuple[str, str], Route | None]
    """The least way of each variant and task without acceleration; None if the search stopped."""

    @cached_property
    def trails(self) -> Mapping[tuple[str, str], Trail | None]:
        """The trail of the least way of each variant and task; None if it is unknown.

        The least way includes fast turning if that takes fewer detents.
        """
        return {
            (variant, task): None
            if route is None
            else _compute_trail(self.designs[variant], self.get_task(task), route)
            for (variant, task), route in self.least.items()
        }

    @cached_property
    def prepared(self) -> Mapping[tuple[str, str], Design]:
        """The design that a participant gets, for each variant and task."""
        return {
            (variant, task): prepare_design(self.designs[variant], self.get_task(task)) for variant, task in self.least
        }

    def get_task(self, key: str) -> Task:
        """Return the task with a key."""
        return next(task for task in self.study.tasks if task.key == key)


def read_study(plain: dict[str, Any], open_design: Callable[[str], Design]) -> Setup:
    """Read a study from plain data, open its designs, and prove that every task can be done with every variant.

    Args:
        plain: The contents of a file, as `knobmenu.files.studies` parses it.
        open_design: Opens the design of a file that the study names.

    Raises:
        DesignError: The data is not a study, or the study cannot run; lists every problem.
    """
    version = plain.get("format", FORMAT)
    if type(version) is int and version > FORMAT:
        raise DesignError([Problem("format", quote_value(version), str(FORMAT), "this study is from a newer knobmenu")])
    found = Found()
    study = STUDY.collect(plain, "", found)
    if study is None or found.problems:
        raise DesignError(found.problems)
    designs: dict[str, Design] = {}
    for variant in study.variants:
        try:
            designs[variant.key] = open_design(variant.design)
        except DesignError as error:
            path = f"variants.{variant.key}.design"
            got = "a design that cannot be used: " + "; ".join(map(str, error.problems[:3]))
            found.note(path, got, "", "correct that file, or name another")
    starts: dict[tuple[str, str], State] = {}
    least: dict[tuple[str, str], Route | None] = {}
    for variant, design in designs.items():
        model = Model(design)
        for task in study.tasks:
            problems = list(_find_misfits(design, task))
            if not problems:
                start = make_start_state(design, task)
                starts[variant, task.key] = start
                problems, least[variant, task.key] = _prove(model, start, task)
            found.problems += [_name_variant(problem, variant) for problem in problems]
    if found.problems:
        raise DesignError(found.problems)
    return Setup(study, designs, starts, least)


def make_start_state(design: Design, task: Task) -> State:
    """Make the start state of a task: a new device with the settings of the task."""
    state = make_initial_state(design)
    values = state.values
    for start in task.start:
        values = assign(design, values, start.key, _restore_value(design, start))
    return state._replace(values=values)


def prepare_design(design: Design, task: Task) -> Design:
    """Return the design that a participant gets, whose settings at power-on are those of the task."""
    state = make_start_state(design, task)
    settings = (
        attrs.evolve(setting, initial=store(design.index, setting.key, get_value(design, state, setting.key))["value"])
        for setting in design.settings
    )
    return attrs.evolve(design, settings=tuple(settings))


def is_done(design: Design, state: State, task: Task) -> bool:
    """Return whether a task has succeeded: its condition holds and no draft is open."""
    index = design.index
    judged = resolve(
        task.done, lambda key, operand: (index.numbers[key], resolve_operand(index.settings, key, operand))
    )
    return state.focus is None and condition_holds(design, state, judged)


def _restore_value(design: Design, start: Start) -> Value:
    """Convert the value of a setting in a start state.

    Raises:
        UnfitError: The setting cannot have this value.
    """
    setting = design.index.settings[start.key]
    item = {**store(design.index, start.key, get_initial_value(setting)), "value": start.value}
    return restore(design.index, setting, item)


def _find_misfits(design: Design, task: Task) -> Iterator[Problem]:
    """Find what in a task does not fit a design."""
    path = f"tasks.{task.key}"
    yield from find_condition_problems(design, task.done, f"{path}.done")
    known, fits = design.index.settings, True
    for start in task.start:
        place = join_key(f"{path}.start", start.key)
        if start.key not in known:
            yield Problem(place, f'unknown setting "{start.key}"', one_of(known), nearest(start.key, known))
            fits = False
            continue
        try:
            _restore_value(design, start)
        except UnfitError as error:
            yield Problem(place, quote_value(start.value), f'a value of "{start.key}"', error.reason)
            fits = False
    if fits:
        state = make_start_state(design, task)
        for start in task.start:
            if get_value(design, state, start.key) != _restore_value(design, start):
                place = join_key(f"{path}.start", start.key)
                yield Problem(
                    place, "a value that another value of this start state excludes", "values that fit together"
                )


def _prove(model: Model, start: State, task: Task) -> tuple[list[Problem], Route | None]:
    """Find the least way of a task, or the problems that make the task unusable."""
    path = join_paths(f"tasks.{task.key}", "done")
    if is_done(model.design, start, task):
        return [
            Problem(path, "a condition that holds when the task begins", "one that the participant must reach")
        ], None
    try:
        route = find_least_route_to_condition(model, start, task.done, reports=True, most_states=MOST_STATES)
    except OverflowError:
        return [], None
    if route is None:
        advice = "change the condition, the start state or the design"
        return [Problem(path, "an impossible task: no way leads from its start to this condition", "", advice)], None
    return [], route


def _compute_trail(design: Design, task: Task, route: Route) -> Trail | None:
    """Compute the trail of the least way, and the fewest gestures of any attempt; None if they are unknown.

    Args:
        design: The design.
        task: The task.
        route: The least way without acceleration.
    """
    fast = any(is_accelerated(setting, design.knob) for setting in design.settings)

    def find(model: Model) -> Route:
        found = find_least_route_to_condition(
            model, route.start, task.done, reports=True, fast=fast, most_states=MOST_STATES
        )
        return found or route

    try:
        least = find(Model(design)) if fast else route
        # Participants may wait for the idle time instead of a press, and for a report instead of a turn.
        waits = design.idle.after_ms or design.readouts
        fewest = find(Model(design, counts_gestures=True)) if waits else least
    except OverflowError:
        return None
    return make_trail(least, fewest.tally.gestures)


def _name_variant(problem: Problem, variant: str) -> Problem:
    """Add the variant to a problem of a task."""
    got = f'{problem.got} (with variant "{variant}")'
    return problem._replace(got=got)
