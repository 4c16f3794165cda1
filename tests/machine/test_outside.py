"""The machine and its device, held to what others have published; the source stands beside each check.

What the model and single gestures are held to stands in tests/design/test_outside.py.
"""

from __future__ import annotations

import pytest

from knobmenu.design.hardware import Knob
from knobmenu.design.home import Home, Idle
from knobmenu.design.menu import Action, Menu
from knobmenu.design.settings import Number, Switch, TextSetting
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.machine.changing import get_done_pick
from knobmenu.machine.effects import ActionRun, AtLimit, SaveDue, ValueChanged
from knobmenu.machine.state import TextDraft

# The direction in which a knob acts.

A_FIRST = ((0, 0), (1, 0), (1, 1), (0, 1), (0, 0))
"""Phase A and phase B over one clockwise period, 1 closed (Linux kernel documentation, rotary-encoder)."""


def amplifier(knob: Knob | None = None, **fields: int) -> Design:
    return Design(
        name="Amplifier",
        knob=knob or Knob(),
        settings=(Number(key="volume", label="Volume", low=0, high=30, initial=15, bar=True),),
        home=Home(rows=("{volume}",), turn="volume"),
        **fields,  # type: ignore[arg-type]
    )


def turned_by_contacts(design: Design, levels: tuple[tuple[int, int], ...]) -> int:
    device = Device(design)
    for number, (level_a, level_b) in enumerate(levels):
        device.read_contacts(level_a, level_b, False, at_ms=1000 + 10 * number)
    value = device.get_value("volume")
    assert isinstance(value, int)
    return value - 15


def test_counterclockwise_decreases() -> None:
    """MIL-STD-1472E, 5.4.1.2.1, read the other way."""
    assert turned_by_contacts(amplifier(), A_FIRST[::-1]) == -1


@pytest.mark.parametrize(("detents", "end", "value"), [(99, "high", 30), (-99, "low", 0)])
def test_a_range_stops_at_both_ends_where_nothing_else_is_said(detents: int, end: str, value: int) -> None:
    """MIL-STD-1472E, 5.4.1.1.5: stops at the beginning and the end of the range of a control."""
    device = Device(amplifier())

    step = device.turn(detents)

    assert device.get_value("volume") == value
    assert AtLimit("volume", end) in step.effects  # type: ignore[arg-type]


# The length of a press.

POWER_SWITCH = [
    ("off", 3900, "on"),
    ("on", 3900, "sleep"),
    ("on", 4100, "off"),
    ("sleep", 3900, "on"),
    ("sleep", 4100, "off"),
]
"""State, press [ms], state then: Intel Desktop Board D955XBK, technical product specification, table 6, which parts
short from long presses at four seconds."""


class Computer:
    """A power switch as a design, and a mains supply that follows its effects."""

    def __init__(self) -> None:
        knob = Knob(long_press_ms=4000)
        self.design = Design(
            name="Computer",
            knob=knob,
            settings=(Switch(key="awake", label="Awake", saved=False),),
            actions=(Action(key="cut", label="Cut the power"),),
            home=Home(rows=("{awake}",), press="awake", long_press="cut"),
        )
        self.off = True
        self.device = Device(self.design)

    @property
    def state(self) -> str:
        """What the user sees of it."""
        if self.off:
            return "off"
        return "on" if self.device.get_value("awake") else "sleep"

    def push(self, for_ms: int) -> None:
        """Close the push switch for so long, reading it every 50 ms."""
        start_ms = self.device.state.at_ms + 1000
        self.device.read_contacts(0, 0, False, start_ms)
        seen = len(self.device.history)
        for at_ms in range(0, for_ms, 50):
            self.device.read_contacts(0, 0, True, start_ms + 100 + at_ms)
        for at_ms in range(0, 200, 50):
            self.device.read_contacts(0, 0, False, start_ms + 100 + for_ms + at_ms)
        effects = [effect for moment in list(self.device.history)[seen:] for effect in moment.effects]
        if ActionRun("cut") in effects:
            self.off, self.device = True, Device(self.design)  # without power nothing is remembered
        elif any(isinstance(effect, ValueChanged) for effect in effects):
            self.off = False


@pytest.mark.parametrize(("before", "press_ms", "after"), POWER_SWITCH)
def test_a_power_switch_tells_short_presses_from_long_ones(before: str, press_ms: int, after: str) -> None:
    computer = Computer()
    for _ in range(("off", "on", "sleep").index(before)):
        computer.push(100)
    assert computer.state == before

    computer.push(press_ms)

    assert computer.state == after


