"""Common inputs by name, with their minimum, typical and maximum thresholds.

CMOS thresholds follow the supply, so that each is stated as a fraction of it.
"""

from __future__ import annotations

from typing import Literal, get_args

import attrs

InputKind = Literal["cmos", "microcontroller", "schmitt"]


@attrs.frozen(kw_only=True)
class Input:
    """Thresholds as fractions of the supply, each minimum, typical and maximum."""

    rising: tuple[float, float, float]
    """Of a voltage that rises. [unitless]"""
    falling: tuple[float, float, float]
    """Of a voltage that falls. [unitless]"""
    least_hysteresis: float
    """How far they are apart at least. [unitless]"""
    note: str
    """What it is, and where the figures are from."""


INPUTS: dict[InputKind, Input] = {
    "cmos": Input(
        rising=(0.3, 0.5, 0.7),
        falling=(0.3, 0.5, 0.7),
        least_hysteresis=0.0,
        note="A plain CMOS gate, one threshold. Low is guaranteed below 0.3 and high above 0.7 of the supply (74HC"
        " family, from memory); half the supply is typical (common practice).",
    ),
    "microcontroller": Input(
        rising=(0.4, 0.52, 0.6),
        falling=(0.3, 0.42, 0.5),
        least_hysteresis=0.05,
        note="A port pin of an 8-bit AVR. Its data sheet guarantees low below 0.3 and high above 0.6 of the supply"
        " (from memory) and draws the hysteresis on an axis that ends at 0.6 V (ATmega48/88/168, 2545T, page 331); 0.1"
        " of the supply is from memory. The least, 0.05, is what data sheets of 32-bit microcontrollers guarantee (from"
        " memory).",
    ),
    "schmitt": Input(
        rising=(1.7 / 4.5, 2.36 / 4.5, 3.15 / 4.5),
        falling=(0.9 / 4.5, 1.53 / 4.5, 2.0 / 4.5),
        least_hysteresis=0.4 / 4.5,
        note="A Schmitt trigger of the 74HC14 class: 1.7, 2.36 and 3.15 V rising, 0.9, 1.53 and 2.0 V falling, at least"
        " 0.4 V apart, at 4.5 V and -40 to 85 degrees C (NXP 74HC1G14, table 7,"
        " http://www.datasheetandpdf.com/EN/NXP/4/74HC1G14.htm).",
    ),
}
"""Every input that has a name."""

KINDS: tuple[InputKind, ...] = get_args(InputKind)
"""Their names, the plainest first."""


def get_thresholds_v(kind: InputKind, supply_v: float) -> tuple[float, float]:
    """Return the typical thresholds at a supply, to four digits: rising and falling. [V]"""
    found = INPUTS[kind]
    rising_v, falling_v = (float(f"{volts[1] * supply_v:.4g}") for volts in (found.rising, found.falling))
    return rising_v, falling_v


def find_kind(supply_v: float, rising_v: float, falling_v: float) -> InputKind | None:
    """Return which input has these typical thresholds at a supply; None if no named one has."""
    return next((kind for kind in KINDS if get_thresholds_v(kind, supply_v) == (rising_v, falling_v)), None)
