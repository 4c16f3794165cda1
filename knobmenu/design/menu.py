"""What the user can walk through: menus, their entries, actions and readouts."""

from __future__ import annotations

from typing import Literal

import attrs

from knobmenu.design import fields
from knobmenu.design.conditions import CONDITIONS, Condition
from knobmenu.design.settings import CONFIRM, ENDS, MOST_DECIMALS, Confirm, Ends, check_names, to_name_pairs
from knobmenu.errors import DesignError, Problem
from knobmenu.structure import Structure

BACK = "back"
"""The target of an entry that leaves its menu; reserved, so no part can have this key."""


@attrs.frozen(eq=False, repr=False)
class Entry(Structure):
    """One line of a menu: a setting, a submenu, an action, a readout, or the way back."""

    target: str = attrs.field(validator=fields.Key())
    """The key of the part that it leads to, or ``back``."""
    label: str = attrs.field(default="", kw_only=True, validator=fields.Text())
    """Its label in this menu; empty: the label of its target."""
    shown_if: Condition | None = attrs.field(
        default=None, kw_only=True, validator=fields.Optional(fields.Instance(CONDITIONS, "a condition"))
    )
    """When it is shown; nothing: always."""
    enabled_if: Condition | None = attrs.field(
        default=None, kw_only=True, validator=fields.Optional(fields.Instance(CONDITIONS, "a condition"))
    )
    """When it can be pressed while it is shown; nothing: always."""


def _to_entries(entries: object) -> object:
    """Convert bare keys into entries without conditions."""
    return fields.to_parts(Entry, entries)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Menu(Structure):
    """A list of entries. Menus nest by naming each other, to any depth."""

    key: str = attrs.field(validator=fields.Key())
    label: str = attrs.field(validator=fields.Text(1))
    """Its label on the display, as an entry and as a title."""
    short: str = attrs.field(default="", validator=fields.Text())
    """A shorter label for displays that cannot show the label."""
    entries: tuple[Entry, ...] = attrs.field(
        converter=_to_entries, validator=fields.Each(fields.Instance((Entry,), "an entry"), 1, 100_000)
    )
    """Its entries, in order."""
    ends: Ends = attrs.field(default="stop", validator=fields.OneOf(ENDS))
    """Whether turning beyond an end stops there or continues at the other end."""
    reopens: Literal["first", "last-used"] = attrs.field(
        default="first", validator=fields.OneOf(("first", "last-used"))
    )
    """Which entry is selected when it opens again."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Action(Structure):
    """Something that the device does when asked to."""

    key: str = attrs.field(validator=fields.Key())
    label: str = attrs.field(validator=fields.Text(1))
    """Its name on the display."""
    short: str = attrs.field(default="", validator=fields.Text())
    """A shorter label for displays that cannot show the label."""
    confirm: Confirm = attrs.field(default="none", validator=fields.OneOf(CONFIRM))
    """What must precede it: nothing, a question, or holding the knob."""
    question: str = attrs.field(default="", validator=fields.Text())
    """The text of that question; empty: the label."""
    then: Literal["stay", "back", "home"] = attrs.field(
        default="stay", validator=fields.OneOf(("stay", "back", "home"))
    )
    """Where the display goes afterwards."""
    resets: tuple[str, ...] = attrs.field(
        default=(), converter=fields.to_tuple, validator=fields.Each(fields.Key(), 0, 10_000)
    )
    """The settings that the device changes when it does this, for example back to their initial values. The device's
    own code does so, not the menu; analysis uses the list."""
    hazard: str = attrs.field(default="", validator=fields.Text())
    """The text of a caution if doing it can hurt someone; empty: it cannot."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Readout(Structure):
    """A value that the device reports and the user only reads."""

    key: str = attrs.field(validator=fields.Key())
    label: str = attrs.field(validator=fields.Text(1))
    """Its name on the display."""
    short: str = attrs.field(default="", validator=fields.Text())
    """A shorter label for displays that cannot show the label."""
    initial: int = attrs.field(default=0, validator=fields.Whole())
    """Its value before the first report. [units of the last place]"""
    decimals: int = attrs.field(default=0, validator=fields.Whole(0, MOST_DECIMALS))
    """Places after the point."""
    unit: str = attrs.field(default="", validator=fields.Text(0, 12))
    """Shown after the value."""
    low: int | None = attrs.field(default=None, validator=fields.Optional(fields.Whole()))
    """The lowest value that the device ever reports; nothing: any. Analysis uses it; the menu accepts every report.
    [units of the last place]"""
    high: int | None = attrs.field(default=None, validator=fields.Optional(fields.Whole()))
    """The highest value that the device ever reports; nothing: any. [units of the last place]"""
    names: tuple[tuple[int, str], ...] = attrs.field(default=(), converter=to_name_pairs, validator=check_names)
    """Words shown in place of certain values, such as ``(1, "Heating")``."""

    def __attrs_post_init__(self) -> None:
        """Refuse an empty range, and an initial value or a named value outside of it."""
        low = fields.INT32_LOW if self.low is None else self.low
        high = fields.INT32_HIGH if self.high is None else self.high
        problems = []
        if high < low:
            problems.append(Problem("high", str(self.high), f"at least low, which is {self.low}"))
        else:
            if not low <= self.initial <= high:
                problems.append(Problem("initial", str(self.initial), f"from low to high, {low} to {high}"))
            problems += [
                Problem(f"names.{value}", str(value), f"from low to high, {low} to {high}")
                for value, _ in self.names
                if not low <= value <= high
            ]
        DesignError.raise_any(problems)