def test_a_long_press_is_half_a_second_where_nothing_else_is_said() -> None:
    """The default of several published platform guidelines, such as UIKit's minimumPressDuration."""
    assert Knob().long_press_ms == 500


# Text by one knob.

SPACE_AND_LETTERS = " abcdefghijklmnopqrstuvwxyz"

ENGLISH = dict(
    zip(
        "abcdefghijklmnopqrstuvwxyz ",
        (
            0.0651738, 0.0124248, 0.0217339, 0.0349835, 0.1041442, 0.0197881, 0.0158610, 0.0492888, 0.0558094,
            0.0009033, 0.0050529, 0.0331490, 0.0202124, 0.0564513, 0.0596302, 0.0137645, 0.0008606, 0.0497563,
            0.0515760, 0.0729357, 0.0225134, 0.0082903, 0.0171272, 0.0013692, 0.0145984, 0.0007836, 0.1918182,
        ),
        strict=True,
    )
)  # fmt: skip
"""Share of each letter and of the space in English text: data-compression.com, english.html (by secondary report)."""


def writing(after_each: str) -> Device:
    design = Design(
        name="Label",
        settings=(
            TextSetting(
                key="text",
                label="Text",
                characters=SPACE_AND_LETTERS,
                longest=40,
                after_each=after_each,  # type: ignore[arg-type]
            ),
        ),
        menus=(Menu(key="main", label="Main", entries=("text",)),),
        home=Home(press="text"),
        idle=Idle(after_ms=0),
    )
    device = Device(design)
    device.press()
    return device


def pick_of(device: Device) -> int:
    assert isinstance(device.state.focus, TextDraft)
    return device.state.focus.pick


def strokes(device: Device, character: str) -> int:
    """Write one character without passing the two marks, and count the detents and the press."""
    detents = 0
    while (pick := pick_of(device)) != SPACE_AND_LETTERS.index(character):
        device.turn(1 if pick < SPACE_AND_LETTERS.index(character) else -1)
        detents += 1
    device.press()
    assert isinstance(device.state.focus, TextDraft)
    assert str(device.state.focus.draft).endswith(character)
    return detents + 1


def test_a_letter_costs_less_where_the_pick_stays() -> None:
    """The sum over pairs of share x share x (distance + 1 press), worked out apart: 9.7432."""
    cost = 0.0
    for before, share in ENGLISH.items():
        for letter, other in ENGLISH.items():
            device = writing("stay")
            if before != " ":
                device.turn(SPACE_AND_LETTERS.index(before))
            device.press()
            cost += share * other * strokes(device, letter)

    assert cost == pytest.approx(9.7432, abs=0.001)


def test_the_picks_are_a_ring() -> None:
    """Exact: n equal things in a ring, n odd, cost 1 + (n * n - 1) / (4 * n) by the shorter way."""
    device = writing("first")
    setting = device.design.index.settings["text"]
    assert isinstance(setting, TextSetting)
    size = get_done_pick(setting) + 1
    nearest: dict[int, int] = {}
    for detents in sorted(range(-size, size + 1), key=abs):
        device.go(1)
        if detents:
            device.turn(detents)
        nearest.setdefault(pick_of(device), abs(detents))

    assert size % 2 == 1
    assert sum(nearest.values()) / size + 1 == pytest.approx(1 + (size * size - 1) / (4 * size))


# Memory that wears out.

ENDURANCE = 100_000
"""Writes that a cell of an 8-bit AVR's EEPROM stands, as its data sheets state (quoted by secondary report)."""


def saves_of_an_evening(save_after_ms: int) -> int:
    """Turn a volume for an evening: twelve times somebody looks for the right loudness, forty detents each."""
    device = Device(amplifier(save_after_ms=save_after_ms))
    for _ in range(12):
        for number in range(40):
            device.turn(1 if number % 4 else -2)
        device.wait(20 * 60_000)
    return sum(isinstance(effect, SaveDue) for moment in device.history for effect in moment.effects)


def test_turning_wears_no_memory() -> None:
    """100 000 writes over twenty years are 13.7 a day; 480 detents an evening must stay below."""
    assert saves_of_an_evening(save_after_ms=2000) == 12
    assert saves_of_an_evening(save_after_ms=2000) < ENDURANCE / (20 * 365.25)


def test_without_waiting_the_memory_would_wear_out() -> None:
    """The check above can fail: saved at once, the same evening is beyond the endurance."""
    assert saves_of_an_evening(save_after_ms=0) > ENDURANCE / (20 * 365.25)
