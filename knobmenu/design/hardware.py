"""The hardware of the device: its display, knob, lamps and sounder."""

from __future__ import annotations

from typing import Literal

import attrs

from knobmenu.design.conditions import CONDITIONS, Condition
from knobmenu.design.fields import Boolean, Each, Instance, Key, OneOf, Optional, Text, Whole, to_tuple
from knobmenu.errors import DesignError, Problem, quote_value
from knobmenu.structure import Structure

CharacterSet = Literal["ascii", "lcd-a00", "lcd-a02", "latin-1", "unicode"]
CHARACTER_SETS: tuple[str, ...] = ("ascii", "lcd-a00", "lcd-a02", "latin-1", "unicode")

GLYPH_ROWS = 8
GLYPH_COLUMNS = 5
MOST_GLYPHS = 8


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Glyph(Structure):
    """A custom character, drawn in a cell of 5 by 8 dots."""

    character: str = attrs.field(validator=Text(1, 1))
    """The character that stands for this glyph in every label."""
    dots: tuple[str, ...] = attrs.field(
        converter=to_tuple, validator=Each(Text(GLYPH_COLUMNS, GLYPH_COLUMNS), GLYPH_ROWS, GLYPH_ROWS)
    )
    """Eight rows of five characters, ``#`` a lit dot and ``.`` an unlit one."""

    def __attrs_post_init__(self) -> None:
        """Refuse a drawing with other characters."""
        problems = [
            Problem(f"dots[{row}]", quote_value(dots), 'five characters, each "#" or "."')
            for row, dots in enumerate(self.dots)
            if set(dots) - {"#", "."}
        ]
        DesignError.raise_any(problems)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class CharacterDisplay(Structure):
    """A dot-matrix character display, with one character in each fixed cell."""

    columns: int = attrs.field(default=16, validator=Whole(8, 40))
    """Characters in a row. [cells]"""
    rows: int = attrs.field(default=2, validator=Whole(1, 4))
    """Rows. [cells]"""
    characters: CharacterSet = attrs.field(default="lcd-a00", validator=OneOf(CHARACTER_SETS[:-1]))
    """Its character ROM; see `knobmenu.screen.characters`."""
    glyphs: tuple[Glyph, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Glyph,), "a glyph"), 0, MOST_GLYPHS)
    )
    """Up to eight custom characters."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class SegmentDisplay(Structure):
    """A row of seven-segment digits, each with a decimal point at its lower right."""

    digits: int = attrs.field(default=4, validator=Whole(4, 8))
    """Digits. [cells]"""

    @property
    def columns(self) -> int:
        """Cells in its single row. [cells]"""
        return self.digits

    @property
    def rows(self) -> int:
        """Always one. [cells]"""
        return 1


@attrs.frozen(kw_only=True, eq=False, repr=False)
class PixelDisplay(Structure):
    """A small pixel display used as a grid of text cells; it can show any Unicode character."""

    width: int = attrs.field(default=128, validator=Whole(32, 1024))
    """Width. [pixels]"""
    height: int = attrs.field(default=64, validator=Whole(8, 512))
    """Height. [pixels]"""
    cell_width: int = attrs.field(default=8, validator=Whole(4, 32))
    """Width of a character's cell. [pixels]"""
    cell_height: int = attrs.field(default=16, validator=Whole(6, 64))
    """Height of a character's cell. [pixels]"""

    def __attrs_post_init__(self) -> None:
        """Refuse a grid of fewer than 8 by 1 cells."""
        if self.columns < 8 or self.rows < 1:
            raise DesignError(
                [
                    Problem(
                        "cell_width",
                        f"a grid of {self.columns} by {self.rows} cells",
                        "a grid of at least 8 by 1 cells",
                        "make the cells smaller or the display larger",
                    )
                ]
            )

    @property
    def columns(self) -> int:
        """Whole cells in a row. [cells]"""
        return self.width // self.cell_width

    @property
    def rows(self) -> int:
        """Whole rows of cells. [cells]"""
        return self.height // self.cell_height


Display = CharacterDisplay | SegmentDisplay | PixelDisplay


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Acceleration(Structure):
    """One rule of acceleration: detents in quick succession count as several steps."""

    faster_than_ms: int = attrs.field(validator=Whole(1, 1000))
    """The rule applies to detents less than this apart. [ms]"""
    times: int = attrs.field(validator=Whole(2, 1000))
    """How many steps such a detent counts as. [steps per detent]"""


