"""The filter between a contact and a pin: closed forms, handbook figures, and what bounce it surely removes."""

from __future__ import annotations

import math

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench import filter, motion
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.filter import Filter
from knobmenu.bench.signal import Signal
from tests.bench.stages import contacts, filtered
from tests.bench.strategies import encoders, filters, numbers, seeds, trains

A_LONG_TIME_S = 1e3


def sight(parts: Filter, contact: Signal) -> list[float]:
    return [float(at_s) for at_s in filtered(parts, contact).changes_s]


@pytest.mark.parametrize(
    ("capacitor_f", "resistor_ohm", "constant_ms"),
    [
        (1e-6, 10e3, 10.0),
        (1e-6, 100e3, 100.0),
        (1e-6, 1e6, 1000.0),
        (1e-7, 10e3, 1.0),
        (1e-7, 100e3, 10.0),
        (1e-7, 1e6, 100.0),
        (1e-8, 10e3, 0.1),
        (1e-8, 100e3, 1.0),
        (1e-8, 1e6, 10.0),
    ],
)
def test_the_time_constant_is_that_of_the_handbook_table(
    capacitor_f: float, resistor_ohm: float, constant_ms: float
) -> None:
    """Texas Instruments, SCEA094, October 2020, table of time constants, read at
    https://www.ti.com/document-viewer/ja-jp/lit/html/SCEA094/GUID-FF0D8661-B87A-46CA-AE50-C115F19B6EB9
    """
    parts = Filter(pull_up_ohm=resistor_ohm, capacitor_f=capacitor_f)

    assert parts.open_s * 1000 == pytest.approx(constant_ms)


@pytest.mark.parametrize(
    ("supply_v", "rising_v", "falling_v", "rise", "fall"),
    [
        # VT+ and VT- of the 74HC1G14, minimum, typical and maximum at -40 to 85 degrees Celsius, NXP's data sheet,
        # table 7, read at http://www.datasheetandpdf.com/EN/NXP/4/74HC1G14.htm; the times are calculated from them.
        (4.5, 1.7, 0.9, 0.4745, 1.6094),
        (4.5, 2.36, 1.53, 0.7433, 1.0788),
        (4.5, 3.15, 2.0, 1.2040, 0.8109),
        (6.0, 2.1, 1.2, 0.4308, 1.6094),
        (6.0, 3.12, 2.08, 0.7340, 1.0594),
        (6.0, 4.2, 2.6, 1.2040, 0.8362),
        (2.0, 0.7, 0.3, 0.4308, 1.8971),
        (2.0, 1.09, 0.60, 0.7875, 1.2040),
        (2.0, 1.5, 0.9, 1.3863, 0.7985),
    ],
)
def test_a_published_schmitt_trigger_is_passed_after_the_published_share_of_the_time_constant(
    supply_v: float, rising_v: float, falling_v: float, rise: float, fall: float
) -> None:
    """A step from rail to rail: ``-ln(1 - VT+/V)`` up and ``ln(V/VT-)`` down, in time constants.

    The closed forms: National Instruments, knowledge article kA00Z0000019Mo5SAE, charge and discharge of a capacitor.
    A series resistor a thousand times the pull-up, and a contact of 1 microohm, make both constants and rails equal.
    """
    parts = Filter(
        supply_v=supply_v,
        pull_up_ohm=1e3,
        series_ohm=1e6,
        capacitor_f=1e-9,
        contact_ohm=1e-6,
        rising_v=rising_v,
        falling_v=falling_v,
    )
    opened, closed = Signal(1, np.array([1.0])), Signal(0, np.array([1.0]))

    assert (sight(parts, opened)[0] - 1) / parts.open_s == pytest.approx(rise, abs=6e-5)
    assert (sight(parts, closed)[0] - 1) / parts.closed_s == pytest.approx(fall, abs=6e-5)
    assert filter.compute_opening_delay_s(parts) / parts.open_s == pytest.approx(rise, abs=6e-5)
    assert filter.compute_closing_delay_s(parts) / parts.closed_s == pytest.approx(fall, abs=6e-5)


@given(filters())
def test_one_edge_after_a_long_rest_is_seen_after_the_stated_delay(parts: Filter) -> None:
    """Time constants from nanoseconds to a fifth of a second; the delay must come out to a part in a million."""
    for first, delay_s in ((1, filter.compute_opening_delay_s(parts)), (0, filter.compute_closing_delay_s(parts))):
        seen = sight(parts, Signal(first, np.array([0.0])))

        assert seen == [pytest.approx(delay_s, rel=1e-6, abs=1e-15)]


