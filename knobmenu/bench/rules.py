"""What a field of a chain may hold: validators that also tell files, tables and the live screen what they accept."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator
from typing import Any

import attrs

from knobmenu.bench.errors import BenchError
from knobmenu.errors import Problem, nearest, one_of, quote_value

MOST_NUMBERS = 100_000
"""Most numbers in a recording."""


@attrs.frozen
class Number:
    """A finite number within bounds; a validator."""

    low: float
    """At least this, or above it."""
    high: float
    """At most this."""
    unit: str = ""
    """Its unit, for errors."""
    above: bool = False
    """Whether `low` itself is refused."""
    whole: bool = False
    """Whether it has to be whole."""
    advice: str = ""
    """What to do about a wrong value."""

    def __call__(self, instance: object, attribute: attrs.Attribute[Any], value: object) -> None:
        """Refuse a value that is out of bounds."""
        _refuse(self, attribute.name, value)

    def state_expected(self) -> str:
        """State the accepted values in words."""
        number = "a whole number" if self.whole else "a number"
        low = f"above {self.low:.10g} and at most" if self.above else f"from {self.low:.10g} to"
        return f"{number} {low} {self.high:.10g}{' ' + self.unit if self.unit else ''}"

    def accepts(self, value: object) -> bool:
        """Tell whether a value is within bounds."""
        return (
            isinstance(value, int if self.whole else (int, float))
            and not isinstance(value, bool)
            # Check the bounds first: an integer of hundreds of digits does not fit a float.
            and self.low <= value <= self.high
            and math.isfinite(value)
            and not (self.above and value == self.low)
        )

    def advise(self, value: object) -> str:
        """Say what to do about a wrong value."""
        return self.advice or ("write the number alone: its unit is in the key" if isinstance(value, str) else "")


@attrs.frozen
class Word:
    """One of a few words; a validator."""

    words: tuple[str, ...]
    """The words."""

    def __call__(self, instance: object, attribute: attrs.Attribute[Any], value: object) -> None:
        """Refuse a value that is not one of the words."""
        _refuse(self, attribute.name, value)

    def state_expected(self) -> str:
        """State the accepted values in words."""
        return one_of(self.words)

    def accepts(self, value: object) -> bool:
        """Tell whether a value is one of the words."""
        return isinstance(value, str) and value in self.words

    def advise(self, value: object) -> str:
        """Name the word that a mistyped one resembles."""
        return nearest(value, self.words) if isinstance(value, str) else ""


@attrs.frozen
class Numbers:
    """A list of numbers, such as a recording; a validator."""

    def __call__(self, instance: object, attribute: attrs.Attribute[Any], value: object) -> None:
        """Refuse a value that is not a list of numbers."""
        _refuse(self, attribute.name, value)

    def state_expected(self) -> str:
        """State the accepted values in words."""
        return f"a list of numbers, {MOST_NUMBERS} at most"

    def accepts(self, value: object) -> bool:
        """Tell whether a value is a list of numbers."""
        number = Number(-1e6, 1e9)
        return isinstance(value, list | tuple) and len(value) <= MOST_NUMBERS and all(map(number.accepts, value))

    def advise(self, value: object) -> str:
        """Say what to do about a wrong value."""
        return ""


Rule = Number | Word | Numbers
"""What a field may hold."""


def describe_problem(rule: Rule, path: str, value: object) -> Problem:
    """Describe a value that a rule refuses."""
    return Problem(path, quote_value(value), rule.state_expected(), rule.advise(value))


def _refuse(rule: Rule, name: str, value: object) -> None:
    if not rule.accepts(value):
        raise BenchError([describe_problem(rule, name, value)])


def list_rules(part: type[attrs.AttrsInstance]) -> dict[str, Rule]:
    """Return the rule of each field of a part of a chain, by the field's name."""
    return {
        field.name: field.validator
        for field in attrs.fields(part)
        if isinstance(field.validator, Number | Word | Numbers)
    }


@contextlib.contextmanager
def locate(path: str) -> Iterator[None]:
    """Locate problems raised in here, such as those of a part, in what contains it.

    Args:
        path: where the part is, such as ``reader``; a prefix that ends in ``_`` joins the name directly.
    """
    joint = "" if path.endswith("_") else "."
    try:
        yield
    except BenchError as error:
        raise BenchError([one._replace(path=f"{path}{joint}{one.path}") for one in error.problems]) from None
