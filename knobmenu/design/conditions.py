"""Conditions over settings and readouts: when an entry is shown or enabled, when a lamp is lit.

A designer writes names (`Equal("mode", "auto")`); `resolve` turns them into whole numbers, using the positions that a
design gives its values, and `holds` evaluates the result. Both forms are data: no code in a design is ever executed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any as Anything
from typing import Literal, NamedTuple

import attrs

from knobmenu.design.fields import INT32_HIGH, INT32_LOW, Each, Instance, Key, to_tuple
from knobmenu.design.positions import NumberPosition
from knobmenu.errors import DesignError, Problem, quote_value
from knobmenu.structure import Structure

Operand = int | bool | str
"""The second operand of a comparison: a whole number, true or false for a switch, an option's key for a choice."""


def _check_operand(instance: object, attribute: attrs.Attribute[Anything], value: Anything) -> None:
    if isinstance(value, bool | str) or (isinstance(value, int) and INT32_LOW <= value <= INT32_HIGH):
        return
    raise DesignError(
        [Problem(attribute.name, quote_value(value), "a 32-bit integer, true, false, or an option's key")]
    )


def _check_condition(instance: object, attribute: attrs.Attribute[Anything], value: Anything) -> None:
    Instance(CONDITIONS, "a condition")(instance, attribute, value)


# All comparisons have the same fields, and so have `All` and `Any`. Each is a plain subclass: the methods that attrs
# makes for the base class compare classes, too.


@attrs.frozen(eq=False, repr=False)
class _Comparing(Structure):
    """A value compared with another."""

    key: str = attrs.field(validator=Key())
    value: Operand = attrs.field(validator=_check_operand)


class Equal(_Comparing):
    """The value equals the operand."""

    __slots__ = ()


class Unequal(_Comparing):
    """The value differs from the operand."""

    __slots__ = ()


class Less(_Comparing):
    """The value is less than the operand."""

    __slots__ = ()


class AtLeast(_Comparing):
    """The value equals the operand or is greater."""

    __slots__ = ()


@attrs.frozen(eq=False, repr=False)
class _Joining(Structure):
    """Several conditions."""

    of: tuple[Condition, ...] = attrs.field(converter=to_tuple, validator=Each(_check_condition, 0, 64))


class All(_Joining):
    """Every one of these holds; without any, it always holds."""

    __slots__ = ()


class Any(_Joining):
    """At least one of these holds; without any, it never holds."""

    __slots__ = ()


@attrs.frozen(eq=False, repr=False)
class Not(Structure):
    """The inner condition does not hold."""

    of: Condition = attrs.field(validator=_check_condition)


Comparison = Equal | Unequal | Less | AtLeast
Condition = Equal | Unequal | Less | AtLeast | All | Any | Not

CONDITIONS = (Equal, Unequal, Less, AtLeast, All, Any, Not)

DEEPEST = 16
"""How deep conditions may nest: an 8-bit controller evaluates them on its stack."""


def measure_depth(condition: Condition) -> int:
    """Count the levels of a condition; a single comparison has 1."""
    if isinstance(condition, Not):
        return 1 + measure_depth(condition.of)
    if isinstance(condition, All | Any):
        return 1 + max(map(measure_depth, condition.of), default=0)
    return 1


def walk_comparisons(condition: Condition, path: str = "") -> Iterator[tuple[str, Comparison]]:
    """Walk the comparisons inside a condition, each with its path, which begins with `path`."""
    if isinstance(condition, Not):
        yield from walk_comparisons(condition.of, f"{path}.not")
    elif isinstance(condition, All | Any):
        word = "all" if isinstance(condition, All) else "any"
        for index, part in enumerate(condition.of):
            yield from walk_comparisons(part, f"{path}.{word}[{index}]")
    else:
        yield path, condition


class Resolved(NamedTuple):
    """A condition in whole numbers, as the machine evaluates it and a spec carries it."""

    operator: Literal["equal", "unequal", "less", "at_least", "all", "any", "not"]
    position: NumberPosition = NumberPosition(0)
    """The position of the compared value among the settings and then the readouts; for a comparison."""
    value: int = 0
    """The number that it is compared with; for a comparison."""
    parts: tuple[Resolved, ...] = ()
    """The inner conditions; for all, any and not."""


_OPERATORS: dict[type, Literal["equal", "unequal", "less", "at_least"]] = {
    Equal: "equal",
    Unequal: "unequal",
    Less: "less",
    AtLeast: "at_least",
}


def resolve(condition: Condition, locate: Callable[[str, Operand], tuple[NumberPosition, int]]) -> Resolved:
    """Resolve the names in a condition to positions and numbers.

    Args:
        condition: As the designer wrote it.
        locate: Returns the position of a key's value, and an operand for it as a whole number.
    """
    if isinstance(condition, Not):
        return Resolved("not", parts=(resolve(condition.of, locate),))
    if isinstance(condition, All | Any):
        return Resolved(
            "all" if isinstance(condition, All) else "any",
            parts=tuple(resolve(part, locate) for part in condition.of),
        )
    position, value = locate(condition.key, condition.value)
    return Resolved(_OPERATORS[type(condition)], position, value)


def holds(condition: Resolved, value_at: Callable[[NumberPosition], int]) -> bool:
    """Return whether a resolved condition holds for the present values."""
    match condition.operator:
        case "equal":
            return value_at(condition.position) == condition.value
        case "unequal":
            return value_at(condition.position) != condition.value
        case "less":
            return value_at(condition.position) < condition.value
        case "at_least":
            return value_at(condition.position) >= condition.value
        case "all":
            return all(holds(part, value_at) for part in condition.parts)
        case "any":
            return any(holds(part, value_at) for part in condition.parts)
        case _:
            return not holds(condition.parts[0], value_at)
