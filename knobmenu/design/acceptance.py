"""Findings that a designer has reviewed and accepts."""

from __future__ import annotations

import attrs

from knobmenu.design.fields import Key, Text
from knobmenu.structure import Structure


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Accepted(Structure):
    """A finding of `knobmenu check` that the designer accepts, and why."""

    finding: str = attrs.field(validator=Key())
    """The finding's identifier."""
    place: str = attrs.field(default="", validator=Text())
    """The place of the finding, as `check` reports it; empty: every place."""
    reason: str = attrs.field(validator=Text(1, 2000))
    """Why it is acceptable, for later readers of the design."""