@given(filters(), st.lists(numbers(0, 0.2), max_size=12), st.integers(0, 1))
def test_the_voltage_stays_between_the_closed_contact_and_the_supply(
    parts: Filter, edges: list[float], first: int
) -> None:
    contact = Signal(first, np.array(sorted(edges)))
    volts = filter.compute_voltage(parts, contact, np.linspace(-0.01, 0.3, 500))

    assert volts.min() >= parts.closed_v * (1 - 1e-9)
    assert volts.max() <= parts.supply_v * (1 + 1e-9)


@given(filters(), st.lists(numbers(0, 0.2), max_size=12), st.integers(0, 1))
def test_the_pin_rests_as_the_contact_does_and_never_changes_before_it(
    parts: Filter, edges: list[float], first: int
) -> None:
    contact = Signal(first, np.array(sorted(edges)))
    seen = filtered(parts, contact)

    assert seen.first == contact.first
    assert seen.last == contact.last
    assert list(seen.changes_s) == sorted(seen.changes_s)
    assert len(seen.changes_s) <= len(contact.changes_s)


@given(st.data(), filters())
def test_a_burst_no_longer_than_the_stated_one_is_seen_as_one_edge(data: st.DataObject, parts: Filter) -> None:
    """Whatever its pattern, after a long rest. This is what `bounce shorter than the filter passes` means."""
    longest_s = filter.judge(parts).longest_bounce_removed_s * 0.999
    contact, edges = data.draw(trains(longest_s, A_LONG_TIME_S))

    assert len(sight(parts, contact)) == (edges if parts.capacitor_f else len(contact.changes_s))


@given(filters().filter(lambda parts: parts.capacitor_f > 0 and parts.rising_v > parts.falling_v * 1.001))
def test_a_burst_hardly_longer_than_the_stated_one_can_be_seen_twice(parts: Filter) -> None:
    """So that the stated one is not only safe but the longest: the worst pattern, at both kinds of edge."""
    closing_s, opening_s = filter.compute_closing_delay_s(parts), filter.compute_opening_delay_s(parts)
    # Closed until just past the threshold, then parted until just past the other one; and the same at an opening.
    make = Signal(0, np.array([0.0, closing_s * (1 + 1e-7), filter.compute_make_removed_s(parts) * 1.01]))
    parting = Signal(1, np.array([0.0, opening_s * (1 + 1e-7), filter.compute_break_removed_s(parts) * 1.01]))

    assert len(sight(parts, make)) == len(sight(parts, parting)) == 3


with_a_capacitor = filters().filter(lambda parts: parts.capacitor_f > 0)


def even_turn(parts: Filter, periods_per_s: float, first: int) -> tuple[bool, bool]:
    """Turn evenly, from a rest with both contacts at a level, for 200 periods.

    Returns:
        Whether pulses are lost, and whether an edge of one phase is seen before an earlier one of the other.
    """
    half_s = 0.5 / periods_per_s
    beats = np.arange(1, 400, dtype=np.float64) * half_s
    a, b = (filtered(parts, Signal(first, beats + lag)).changes_s for lag in (0.0, half_s / 2))
    if not len(a) == len(b) == len(beats):
        return True, False
    return False, bool(np.any(a >= b) or np.any(b[:-1] >= a[1:]))


@given(with_a_capacitor, numbers(0.02, 0.98), st.integers(0, 1))
def test_an_even_turn_below_the_stated_speed_arrives_in_order_from_its_first_edge_on(
    parts: Filter, share: float, first: int
) -> None:
    assert even_turn(parts, filter.judge(parts).fastest_periods_per_s * share, first) == (False, False)


@given(with_a_capacitor, numbers(1.02, 3))
def test_an_even_turn_above_the_stated_speed_loses_pulses_or_their_order(parts: Filter, share: float) -> None:
    """From one of the two rests at least."""
    speed = filter.judge(parts).fastest_periods_per_s * share

    assert any(any(even_turn(parts, speed, first)) for first in (0, 1))


@given(with_a_capacitor)
def test_what_is_said_to_fail_first_is_what_fails_just_above_the_stated_speed(parts: Filter) -> None:
    judgement = filter.judge(parts)
    faults = [even_turn(parts, judgement.fastest_periods_per_s * 1.001, first) for first in (0, 1)]
    lost = any(pulses for pulses, _ in faults)

    assert judgement.limit == ("lost pulses" if lost else "order of the phases")


