"""Validators for single fields of a design.

Each validator checks one value by itself, describes what it expects in English and never uses the instance: so attrs
can run it when an object is built, and a loader can run it alone to collect the problems of a whole file. Rules
between fields are in the classes, rules between objects in `knobmenu.design.rules`. Validators are plain classes and
not attrs classes, each of which would add a fraction of a millisecond to every start of the program.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Protocol

from knobmenu.errors import DesignError, Problem, nearest, one_of, quote_value

INT32_LOW = -(2**31)
INT32_HIGH = 2**31 - 1

MOST_TEXT = 200
"""The default greatest length of a text in a design. [characters]"""

_KEY = re.compile(r"[a-z][a-z0-9]*(?:[_-][a-z0-9]+)*\Z")
MOST_KEY = 40


class _Field(Protocol):
    """What a validator uses of the field that it checks."""

    @property
    def name(self) -> str: ...


def _make_error(attribute: _Field, value: object, expected: str, advice: str = "") -> DesignError:
    return DesignError([Problem(attribute.name, quote_value(value), expected, advice)])


class Whole:
    """A whole number within bounds, both inclusive."""

    def __init__(self, low: int = INT32_LOW, high: int = INT32_HIGH) -> None:
        self.low = low
        self.high = high

    def __str__(self) -> str:
        if (self.low, self.high) == (INT32_LOW, INT32_HIGH):
            return "a 32-bit integer"
        return f"a whole number from {self.low} to {self.high}"

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse anything but a whole number in range; ``True`` is not a number here."""
        if type(value) is not int or not self.low <= value <= self.high:
            raise _make_error(attribute, value, str(self), _advise_whole(value))


class WholeOrKey:
    """A 32-bit integer, or the key of the setting whose value is used."""

    def __str__(self) -> str:
        return "a 32-bit integer, or the key of another setting"

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse anything else."""
        if type(value) is int and INT32_LOW <= value <= INT32_HIGH:
            return
        if isinstance(value, str) and is_key(value):
            return
        raise _make_error(attribute, value, str(self), _advise_whole(value))


def _advise_whole(value: object) -> str:
    """Suggest how to write the whole number that was most likely meant."""
    if isinstance(value, float):
        return "values are whole numbers: 12.5 with decimals = 1 is written 125"
    if isinstance(value, str) and value.removeprefix("-").isdecimal():
        return "remove the quotes"
    return ""


class OneOf:
    """One of the given words."""

    def __init__(self, words: tuple[str, ...], renamed: tuple[tuple[str, str], ...] = ()) -> None:
        self.words = words
        self.renamed = renamed
        """Words of earlier versions, each with its replacement."""

    def __str__(self) -> str:
        return one_of(self.words)

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse any other word and suggest the nearest."""
        if value not in self.words:
            advice = nearest(value, self.words) if isinstance(value, str) else ""
            advice = next((f'renamed to "{new}"' for old, new in self.renamed if old == value), advice)
            raise _make_error(attribute, value, str(self), advice)


class Text:
    """Text of a bounded length, without control characters."""

    def __init__(self, shortest: int = 0, longest: int = MOST_TEXT) -> None:
        self.shortest = shortest
        self.longest = longest

    def __str__(self) -> str:
        least = "text" if self.shortest == 0 else f"text of {self.shortest}"
        return (
            f"{least} to {self.longest} characters" if self.shortest else f"text of at most {self.longest} characters"
        )

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse other types, other lengths and unprintable characters."""
        if not isinstance(value, str) or not self.shortest <= len(value) <= self.longest:
            raise _make_error(attribute, value, str(self))
        if not value.isprintable():
            bad = next(character for character in value if not character.isprintable())
            raise _make_error(attribute, value, "printable characters", f"remove U+{ord(bad):04X}")


class Paragraphs(Text):
    """Text of a bounded length in one or more lines, without other control characters."""

    def __init__(self, longest: int) -> None:
        super().__init__(longest=longest)

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse other types, longer text, blank text and unprintable characters."""
        if not isinstance(value, str):
            raise _make_error(attribute, value, str(self))
        if len(value) > self.longest:
            advice = f"shorten it by {len(value) - self.longest} characters"
            raise DesignError([Problem(attribute.name, f"{len(value)} characters", str(self), advice)])
        if value and not value.strip():
            raise _make_error(attribute, value, "text that is not blank", "leave it out, or write something to read")
        if bad := next((character for character in value if not character.isprintable() and character != "\n"), ""):
            raise _make_error(attribute, value, "printable characters and line ends", f"remove U+{ord(bad):04X}")


