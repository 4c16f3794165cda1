"""What the device shows when nobody touches it, what the knob does there, and how it gets back there."""

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

    ``{key}`` in a text is replaced by the present value of that setting or readout. Braces can stand for nothing
    else.
    """

    left: str = attrs.field(default="", validator=Text())
    """Stands at the left."""
    right: str = attrs.field(default="", kw_only=True, validator=Text())
    """Stands at the right; it is the last to be cut."""
    bar: str = attrs.field(default="", kw_only=True, validator=Key(optional=True))
    """The number or scale whose bar fills the room between."""


def _to_rows(rows: object) -> object:
    """Let a bare text stand for a row with that text at the left."""
    return to_parts(Row, rows)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Home(Structure):
    """The home screen and what the knob does there.

    A gesture names what it works on, as an entry does: a menu opens, a setting is edited, a switch is turned over,
    an action is done; what asks for a confirmation asks for it here too. Empty: the gesture does nothing.
    """

    rows: tuple[Row, ...] = attrs.field(default=(), converter=_to_rows, validator=Each(Instance((Row,), "a row"), 0, 8))
    """What is shown, from the top; none: the design's name, and the value that turning changes."""
    turn: str = attrs.field(default="", validator=Key(optional=True))
    """The setting that turning changes: a number, scale, choice, switch or digits, whose last digit turns."""
    press: str = attrs.field(default="", validator=Key(optional=True))
    """The menu that a press opens, the setting that it edits, or the action that it does; empty: none."""
    long_press: str = attrs.field(default="", validator=Key(optional=True))
    """The same for a long press."""
    double_press: str = attrs.field(default="", validator=Key(optional=True))
    """The same for a double press; the knob's `double_press_ms` must not be 0."""
    held_turn: str = attrs.field(default="", validator=Key(optional=True))
    """The setting that turning while held changes."""

    @property
    def targets(self) -> dict[str, str]:
        """What each gesture works on, by the name of its field; empty where it does nothing."""
        return {
            "turn": self.turn,
            "held_turn": self.held_turn,
            "press": self.press,
            "long_press": self.long_press,
            "double_press": self.double_press,
        }

    def __attrs_post_init__(self) -> None:
        """Refuse a home that nothing can be done from."""
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
    """How long that is; 0: the display stays where it is. [ms]"""
    to: Literal["home", "parent"] = attrs.field(default="home", validator=OneOf(("home", "parent")))
    """``home`` directly, or one level up each time."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Gestures(Structure):
    """What the rarer gestures do in a list."""

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
    """The texts that the machine itself needs, translated like every label."""

    back: str = attrs.field(default="Back", validator=Text(1))
    """An entry that leaves its menu."""
    yes: str = attrs.field(default="Yes", validator=Text(1))
    """The answer that confirms."""
    no: str = attrs.field(default="No", validator=Text(1))
    """The answer that does not; a question opens at it."""
    hold: str = attrs.field(default="Hold to confirm", validator=Text(1))
    """The request to hold the knob down."""
    empty: str = attrs.field(default="Nothing here", validator=Text(1))
    """A menu whose entries are all hidden."""


def _to_text_pairs(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple((text, translated) for text, translated in pairs)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Translation(Structure):
    """The words of one language: for each text of the design, what it is there."""

    language: str = attrs.field(validator=Key())
    texts: tuple[tuple[str, str], ...] = attrs.field(converter=_to_text_pairs)
    """Pairs of a text as the design has it, and as this language has it."""

    def __attrs_post_init__(self) -> None:
        """Refuse what is not a text, and two translations of one text."""
        told: set[str] = set()
        problems = []
        for text, translated in self.texts:
            if not isinstance(translated, str) or not translated.isprintable() or len(translated) > 200:
                problems.append(Problem(f'"{text}"', repr(translated)[:60], "text of at most 200 characters"))
            if text in told:
                problems.append(Problem(f'"{text}"', "the text again", "each text once"))
            told.add(text)
        DesignError.raise_any(problems)
