"""Two parameters varied together: which ones, over which values, and the same map however many workers there are."""

from __future__ import annotations

import attrs
import pytest

from knobmenu.bench.chain import SECTIONS, Chain, Turning, change, get_value
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.errors import BenchError
from knobmenu.bench.sweep import MOST_CELLS, Axis, Cell, Map, read_axis, sweep, try_cell
from knobmenu.bench.verdict import is_good, measure_row

CHAIN = Chain(turning=Turning(detents=20), contact=PRESETS["encoder-3ms"], decoder="one-edge")
SPEEDS = Axis(path="turning.turns_per_s", values=(0.5, 3.0))
PERIODS = Axis(path="reader.period_ms", values=(0.1, 5.0, 30.0, 100.0))


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("reader.period_ms=1,2,5", (1.0, 2.0, 5.0)),
        ("reader.period_ms=5", (5.0,)),
        ("reader.period_ms=1:9:5", (1.0, 3.0, 5.0, 7.0, 9.0)),
        ("reader.period_ms=0.1:1000:5", (0.1, 1.0, 10.0, 100.0, 1000.0)),
        ("reader.jitter_ms=0:10:3", (0.0, 5.0, 10.0)),
        ("encoder.phase_error_deg=-40:40:3", (-40.0, 0.0, 40.0)),
        ("encoder.pulses_per_turn=10:13:6", (10.0, 11.0, 12.0, 13.0)),
        (" filter.capacitor_f =1e-9:1e-7:3", (1e-9, 1e-8, 1e-7)),
        ("contact.break_mean_ms=1,2", (1.0, 2.0)),
    ],
)
def test_an_axis_is_read_from_its_values_or_from_its_ends_and_their_number(
    text: str, values: tuple[float, ...]
) -> None:
    """Over more than a decade the values are spaced by equal ratios; whole numbers are rounded and kept once."""
    assert read_axis(text).values == pytest.approx(values)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("reader.period=1,2", r'got "reader\.period"\. Did you mean "reader\.period_ms"\?'),
        ("reader.kind=1,2", "expected one of"),
        ("decoder.kind=1,2", "expected one of"),
        ("judging.seeds=1,2", "expected one of"),
        ("speed=1,2", "expected one of"),
        ("turning.recorded_ms=1,2", "expected one of"),
        ("", "expected one of"),
        ("reader.period_ms", "LOW:HIGH:NUMBER, or values with commas between"),
        ("reader.period_ms=fast", "LOW:HIGH:NUMBER"),
        ("reader.period_ms=1:2", "LOW:HIGH:NUMBER"),
        ("reader.period_ms=5:1:4", "LOW:HIGH:NUMBER"),
        ("reader.period_ms=1:5:1", "LOW:HIGH:NUMBER"),
        ("reader.period_ms=1:5:2000", "LOW:HIGH:NUMBER"),
        ("reader.period_ms=0,1", r"sweep\.reader\.period_ms: expected a number from 0\.001 to 10000 ms, got 0"),
        ("reader.period_ms=nan", r"expected a number .*, got nan"),
        ("filter.pull_up_ohm=-5,10", r"expected a number above 0 .*, got -5"),
    ],
)
def test_an_axis_that_cannot_be_is_refused_with_what_can(text: str, words: str) -> None:
    with pytest.raises(BenchError, match=words):
        read_axis(text)


def test_every_number_of_a_chain_that_can_be_swept_can_be_changed() -> None:
    for section in ("turning", "encoder", "contact", "filter", "reader"):
        for key in [key for key, rule in SECTIONS[section].items() if hasattr(rule, "low")]:
            # Values that contradict nothing else in the chain.
            value = {
                "supply_v": 6,
                "rising_v": 3,
                "noise_v": 0.1,
                "noise_bandwidth_hz": 1e4,
                "blocked_for_ms": 0,
                "masked_for_ms": 0,
            }.get(key, 1)
            other = change(CHAIN, {f"{section}.{key}": value})
            assert get_value(other, f"{section}.{key}") == value
            assert attrs.evolve(other, **{section: getattr(CHAIN, section)}) == CHAIN


def test_figures_of_a_contact_change_at_both_edges_or_at_the_opening_alone() -> None:
    burst = Burst(mean_ms=1.0, longest_ms=2.0, bounces=2.0)
    chain = attrs.evolve(CHAIN, contact=Contact(on_make=burst, on_break=burst))
    other = attrs.evolve(burst, mean_ms=1.5)

    assert change(chain, {"contact.mean_ms": 1.5}).contact == Contact(on_make=other, on_break=other)
    assert change(chain, {"contact.break_mean_ms": 1.5}).contact == Contact(on_make=burst, on_break=other)


def test_a_contact_that_does_not_bounce_stays_so() -> None:
    clean = attrs.evolve(CHAIN, contact=Contact(on_make=Burst(mean_ms=1.0, longest_ms=2.0, bounces=2.0)))

    assert change(clean, {"contact.bounces": 5.0}).contact.on_break is None


def test_a_cell_is_the_mean_error_of_its_chain() -> None:
    tried = change(CHAIN, {"reader.period_ms": 5.0, "turning.turns_per_s": 3.0})
    expected = measure_row(tried, 3.0, 4)

    found = try_cell(CHAIN, ("reader.period_ms", 5.0), ("turning.turns_per_s", 3.0), 4)
    assert found == Cell(expected.error_rate, is_good(tried, expected))


def test_a_cell_of_a_chain_that_cannot_be_is_empty() -> None:
    assert try_cell(CHAIN, ("filter.supply_v", 2.0), ("turning.turns_per_s", 1.0), 2) is None


def test_a_map_is_the_same_on_one_core_and_on_all_and_tells_how_far_it_is() -> None:
    told: list[tuple[int, int]] = []
    alone = sweep(CHAIN, PERIODS, SPEEDS, seeds=2, workers=1)
    shared = sweep(CHAIN, PERIODS, SPEEDS, seeds=2, workers=2, progress=lambda done, cells: told.append((done, cells)))

    assert alone == shared
    assert told == [(done, 8) for done in range(1, 9)]
    assert [len(line) for line in alone.cells] == [2, 2, 2, 2]
    assert alone.cells[1][1] == try_cell(CHAIN, ("reader.period_ms", 5.0), ("turning.turns_per_s", 3.0), 2)


def test_a_map_that_is_too_large_or_of_one_parameter_twice_is_refused() -> None:
    many = Axis(path="reader.period_ms", values=tuple(float(value) for value in range(1, 200)))
    more = Axis(path="turning.turns_per_s", values=tuple(value / 10 for value in range(1, 100)))

    assert len(many.values) * len(more.values) > MOST_CELLS
    with pytest.raises(BenchError, match="expected at most 10000, got 19701 cells"):
        sweep(CHAIN, many, more)
    with pytest.raises(BenchError, match=r"got turning\.turns_per_s twice"):
        sweep(CHAIN, SPEEDS, SPEEDS)


def test_a_map_keeps_its_axes() -> None:
    found = sweep(CHAIN, SPEEDS, PERIODS, seeds=2, workers=1)

    assert isinstance(found, Map)
    assert (found.down, found.across) == (SPEEDS, PERIODS)