def is_key(text: str) -> bool:
    """Return whether a text is a key: ``a-z``, ``0-9``, words joined by ``_`` or ``-``, 40 characters at most."""
    return len(text) <= MOST_KEY and _KEY.match(text) is not None


KEY_RULE = "a key: lower-case letters and digits, words joined by _ or -, a letter first, 40 characters at most"


class Key:
    """A key, or nothing where `optional`."""

    def __init__(self, optional: bool = False) -> None:
        self.optional = optional

    def __str__(self) -> str:
        return KEY_RULE + (", or nothing" if self.optional else "")

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse anything that is not a key and suggest a similar one."""
        if value == "" and self.optional:
            return
        if not isinstance(value, str) or not is_key(value):
            tidy = re.sub(r"[^a-z0-9]+", "_", value.lower()).strip("_")[:MOST_KEY] if isinstance(value, str) else ""
            raise _make_error(attribute, value, str(self), f'write "{tidy}"' if is_key(tidy) else "")


class Boolean:
    """True or false."""

    def __str__(self) -> str:
        return "true or false"

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse anything else, including 0 and 1."""
        if not isinstance(value, bool):
            raise _make_error(attribute, value, str(self))


def to_tuple(items: Iterable[Any]) -> tuple[Any, ...]:
    """Convert an iterable to a tuple; leave texts, mappings and everything else unchanged for `Each` to refuse."""
    if isinstance(items, str | bytes | Mapping) or not isinstance(items, Iterable):
        return items  # type: ignore[return-value]
    return tuple(items)


def to_parts(kind: Callable[[str], Any], items: object) -> object:
    """Convert a list or a tuple to a tuple of parts, and bare texts in it to parts; `Each` refuses others."""
    if isinstance(items, list | tuple):
        return tuple(kind(item) if isinstance(item, str) else item for item in items)
    return items


class Each:
    """A sequence of a bounded length whose items all pass `rule`."""

    def __init__(self, rule: Any, fewest: int = 0, most: int = 100_000) -> None:
        self.rule = rule
        self.fewest = fewest
        self.most = most

    def __str__(self) -> str:
        return f"{self._describe_amount()}, each {self.rule}"

    def _describe_amount(self) -> str:
        if self.fewest == self.most:
            return f"{self.fewest} items"
        return f"{self.fewest} to {self.most} items" if self.fewest else f"at most {self.most} items"

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse a wrong length, then report each wrong item with its index."""
        if not isinstance(value, tuple):
            raise _make_error(attribute, value, "a list")
        if not self.fewest <= len(value) <= self.most:
            amount = "1 item" if len(value) == 1 else f"{len(value)} items"
            raise DesignError([Problem(attribute.name, amount, self._describe_amount())])
        problems: list[Problem] = []
        for index, item in enumerate(value):
            try:
                self.rule(instance, attribute, item)
            except DesignError as error:
                problems += [
                    problem._replace(path=f"{attribute.name}[{index}]{problem.path.removeprefix(attribute.name)}")
                    for problem in error.problems
                ]
        DesignError.raise_any(problems)


class Instance:
    """An object of one of the given classes."""

    def __init__(self, classes: tuple[type, ...], words: str) -> None:
        self.classes = classes
        self.words = words

    def __str__(self) -> str:
        return self.words

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Refuse an object of any other class."""
        if not isinstance(value, self.classes):
            raise _make_error(attribute, value, self.words)


class Optional:
    """Nothing, or what passes `rule`."""

    def __init__(self, rule: Any) -> None:
        self.rule = rule

    def __str__(self) -> str:
        return f"{self.rule}, or nothing"

    def __call__(self, instance: object, attribute: _Field, value: Any) -> None:
        """Accept None; apply the rule to anything else."""
        if value is not None:
            self.rule(instance, attribute, value)
