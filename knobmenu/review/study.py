"""A study: the variants of a design that people try, the tasks, their order, and the questions."""

from __future__ import annotations

from typing import Literal

import attrs

from knobmenu.design.conditions import CONDITIONS, Condition, Operand
from knobmenu.design.fields import Boolean, Each, Instance, Key, OneOf, Paragraphs, Text, Whole, to_tuple
from knobmenu.errors import DesignError, Problem

FORMAT = 1
"""The version of the format that is read."""

SHORTEST_SCALE, LONGEST_SCALE = 2, 11
"""The fewest and the most answers of a scale."""

MOST_CONSENT = 4000
"""The longest text for consent: about four pages at 80 by 24. [characters]"""


@attrs.frozen
class Variant:
    """One of the designs that are compared."""

    key: str = attrs.field(validator=Key())
    design: str = attrs.field(validator=Text(1))
    """The design's file, relative to the study's folder."""
    label: str = attrs.field(default="", validator=Text())


@attrs.frozen
class Start:
    """The value of a setting when a task begins."""

    key: str = attrs.field(validator=Key())
    value: Operand
    """An integer, a Boolean for a switch, an option's key for a choice, or a text; checked against the designs."""


@attrs.frozen
class Task:
    """A task for the participant."""

    key: str = attrs.field(validator=Key())
    text: str = attrs.field(validator=Text(1))
    """The text that the participant reads."""
    done: Condition = attrs.field(validator=Instance(CONDITIONS, "a condition"))
    """The task has succeeded when this holds and no draft is open."""
    start: tuple[Start, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Start,), "a value"))
    )
    """Settings that differ from their initial values when the task begins; the device is at home."""
    give_up_s: int = attrs.field(default=180, validator=Whole(1, 3600))
    """The time after which the task has failed. [s]"""


@attrs.frozen
class Scale:
    """A question whose answer is a number from 1 to `answers`."""

    key: str = attrs.field(validator=Key())
    text: str = attrs.field(validator=Text(1))
    answers: int = attrs.field(default=7, validator=Whole(SHORTEST_SCALE, LONGEST_SCALE))
    lowest: str = attrs.field(default="", validator=Text())
    """The meaning of 1."""
    highest: str = attrs.field(default="", validator=Text())
    """The meaning of the highest answer."""
    when: Literal["task", "end"] = attrs.field(default="end", validator=OneOf(("task", "end")))
    """After each task, or at the end of each variant."""


@attrs.frozen
class FreeText:
    """A question whose answer is text."""

    key: str = attrs.field(validator=Key())
    text: str = attrs.field(validator=Text(1))
    when: Literal["task", "end"] = attrs.field(default="end", validator=OneOf(("task", "end")))
    """After each task, or at the end of each variant."""


Question = Scale | FreeText


@attrs.frozen
class Study:
    """A study, as written in its file."""

    name: str = attrs.field(validator=Text(1))
    variants: tuple[Variant, ...] = attrs.field(
        converter=to_tuple, validator=Each(Instance((Variant,), "a variant"), 1, 16)
    )
    tasks: tuple[Task, ...] = attrs.field(converter=to_tuple, validator=Each(Instance((Task,), "a task"), 1, 64))
    questions: tuple[Question, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Scale, FreeText), "a question"), 0, 64)
    )
    about: str = attrs.field(default="", validator=Text())
    consent: str = attrs.field(default="", validator=Paragraphs(MOST_CONSENT))
    """The text that the participant agrees to, with an empty line between paragraphs; empty: consent is not asked."""
    practice_s: int = attrs.field(default=60, validator=Whole(0, 3600))
    """How long the participant may try the knob before the first task; 0: no practice. [s]"""
    order: Literal["fixed", "counterbalanced"] = attrs.field(
        default="counterbalanced", validator=OneOf(("fixed", "counterbalanced"))
    )
    ease: bool = attrs.field(default=True, validator=Boolean())
    """Whether the single ease question is asked after each task."""
    usability_scale: bool = attrs.field(default=True, validator=Boolean())
    """Whether the ten-item usability scale is asked at the end of each variant."""
    format: int = attrs.field(default=FORMAT, validator=Whole(FORMAT, FORMAT))

    def __attrs_post_init__(self) -> None:
        """Refuse variants, tasks or questions with the same key."""
        for name, keys in (
            ("variants", [variant.key for variant in self.variants]),
            ("tasks", [task.key for task in self.tasks]),
            ("questions", [question.key for question in self.questions]),
        ):
            if twice := sorted({key for key in keys if keys.count(key) > 1}):
                raise DesignError([Problem(name, f'"{twice[0]}" twice', "each key once")])


def make_balanced_square(count: int) -> tuple[tuple[int, ...], ...]:
    """Make a balanced Latin square of numbers from 0, with one row for each participant in turn.

    Every number occurs equally often in each column and directly after each other number (E. J. Williams, Australian
    Journal of Scientific Research A2, 1949, 149-168; from memory). An odd count above 1 needs twice as many rows.

    Args:
        count: The number of things to order, at least 1.
    """
    # 0, 1, n-1, 2, n-2, …: all the differences between neighbours differ, modulo the count.
    first = [(place + 1) // 2 if place % 2 else -(place // 2) for place in range(count)]
    rows = tuple(tuple((number + row) % count for number in first) for row in range(count))
    return rows if count % 2 == 0 or count == 1 else (*rows, *(row[::-1] for row in rows))


@attrs.frozen
class Trial:
    """One task with one variant."""

    variant: str
    task: str


def list_trials(study: Study, participant: int) -> tuple[Trial, ...]:
    """List the trials of a participant in order: all tasks with one variant, then with the next.

    The order of variants is counterbalanced over consecutive participants, that of tasks over whole rounds of them.

    Args:
        study: The study.
        participant: The number of the participant, from 0.
    """
    if study.order == "fixed":
        return tuple(Trial(variant.key, task.key) for variant in study.variants for task in study.tasks)
    squares = make_balanced_square(len(study.variants)), make_balanced_square(len(study.tasks))
    variants = squares[0][participant % len(squares[0])]
    tasks = squares[1][participant // len(squares[0]) % len(squares[1])]
    return tuple(Trial(study.variants[variant].key, study.tasks[task].key) for variant in variants for task in tasks)
