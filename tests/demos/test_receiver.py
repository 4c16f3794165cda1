"""The short-wave receiver: its home is its frequency."""

from __future__ import annotations

from knobmenu.device.device import Device
from knobmenu.machine.state import get_value
from knobmenu.trace import parse_trace
from tests.demos.playing import demo

DESIGN = demo("receiver")


def frequency_after(trace: str) -> object:
    device = Device(DESIGN)
    device.tell_all(parse_trace(trace))
    return get_value(DESIGN, device.state, "frequency")


def test_a_detent_at_home_is_a_kilohertz_and_carries() -> None:
    assert frequency_after("1") == 6070


def test_turning_at_home_stops_at_the_ends_of_the_band() -> None:
    assert frequency_after("-5000") == 2300
    assert frequency_after("10000 10000 10000") == 26100


def test_a_long_press_edits_digit_by_digit() -> None:
    assert frequency_after("hold press 2 press press press press") == 8069
