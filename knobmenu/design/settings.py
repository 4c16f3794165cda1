"""What the user of the device can set: seven kinds of setting, each with its own editor."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal

import attrs

from knobmenu.design.fields import (
    INT32_HIGH,
    INT32_LOW,
    Boolean,
    Each,
    Instance,
    Key,
    OneOf,
    Optional,
    Text,
    Whole,
    WholeOrKey,
    to_tuple,
)
from knobmenu.design.generators import Generator, generate_values
from knobmenu.errors import DesignError, Problem, quote_value
from knobmenu.structure import Structure

Applies = Literal["live", "on-commit"]
Draft = Literal["revert", "commit", "nothing"]
Confirm = Literal["none", "ask", "hold"]
Ends = Literal["stop", "wrap"]

APPLIES: tuple[str, ...] = ("live", "on-commit")
DRAFT: tuple[str, ...] = ("revert", "commit", "nothing")
CONFIRM: tuple[str, ...] = ("none", "ask", "hold")
ENDS: tuple[str, ...] = ("stop", "wrap")

MOST_DECIMALS = 9


@attrs.frozen(kw_only=True, init=False, eq=False, repr=False)
class _Setting(Structure):
    """Fields of every kind of setting. Only subclasses are instantiated."""

    key: str = attrs.field(validator=Key())
    """Its name in conditions, limits, menus, saved states and firmware."""
    label: str = attrs.field(validator=Text(1))
    """Its name on the display, in the design's first language."""
    short: str = attrs.field(default="", validator=Text())
    """A shorter label for displays that cannot show the label; empty: the label."""
    applies: Applies = attrs.field(default="on-commit", validator=OneOf(APPLIES))
    """``live``: each detent takes effect immediately, and reverting restores the value; ``on-commit``: the value takes
    effect when a press commits it."""
    on_long_press: Draft = attrs.field(default="revert", validator=OneOf(DRAFT))
    """What a long press does to the draft; ``nothing``: it is ignored."""
    on_idle: Literal["revert", "commit"] = attrs.field(default="revert", validator=OneOf(DRAFT[:2]))
    """What happens to the draft when the device idles."""
    saved: bool = attrs.field(default=True, validator=Boolean())
    """Whether non-volatile memory keeps it."""
    confirm: Confirm = attrs.field(default="none", validator=OneOf(CONFIRM))
    """What must precede a change: nothing, a question, or holding the knob."""
    question: str = attrs.field(default="", validator=Text())
    """The text of that question; empty: the label."""
    hazard: str = attrs.field(default="", validator=Text())
    """The text of a caution if changing it can hurt someone; empty: it cannot."""


def to_name_pairs(names: Iterable[tuple[int, str]]) -> tuple[tuple[int, str], ...]:
    """Convert names of values to a tuple of pairs."""
    return tuple((value, text) for value, text in names)


