"""The exponential decay of a first-order system, in whole numbers: the same on every machine."""

from __future__ import annotations

BITS = 64
"""The binary places of a decay."""

_ONE = 1 << BITS

_NOTHING = 64
"""After so many time constants less than one unit is left of any 32-bit value, or of 1/65536 of it."""


def decay(elapsed_ms: int, time_constant_ms: int) -> int:
    """Return exp(-elapsed / time constant), from 0 to 1, with `BITS` binary places."""
    whole, rest = divmod(elapsed_ms, time_constant_ms)
    if whole >= _NOTHING:
        return 0
    value = _series((rest << BITS) // time_constant_ms)
    for _ in range(whole):
        value = value * _PER_TIME_CONSTANT >> BITS
    return value


def _series(x: int) -> int:
    """Return exp(-x) for x from 0 to 1, by its Taylor series."""
    total = term = _ONE
    number, sign = 1, -1
    while term:
        term = (term * x >> BITS) // number
        total += sign * term
        number, sign = number + 1, -sign
    return total


_PER_TIME_CONSTANT = _series(_ONE)
