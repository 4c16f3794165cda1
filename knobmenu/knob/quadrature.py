"""Quadrature decoding: two phase levels become detents by a literal transition table.

Theory of operation. A level is 1 while its contact is closed. The two levels make a code, ``A << 1 | B``. Clockwise,
A leads: 00 10 11 01 00, as the Linux kernel's published description of its rotary-encoder driver has it (D. Mack,
*rotary-encoder - a generic driver for GPIO connected devices*, 2009,
https://docs.kernel.org/input/devices/rotary-encoder.html). Each change of one level is one quarter of a period. The
decoder follows the position by quarters and sends a detent whenever that position has arrived at the next rest:

* full-period form (1 detent per period): rests at 00, both contacts open;
* half-period form (2 detents per period): rests at 00 and 11;
* quarter-period form (4 detents per period): rests at every code.

Half-way and back (00 10 11 10 00) ends where it began, so in full-period form it sends nothing, and in half-period
form two detents that cancel. (A decoder that remembers only "armed" and the last direction sends one detent there.)

A double change (00 to 11, 10 to 01, and back) cannot be distinguished from its opposite; a level in between was missed.
It is counted as invalid and taken as two quarters in the direction last moved. So the position always agrees with the
code, and after any fault it is wrong by whole periods only, never by a part of one. A decoder that has seen no movement
yet assumes clockwise.

All of this is in the tables and nowhere else. An entry is one byte, chosen by state and code::

    bit 7     1: a double change, invalid
    bits 6-4  detents + 2, so 1 is one counter-clockwise, 2 none, 3 one clockwise
    bits 3-0  next state
"""

from __future__ import annotations

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.errors import EventError, quote_value

MOST_INVALID = 65_535
"""Where the count of invalid transitions stops, so that it fits 16 bits."""

NO_DETENTS = 2
"""What bits 6-4 of an entry hold where no detent is sent."""

FULL_PERIOD = bytes(
    (
        # The code read:
        # 00    01    10    11      state: quarters from the rest, direction last moved
        0x20, 0x25, 0x22, 0xA6,  #  0:  0 clockwise, at rest on 00
        0x21, 0x25, 0x22, 0xA9,  #  1:  0 counter-clockwise, at rest on 00
        0x21, 0xAA, 0x22, 0x26,  #  2: +1 clockwise
        0x21, 0xA5, 0x23, 0x26,  #  3: +1 counter-clockwise
        0x20, 0x24, 0xA2, 0x29,  #  4: -1 clockwise
        0x20, 0x25, 0xAD, 0x29,  #  5: -1 counter-clockwise
        0xB0, 0x2A, 0x23, 0x26,  #  6: +2 clockwise
        0xA1, 0x2A, 0x23, 0x27,  #  7: +2 counter-clockwise
        0xA0, 0x24, 0x2D, 0x28,  #  8: -2 clockwise
        0x91, 0x24, 0x2D, 0x29,  #  9: -2 counter-clockwise
        0x30, 0x2A, 0xB2, 0x27,  # 10: +3 clockwise
        0x30, 0x2B, 0xA3, 0x27,  # 11: +3 counter-clockwise
        0x11, 0xA4, 0x2C, 0x28,  # 12: -3 clockwise
        0x11, 0x95, 0x2D, 0x28,  # 13: -3 counter-clockwise
    )
)  # fmt: skip
"""The full-period form: one detent per period."""

HALF_PERIOD = bytes(
    (
        # 00    01    10    11      state: quarters from the rest, direction last moved
        0x20, 0x25, 0x22, 0xB6,  #  0:  0 clockwise, at rest on 00
        0x21, 0x25, 0x22, 0x97,  #  1:  0 counter-clockwise, at rest on 00
        0x21, 0xB8, 0x22, 0x36,  #  2: +1 from 00, clockwise
        0x21, 0xA5, 0x23, 0x36,  #  3: +1 from 00, counter-clockwise
        0x20, 0x24, 0xA2, 0x17,  #  4: -1 from 00, clockwise
        0x20, 0x25, 0x9B, 0x17,  #  5: -1 from 00, counter-clockwise
        0xB0, 0x28, 0x2B, 0x26,  #  6:  0 clockwise, at rest on 11
        0x91, 0x28, 0x2B, 0x27,  #  7:  0 counter-clockwise, at rest on 11
        0x30, 0x28, 0xB2, 0x27,  #  8: +1 from 11, clockwise
        0x30, 0x29, 0xAB, 0x27,  #  9: +1 from 11, counter-clockwise
        0x11, 0xA8, 0x2A, 0x26,  # 10: -1 from 11, clockwise
        0x11, 0x95, 0x2B, 0x26,  # 11: -1 from 11, counter-clockwise
    )
)  # fmt: skip
"""The half-period form: two detents per period."""