def test_a_pin_without_a_capacitor_follows_its_contact() -> None:
    contact = Signal(0, np.array([0.1, 0.2, 0.3]))
    judgement = filter.judge(Filter())

    assert sight(Filter(), contact) == [0.1, 0.2, 0.3]
    assert (judgement.fastest_periods_per_s, judgement.limit) == (math.inf, "nothing")
    assert judgement.longest_bounce_removed_s == 0


def test_a_plain_input_removes_no_bounce_where_only_the_pull_up_charges() -> None:
    """Its capacitor is emptied at the first touch, and its one threshold has nothing to hold it: common practice."""
    plain = Filter(capacitor_f=1e-7)
    schmitt = attrs.evolve(plain, rising_v=2.65, falling_v=1.7)

    assert filter.judge(plain).longest_bounce_removed_s < 1e-6
    assert filter.judge(schmitt).longest_bounce_removed_s == pytest.approx(1e-3 * math.log(3.3 / 2.35), rel=1e-3)


def test_one_microfarad_at_a_schmitt_input_delays_opening_far_longer_than_closing() -> None:
    """Delays of 7.4 ms and 0.1 us: the order of the phases is what fails first."""
    judgement = filter.judge(Filter(supply_v=4.5, capacitor_f=1e-6, rising_v=2.36, falling_v=1.53))

    assert judgement.opening_delay_s == pytest.approx(7.433e-3, rel=1e-3)
    assert judgement.closing_delay_s < 1e-6
    assert judgement.limit == "order of the phases"
    # A quarter of a period is as long as the delays differ.
    assert judgement.fastest_periods_per_s == pytest.approx(0.25 / judgement.opening_delay_s, rel=0.02)


@pytest.mark.parametrize(("phase_error_deg", "dwell_tolerance_deg"), [(20.0, 0.0), (0.0, 20.0), (-20.0, 10.0)])
def test_an_uneven_part_passes_less_speed(phase_error_deg: float, dwell_tolerance_deg: float) -> None:
    parts = Filter(series_ohm=1e4, capacitor_f=1e-7, rising_v=2.65, falling_v=1.7)

    even, uneven = filter.judge(parts), filter.judge(parts, phase_error_deg, dwell_tolerance_deg)

    assert uneven.fastest_periods_per_s < even.fastest_periods_per_s


@pytest.mark.parametrize(("low", "high"), [(0.2, 0.3), (0.25, 0.25), (0.1, 0.6)])
def test_a_filter_that_charges_as_it_discharges_passes_what_its_mirror_image_passes(low: float, high: float) -> None:
    """Thresholds as far below the supply as the others are above ground; a rest may be at either rail."""
    even = Filter(pull_up_ohm=1e3, series_ohm=1e6, capacitor_f=1e-9, contact_ohm=1e-3)
    one, other = (
        filter.judge(attrs.evolve(even, falling_v=5 * falling, rising_v=5 * rising))
        for falling, rising in ((low, high), (1 - high, 1 - low))
    )

    assert one.fastest_periods_per_s == pytest.approx(other.fastest_periods_per_s, rel=0.01)
    assert one.limit == other.limit
    assert one.opening_delay_s == pytest.approx(other.closing_delay_s, rel=0.01)
    assert one.longest_make_removed_s == pytest.approx(other.longest_break_removed_s, rel=0.01)


@given(with_a_capacitor, encoders(), numbers(0.1, 0.98), seeds, st.sampled_from((1, -1)))
def test_an_uneven_part_turned_evenly_below_the_stated_speed_arrives_whole_and_in_order(
    parts: Filter, part: Encoder, share: float, seed: int, way: int
) -> None:
    """From any of its detents' rests, either way, wherever its edges lie within their tolerance."""
    judgement = filter.judge(parts, part.phase_error_deg, part.dwell_tolerance_deg)
    detents_per_s = judgement.fastest_periods_per_s * share * part.detents_per_period
    moved = motion.make_steady(way * 20 * part.detents_per_period, detents_per_s)
    ideal = contacts(part, moved, seed)
    seen = [filtered(parts, phase) for phase in ideal]

    assert order(seen[0], seen[1]) == order(*ideal)


def order(a: Signal, b: Signal) -> list[str]:
    """Return whose edges follow each other."""
    edges = [(at_s, "a") for at_s in a.changes_s.tolist()] + [(at_s, "b") for at_s in b.changes_s.tolist()]
    return [phase for _, phase in sorted(edges)]
