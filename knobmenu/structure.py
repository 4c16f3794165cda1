"""The base of what a design, an event and an effect are made of: values with named fields.

attrs writes the methods of a class as text and compiles them each time that the program starts. One `__repr__` for
all of these classes saves a third of that, and the first frame comes sooner.
"""

from __future__ import annotations

from typing import Any, cast

import attrs


class Structure:
    """A value with named fields; its classes are made by attrs with ``repr=False``."""

    __slots__ = ()

    def __repr__(self) -> str:
        fields = attrs.fields(cast(Any, type(self)))
        shown = (f"{field.name}={getattr(self, field.name)!r}" for field in fields if field.repr)
        return f"{type(self).__name__}({', '.join(shown)})"