LONGEST_DEBOUNCE_MS = 1000
"""The longest debounce of a push switch; with a longer one, people press again because nothing happens. [ms]"""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Knob(Structure):
    """A rotary encoder with detents and a push switch.

    The defaults are a common part with 24 detents of one pulse each, and a long press of half a second, the value in
    several published platform guidelines.
    """

    detents_per_turn: int = attrs.field(default=24, validator=Whole(1, 1000))
    """Detents in one turn. [detents per revolution]"""
    pulses_per_turn: int = attrs.field(default=24, validator=Whole(1, 1000))
    """Full periods of either phase in one turn. [periods per revolution]"""
    detents_per_period: int = attrs.field(default=1, validator=Whole(1, 4))
    """Detents in one period: 1 full-, 2 half-, 4 quarter-period. [detents per period]"""
    clockwise: Literal["up", "down"] = attrs.field(default="up", validator=OneOf(("up", "down")))
    """The direction of a clockwise turn; IEC 60447 and MIL-STD-1472 require ``up``."""
    debounce_ms: int = attrs.field(default=5, validator=Whole(0, LONGEST_DEBOUNCE_MS))
    """How long the push switch must keep a level before it is accepted. [ms]"""
    long_press_ms: int = attrs.field(default=500, validator=Whole(50, 10_000))
    """How long a press must last to count as long. [ms]"""
    double_press_ms: int = attrs.field(default=0, validator=Whole(0, 2000))
    """Longest gap between the presses of a double press; 0: no double presses, and each press is sent immediately.
    [ms]"""
    turns_while_held: bool = attrs.field(default=False, validator=Boolean())
    """Whether turning while the knob is held is a separate event."""
    acceleration: tuple[Acceleration, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Acceleration,), "a rule of acceleration"), 0, 8)
    )
    """The rules, fastest first; none: every detent counts once."""

    def __attrs_post_init__(self) -> None:
        """Refuse fields that contradict each other."""
        problems = []
        if self.detents_per_period == 3:
            problems.append(Problem("detents_per_period", "3", "1, 2 or 4"))
        elif self.detents_per_turn != self.pulses_per_turn * self.detents_per_period:
            problems.append(
                Problem(
                    "detents_per_turn",
                    f"{self.detents_per_turn} detents from {self.pulses_per_turn} pulses"
                    f" at {self.detents_per_period} detents per period",
                    f"{self.pulses_per_turn * self.detents_per_period}, pulses times detents per period",
                )
            )
        if self.long_press_ms <= self.debounce_ms:
            problems.append(
                Problem(
                    "long_press_ms",
                    str(self.long_press_ms),
                    f"more than debounce_ms, which is {self.debounce_ms}",
                )
            )
        for index in range(1, len(self.acceleration)):
            before, rule = self.acceleration[index - 1 : index + 1]
            if rule.faster_than_ms <= before.faster_than_ms or rule.times >= before.times:
                problems.append(
                    Problem(
                        f"acceleration[{index}]",
                        f"{rule.times} times under {rule.faster_than_ms} ms after {before.times} times"
                        f" under {before.faster_than_ms} ms",
                        "rules from the fastest to the slowest, each slower one with fewer times",
                    )
                )
        DesignError.raise_any(problems)


ANSWERED = ("turn", "limit", "press", "long_press", "commit", "revert", "action", "refused")
"""The events that a lamp or the sounder can answer."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Lamp(Structure):
    """A lamp that follows a condition, answers events, or both."""

    key: str = attrs.field(validator=Key())
    label: str = attrs.field(validator=Text(1))
    """The text beside it."""
    colour: str = attrs.field(default="", validator=Text())
    """The name of its colour, for people; the menu does not use it."""
    lit_if: Condition | None = attrs.field(default=None, validator=Optional(Instance(CONDITIONS, "a condition")))
    """When it is lit, steadily or blinking."""
    blink_ms: int = attrs.field(default=0, validator=Whole(0, 10_000))
    """Blink period while it is lit; 0: steady. More than 3 flashes a second are not safe. [ms]"""
    answers: tuple[str, ...] = attrs.field(default=(), converter=to_tuple, validator=Each(OneOf(ANSWERED), 0, 8))
    """The events that make it flash once."""
    flash_ms: int = attrs.field(default=100, validator=Whole(1, 10_000))
    """The length of such a flash. [ms]"""

    def __attrs_post_init__(self) -> None:
        """Refuse a lamp that never lights, and one that flashes too fast."""
        problems = []
        if self.lit_if is None and not self.answers:
            problems.append(Problem("lit_if", "nothing", "a condition in lit_if, or events in answers"))
        if 0 < self.blink_ms < 334:
            problems.append(
                Problem("blink_ms", str(self.blink_ms), "0, or at least 334 (three flashes a second at most)")
            )
        DesignError.raise_any(problems)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Tone(Structure):
    """A tone of the sounder, and the events that it answers."""

    answers: tuple[str, ...] = attrs.field(converter=to_tuple, validator=Each(OneOf(ANSWERED), 1, 8))
    """The events that make it sound."""
    length_ms: int = attrs.field(default=20, validator=Whole(1, 10_000))
    """Its length. [ms]"""
    pitch_hz: int = attrs.field(default=2000, validator=Whole(20, 20_000))
    """Its frequency. [Hz]"""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Sounder(Structure):
    """A buzzer and its tones."""

    tones: tuple[Tone, ...] = attrs.field(
        converter=to_tuple, validator=Each(Instance((Tone,), "a tone"), 1, len(ANSWERED))
    )

    def __attrs_post_init__(self) -> None:
        """Refuse two tones for one event."""
        answered: set[str] = set()
        problems = []
        for index, tone in enumerate(self.tones):
            problems += [
                Problem(f"tones[{index}].answers", f'"{word}" again', "each event in one tone only")
                for word in tone.answers
                if word in answered
            ]
            answered.update(tone.answers)
        DesignError.raise_any(problems)