QUARTER_PERIOD = bytes(
    (
        # 00    01    10    11      state: code, direction last moved
        0x20, 0x17, 0x32, 0xC4,  # 0: 00 clockwise
        0x21, 0x17, 0x32, 0x85,  # 1: 00 counter-clockwise
        0x11, 0xC6, 0x22, 0x34,  # 2: 10 clockwise
        0x11, 0x87, 0x23, 0x34,  # 3: 10 counter-clockwise
        0xC0, 0x36, 0x13, 0x24,  # 4: 11 clockwise
        0x81, 0x36, 0x13, 0x25,  # 5: 11 counter-clockwise
        0x30, 0x26, 0xC2, 0x15,  # 6: 01 clockwise
        0x30, 0x27, 0x83, 0x15,  # 7: 01 counter-clockwise
    )
)  # fmt: skip
"""The quarter-period form: four detents per period."""

TABLES: dict[int, bytes] = {1: FULL_PERIOD, 2: HALF_PERIOD, 4: QUARTER_PERIOD}
"""The table for a knob, by its detents per period."""

FIRST_STATES: dict[int, bytes] = {1: bytes((0, 4, 2, 6)), 2: bytes((0, 4, 2, 6)), 4: bytes((0, 6, 2, 4))}
"""The state that a decoder starts in, by detents per period and then by the code at power-on."""


@attrs.frozen
class QuadratureState:
    """What a decoder remembers between two samples of the phases."""

    row: int
    """Row of the transition table, 0 to 13."""
    invalid: int = 0
    """Double changes seen; stops at `MOST_INVALID`. [transitions]"""


def start(knob: Knob, level_a: int, level_b: int) -> QuadratureState:
    """Begin to decode, at the levels of the phases at power-on.

    Args:
        knob: says the detents per period.
        level_a: phase A, 1 while its contact is closed, else 0.
        level_b: phase B, likewise.

    Raises:
        EventError: a level is neither 0 nor 1.
    """
    return QuadratureState(FIRST_STATES[knob.detents_per_period][_encode(level_a, level_b)])


def read(knob: Knob, state: QuadratureState, level_a: int, level_b: int) -> tuple[QuadratureState, int]:
    """Read the phases once.

    Args:
        knob: says the detents per period, and whether clockwise is up.
        state: what the reading before this one left.
        level_a: phase A, 1 while its contact is closed, else 0.
        level_b: phase B, likewise.

    Returns:
        The next state, and the detents to send, -2 to 2; positive is up.

    Raises:
        EventError: a level is neither 0 nor 1.
    """
    entry = TABLES[knob.detents_per_period][state.row << 2 | _encode(level_a, level_b)]
    invalid = state.invalid
    if entry & 0x80 and invalid < MOST_INVALID:
        invalid += 1
    detents = (entry >> 4 & 7) - NO_DETENTS
    return QuadratureState(entry & 15, invalid), detents if knob.clockwise == "up" else -detents


def decode(knob: Knob, state: QuadratureState, codes: bytes) -> tuple[QuadratureState, list[int]]:
    """Read the phases many times: the same as `read` for each code in turn, but faster.

    Args:
        knob: says the detents per period, and whether clockwise is up.
        state: what the reading before the first one left.
        codes: the readings in order, one byte each, ``A << 1 | B``, 0 to 3.

    Returns:
        The state after the last reading, and the detents to send at each one; positive is up.

    Raises:
        EventError: a code is above 3; none has been read.
    """
    if codes and max(codes) > 3:
        position = next(index for index, code in enumerate(codes) if code > 3)
        raise EventError(f"codes[{position}]: expected a whole number from 0 to 3, got {codes[position]}")
    table = TABLES[knob.detents_per_period]
    row = state.row
    entries = bytearray(len(codes))
    for index, code in enumerate(codes):
        entry = table[row << 2 | code]
        row = entry & 15
        entries[index] = entry >> 4
    invalid = sum(entries.count(high) for high in range(8, 16))
    sign = 1 if knob.clockwise == "up" else -1
    detents = [sign * ((high & 7) - NO_DETENTS) for high in range(16)]
    return (
        QuadratureState(row, min(state.invalid + invalid, MOST_INVALID)),
        [detents[high] for high in entries],
    )


def _encode(level_a: int, level_b: int) -> int:
    for name, level in (("level_a", level_a), ("level_b", level_b)):
        if level not in (0, 1):
            raise EventError(f"{name}: expected 0 (open) or 1 (closed), got {quote_value(level)}")
    return int(level_a) << 1 | int(level_b)
