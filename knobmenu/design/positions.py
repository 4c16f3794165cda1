"""Where the values of a device stand, so that a reader of one knows its type.

A design gives every value a position: its settings in order from 0, then its readouts. `knobmenu.design.whole.Index`
alone makes these types, from the kind of each setting.
"""

from __future__ import annotations

from typing import NewType

NumberPosition = NewType("NumberPosition", int)
"""The position of a value that is a whole number."""

TextPosition = NewType("TextPosition", int)
"""The position of a value that is a text."""
