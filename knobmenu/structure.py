"""The base class of values with named fields that are loaded before the first frame.

attrs generates and compiles the methods of each class whenever the program starts. One method here for all classes,
where speed does not matter, saves a third of the time for importing the classes of a design.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from operator import attrgetter
from typing import Any, Self

import attrs


class Structure:
    """A value with named fields; subclasses are attrs classes.

    A class with ``repr=False`` uses the representation here, and one with ``eq=False`` the comparison and hash here.
    Events and effects, which are compared often, have faster ones of their own. A class that is compared by identity
    must not have this base.
    """

    __slots__ = ()

    def __repr__(self) -> str:
        made: Any = type(self)
        fields = attrs.fields(made)
        shown = (f"{field.name}={getattr(self, field.name)!r}" for field in fields if field.repr)
        return f"{made.__name__}({', '.join(shown)})"

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        made: Any = type(self)
        compared = _compare_by(made)
        return bool(compared(self) == compared(other))

    def __hash__(self) -> int:
        made: Any = type(self)
        return hash((made, _compare_by(made)(self)))


class Additive:
    """Figures that add up field by field; its classes are made by attrs.

    A field with ``metadata=GREATEST`` keeps the greater of the two instead of their sum.
    """

    __slots__ = ()

    def __add__(self, other: Self) -> Self:
        """Return the figures of both together."""
        made: Any = type(self)
        both = ((field, getattr(self, field.name), getattr(other, field.name)) for field in attrs.fields(made))
        added: Self = made(
            **{field.name: max(one, more) if field.metadata == GREATEST else one + more for field, one, more in both}
        )
        return added


GREATEST = {"adds": "greatest"}
"""Marks a field of which two figures together have the greater."""


@cache
def _compare_by(made: Any) -> Callable[[object], object]:
    """Return a function that gets the fields of a class that are compared."""
    return attrgetter(*(field.name for field in attrs.fields(made) if field.eq))
