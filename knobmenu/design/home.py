"""The home screen, what the knob does there, and when the device returns to it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

import attrs

from knobmenu.design.fields import Each, Instance, Key, OneOf, Text, Whole, to_parts
from knobmenu.errors import DesignError, Problem
from knobmenu.structure import Structure


@attrs.frozen(eq=False, repr=False)
class Row(Structure):
    """One row of the home screen.

    ``{key}`` in a text is replaced with the present value of that setting or readout. Braces have no other use.
    """

    left: str = attrs.field(default="", validator=Text())
    """The text at the left."""
    right: str = attrs.field(default="", kw_only=True, validator=Text())
    """The text at the right; it is cut last."""
    bar: str = attrs.field(default="", kw_only=True, validator=Key(optional=True))
    """The number or scale whose bar fills the space between them."""


def _to_rows(rows: object) -> object:
    """Convert bare texts into rows with that text at the left."""
    return to_parts(Row, rows)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Home(Structure):
    """The home screen and what the knob does there.

    A gesture names its target, as an entry does: a menu opens, a setting is edited, a switch toggles, an action runs;
    what asks for a confirmation in a menu asks for it here, too. Empty: the gesture does nothing.
    """

    rows: tuple[Row, ...] = attrs.field(default=(), converter=_to_rows, validator=Each(Instance((Row,), "a row"), 0, 8))
    """The rows, from the top; none: the design's name, and the value that turning changes."""
    turn: str = attrs.field(default="", validator=Key(optional=True))
    """The setting that turning changes: a number, scale, choice, switch, or digits, of which the last one turns."""
    press: str = attrs.field(default="", validator=Key(optional=True))
    """The menu that a press opens, the setting that it edits, or the action that it runs; empty: none."""
    long_press: str = attrs.field(default="", validator=Key(optional=True))
    """The same for a long press."""
    double_press: str = attrs.field(default="", validator=Key(optional=True))
    """The same for a double press; the knob's `double_press_ms` must not be 0."""
    held_turn: str = attrs.field(default="", validator=Key(optional=True))
    """The setting that turning while held changes."""

    @property
    def targets(self) -> dict[str, str]:
        """The target of each gesture, by the name of its field; empty where it does nothing."""
        return {
            "turn": self.turn,
            "held_turn": self.held_turn,
            "press": self.press,
            "long_press": self.long_press,
            "double_press": self.double_press,
        }

    def __attrs_post_init__(self) -> None:
        """Refuse a home screen that no gesture works on."""
        if not (self.turn or self.press or self.long_press):
            raise DesignError(
                [
                    Problem(
                        "press",
                        "no gesture",
                        "at least one of turn, press and long_press",
                        "open a menu with press",
                    )
                ]
            )


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Idle(Structure):
    """What happens when the knob has not been touched for a while."""

    after_ms: int = attrs.field(default=30_000, validator=Whole(0, 86_400_000))
    """How long that is; 0: the device never idles. [ms]"""
    to: Literal["home", "parent"] = attrs.field(default="home", validator=OneOf(("home", "parent")))
    """Where it goes: ``home`` directly, or one level up each time."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Gestures(Structure):
    """What a long press and a double press do in a list."""

    long_press: Literal["back", "home", "nothing"] = attrs.field(
        default="back", validator=OneOf(("back", "home", "nothing"))
    )
    """A long press: one level up, to the home screen, or nothing."""
    double_press: Literal["back", "home", "nothing"] = attrs.field(
        default="nothing", validator=OneOf(("back", "home", "nothing"))
    )
    """A double press: one level up, to the home screen, or nothing."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Wording(Structure):
    """The texts that the menu itself needs, translated like every label."""

    back: str = attrs.field(default="Back", validator=Text(1))
    """The label of an entry that leaves its menu."""
    yes: str = attrs.field(default="Yes", validator=Text(1))
    """The answer that confirms."""
    no: str = attrs.field(default="No", validator=Text(1))
    """The answer that declines; it is selected when a question opens."""
    hold: str = attrs.field(default="Hold to confirm", validator=Text(1))
    """The request to hold the knob down."""
    empty: str = attrs.field(default="Nothing here", validator=Text(1))
    """What a menu shows while all its entries are hidden."""


def _to_text_pairs(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple((text, translated) for text, translated in pairs)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Translation(Structure):
    """The texts of a design in one of its other languages."""

    language: str = attrs.field(validator=Key())
    texts: tuple[tuple[str, str], ...] = attrs.field(converter=_to_text_pairs)
    """Pairs of a text of the design and its translation."""

    def __attrs_post_init__(self) -> None:
        """Refuse translations that are not texts, and two translations of one text."""
        seen: set[str] = set()
        problems = []
        for text, translated in self.texts:
            if not isinstance(translated, str) or not translated.isprintable() or len(translated) > 200:
                problems.append(Problem(f'"{text}"', repr(translated)[:60], "text of at most 200 characters"))
            if text in seen:
                problems.append(Problem(f'"{text}"', "the text again", "each text once"))
            seen.add(text)
        DesignError.raise_any(problems)