def check_names(instance: object, attribute: attrs.Attribute[Any], value: tuple[tuple[int, str], ...]) -> None:
    """Refuse keys that are not values, a value named twice, and names that are empty or too long; a validator."""
    problems: list[Problem] = []
    seen: set[int] = set()
    for number, text in value:
        path = f"{attribute.name}.{number}"
        if type(number) is not int or not INT32_LOW <= number <= INT32_HIGH:
            problems.append(Problem(path, quote_value(number), str(Whole())))
        elif number in seen:
            problems.append(Problem(path, "the value again", "each value once"))
        if not isinstance(text, str) or not 1 <= len(text) <= 40:
            problems.append(Problem(path, quote_value(text), "text of 1 to 40 characters"))
        seen.add(number)
    DesignError.raise_any(problems)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Number(_Setting):
    """A number in equal steps.

    Its values form a grid: `low` and every `step` from there. If `low` is another setting, the grid starts at
    `initial`.
    """

    low: int | str = attrs.field(validator=WholeOrKey())
    """Lowest value, or the key of the setting that it may not go below. [units of the last place]"""
    high: int | str = attrs.field(validator=WholeOrKey())
    """Highest value, or the key of the setting that it may not go above. [units of the last place]"""
    initial: int = attrs.field(validator=Whole())
    """Its value when the device is new. [units of the last place]"""
    step: int = attrs.field(default=1, validator=Whole(1, INT32_HIGH))
    """By how much one detent changes it. [units of the last place]"""
    decimals: int = attrs.field(default=0, validator=Whole(0, MOST_DECIMALS))
    """Places after the point: 125 with one decimal is 12.5."""
    unit: str = attrs.field(default="", validator=Text(0, 12))
    """Shown after the value."""
    ends: Ends = attrs.field(default="stop", validator=OneOf(ENDS))
    """Whether turning beyond an end stops there or continues at the other end."""
    accelerates: bool = attrs.field(default=False, validator=Boolean())
    """Whether the knob's acceleration applies."""
    bar: bool = attrs.field(default=False, validator=Boolean())
    """Whether a bar is drawn beside the value if there is room."""
    names: tuple[tuple[int, str], ...] = attrs.field(default=(), converter=to_name_pairs, validator=check_names)
    """Words shown in place of certain values, such as ``(0, "Off")``."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Scale(_Setting):
    """One of an ordered list of values with unequal steps."""

    values: tuple[int, ...] = attrs.field(default=(), converter=to_tuple, validator=Each(Whole()))
    """The list, strictly ascending; nothing if `generator` makes it. [units of the last place]"""
    generator: Generator | None = attrs.field(default=None, validator=Optional(Instance((Generator,), "a generator")))
    """The rule that makes the list."""
    initial: int = attrs.field(validator=Whole())
    """Its value when the device is new. [units of the last place]"""
    low: int | str | None = attrs.field(default=None, validator=Optional(WholeOrKey()))
    """A limit within the list, or the key of the setting that it may not go below."""
    high: int | str | None = attrs.field(default=None, validator=Optional(WholeOrKey()))
    """A limit within the list, or the key of the setting that it may not go above."""
    decimals: int = attrs.field(default=0, validator=Whole(0, MOST_DECIMALS))
    """Places after the point."""
    unit: str = attrs.field(default="", validator=Text(0, 12))
    """Shown after the value."""
    ends: Ends = attrs.field(default="stop", validator=OneOf(ENDS))
    """Whether turning beyond an end stops there or continues at the other end."""
    accelerates: bool = attrs.field(default=False, validator=Boolean())
    """Whether the knob's acceleration applies."""
    bar: bool = attrs.field(default=False, validator=Boolean())
    """Whether a bar is drawn beside the value if there is room."""
    names: tuple[tuple[int, str], ...] = attrs.field(default=(), converter=to_name_pairs, validator=check_names)
    """Words shown in place of certain values."""
    steps: tuple[int, ...] = attrs.field(init=False, repr=False, eq=False)
    """The list, given or generated. [units of the last place]"""

    def __attrs_post_init__(self) -> None:
        """Generate the list once; refuse a missing, ambiguous, short or unsorted list."""
        steps = self.values if self.generator is None else generate_values(self.generator)
        object.__setattr__(self, "steps", steps)
        problems = []
        if bool(self.values) == (self.generator is not None):
            both = "both values and a generator" if self.values else "neither values nor a generator"
            problems.append(Problem("values", both, "a list of values, or a generator, and not both"))
        elif len(steps) < 2:
            problems.append(Problem("values", f"{len(steps)} values", "at least 2"))
        problems += [
            Problem(f"values[{index}]", str(value), f"more than {before}, the value before it")
            for index, (before, value) in enumerate(zip(self.values, self.values[1:], strict=False), 1)
            if value <= before
        ]
        DesignError.raise_any(problems)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Option(Structure):
    """One option of a choice."""

    key: str = attrs.field(validator=Key())
    """Its name in conditions, saved states and firmware."""
    label: str = attrs.field(validator=Text(1))
    """Its name on the display."""
    short: str = attrs.field(default="", validator=Text())
    """A shorter label for displays that cannot show the label."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Choice(_Setting):
    """One of several named options. Its value is the option's place in the list, from 0."""

    options: tuple[Option, ...] = attrs.field(
        converter=to_tuple, validator=Each(Instance((Option,), "an option"), 2, 10_000)
    )
    """The options, in order."""
    initial: str = attrs.field(default="", validator=Key(optional=True))
    """The key of the selected option when the device is new; empty: the first."""
    ends: Ends = attrs.field(default="stop", validator=OneOf(ENDS))
    """Whether turning beyond an end stops there or continues at the other end."""

    def __attrs_post_init__(self) -> None:
        """Refuse two options of one key."""
        _refuse_repeats("options", [option.key for option in self.options])


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Switch(_Setting):
    """On or off; a press toggles it immediately. Its value is 1 or 0."""

    initial: bool = attrs.field(default=False, validator=Boolean())
    """Whether it is on when the device is new."""
    on_label: str = attrs.field(default="On", validator=Text(1))
    """The text shown while it is on."""
    off_label: str = attrs.field(default="Off", validator=Text(1))
    """The text shown while it is off."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class TextSetting(_Setting):
    """A short text, entered character by character.

    Turning picks a character, or one of two marks: *delete* removes the last character, *done* commits. A press enters
    what is picked. The press that fills the text also commits it.
    """

    characters: str = attrs.field(default=" ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-", validator=Text(2))
    """The characters to pick from, in this order; *delete* and *done* follow."""
    longest: int = attrs.field(default=8, validator=Whole(1, 40))
    """The greatest length of the text. [characters]"""
    initial: str = attrs.field(default="", validator=Text(0, 40))
    """The text when the device is new."""
    after_each: Literal["stay", "first"] = attrs.field(default="stay", validator=OneOf(("stay", "first")))
    """The pick after a character has been entered: unchanged, or the first character again."""

    def __attrs_post_init__(self) -> None:
        """Refuse repeated characters, and an initial text that could not be entered."""
        problems = []
        for index, character in enumerate(self.characters):
            if character in self.characters[:index]:
                problems.append(Problem("characters", f'"{character}" again', "each character once"))
        foreign = [character for character in self.initial if character not in self.characters]
        if foreign or len(self.initial) > self.longest:
            problems.append(
                Problem(
                    "initial",
                    quote_value(self.initial),
                    f"at most {self.longest} characters, each one of {quote_value(self.characters)}",
                )
            )
        DesignError.raise_any(problems)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Clock(_Setting):
    """A time of day or a duration, edited field by field; each field wraps independently.

    Its value is in seconds if it has a field of seconds, in minutes otherwise.
    """

    fields: Literal["hours-minutes", "hours-minutes-seconds", "minutes-seconds"] = attrs.field(
        default="hours-minutes",
        validator=OneOf(("hours-minutes", "hours-minutes-seconds", "minutes-seconds")),
    )
    """Its fields, first to last."""
    most: int = attrs.field(default=23, validator=Whole(1, 99))
    """Largest value of its first field; 23 gives a time of day. [hours or minutes]"""
    initial: int = attrs.field(default=0, validator=Whole(0, INT32_HIGH))
    """Its value when the device is new. [s, or min without a field of seconds]"""

    def __attrs_post_init__(self) -> None:
        """Refuse an initial value beyond the largest time."""
        if self.initial > self.highest:
            raise DesignError([Problem("initial", str(self.initial), f"at most {self.highest}")])

    @property
    def sizes(self) -> tuple[int, ...]:
        """The number of values of each field, first to last."""
        return (self.most + 1, *(60 for _ in self.fields.split("-")[1:]))

    @property
    def highest(self) -> int:
        """Its largest value. [s, or min without a field of seconds]"""
        largest = 1
        for size in self.sizes:
            largest *= size
        return largest - 1


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Digits(_Setting):
    """A number edited digit by digit, as on a tuner: a detent changes the current digit, with carry."""

    low: int = attrs.field(validator=Whole(0, INT32_HIGH))
    """Lowest value. [units of the last place]"""
    high: int = attrs.field(validator=Whole(1, INT32_HIGH))
    """Highest value. [units of the last place]"""
    initial: int = attrs.field(validator=Whole(0, INT32_HIGH))
    """Its value when the device is new. [units of the last place]"""
    decimals: int = attrs.field(default=0, validator=Whole(0, MOST_DECIMALS))
    """Places after the point."""
    unit: str = attrs.field(default="", validator=Text(0, 12))
    """Shown after the value."""

    def __attrs_post_init__(self) -> None:
        """Refuse an empty range, and an initial value outside of it."""
        problems = []
        if self.high <= self.low:
            problems.append(Problem("high", str(self.high), f"more than low, which is {self.low}"))
        elif not self.low <= self.initial <= self.high:
            problems.append(Problem("initial", str(self.initial), f"from low to high, {self.low} to {self.high}"))
        DesignError.raise_any(problems)

    @property
    def places(self) -> int:
        """The number of digits that are shown and edited."""
        return max(len(str(self.high)), self.decimals + 1)


def _refuse_repeats(path: str, keys: list[str]) -> None:
    problems = [
        Problem(f"{path}[{index}].key", f'"{key}" again', "each key once")
        for index, key in enumerate(keys)
        if key in keys[:index]
    ]
    DesignError.raise_any(problems)
