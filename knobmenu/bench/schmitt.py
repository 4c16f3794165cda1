"""A Schmitt trigger that can be bought: published thresholds of the 74HC14 class.

NXP 74HC1G14, table 7, -40 to 85 degrees C, http://www.datasheetandpdf.com/EN/NXP/4/74HC1G14.htm: at 4.5 V rising 1.7,
2.36 and 3.15 V, falling 0.9, 1.53 and 2.0 V, minimum, typical and maximum. They scale with the supply.
"""

from __future__ import annotations

SUPPLY_V = 4.5
"""The supply at which the thresholds are published. [V]"""

RISING_V = (1.7, 2.36, 3.15)
"""Thresholds of a rising voltage: minimum, typical, maximum. [V]"""

FALLING_V = (0.9, 1.53, 2.0)
"""Thresholds of a falling voltage. [V]"""


def schmitt_thresholds_v(supply_v: float) -> tuple[float, float]:
    """Return the typical thresholds at a supply, to the millivolt: rising and falling. [V]"""
    return round(RISING_V[1] * supply_v / SUPPLY_V, 3), round(FALLING_V[1] * supply_v / SUPPLY_V, 3)
