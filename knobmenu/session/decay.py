"""The exponential decay of a first-order system in integers, identical on every machine."""

from __future__ import annotations

BITS = 64
"""Fractional bits of a decay."""

_ONE = 1 << BITS

_NEGLIGIBLE_AFTER = 64
"""After this many time constants, less than 1/65536 of a unit is left of any 32-bit value. [time constants]"""


def decay(elapsed_ms: int, time_constant_ms: int) -> int:
    """Return exp(-elapsed / time constant), from 0 to 1, with `BITS` fractional bits."""
    whole, rest = divmod(elapsed_ms, time_constant_ms)
    if whole >= _NEGLIGIBLE_AFTER:
        return 0
    value = _sum_series((rest << BITS) // time_constant_ms)
    for _ in range(whole):
        value = value * _PER_TIME_CONSTANT >> BITS
    return value


def _sum_series(x: int) -> int:
    """Compute exp(-x) for x from 0 to 1 by its Taylor series."""
    total = term = _ONE
    number, sign = 1, -1
    while term:
        term = (term * x >> BITS) // number
        total += sign * term
        number, sign = number + 1, -sign
    return total


_PER_TIME_CONSTANT = _sum_series(_ONE)
