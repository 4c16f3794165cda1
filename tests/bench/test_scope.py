"""What a scope shows of a run, and a chain that is written and read again."""

from __future__ import annotations

from itertools import pairwise

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench import filter
from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.chain_file import loads, write_toml
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.filter import Filter
from knobmenu.bench.motion import make_flicks, make_reversals, make_steady
from knobmenu.bench.reader import Reader
from knobmenu.bench.scope import Window, find_levels, find_volts, mark_columns, reach_detents
from knobmenu.bench.signal import Floats, Signal

RC = Filter(series_ohm=10_000.0, capacitor_f=1e-7, rising_v=2.9, falling_v=1.9)

signals = st.builds(
    Signal,
    st.integers(0, 1),
    st.lists(st.floats(0.0, 0.1), max_size=30, unique=True).map(lambda moments: np.array(sorted(moments))),
)
windows = st.builds(
    lambda begin, length, columns: Window(begin, begin + length, columns),
    st.floats(0.0, 0.08),
    st.floats(1e-3, 0.1),
    st.integers(1, 120),
)


def moments_in(window: Window, column: int) -> Floats:
    width = (window.end_s - window.begin_s) / window.columns
    return np.linspace(window.begin_s + column * width, window.begin_s + (column + 1) * width, 40)[1:-1]


@given(signals, windows)
def test_a_column_spans_every_level_that_the_signal_has_in_it(signal: Signal, window: Window) -> None:
    for column, (low, high) in enumerate(find_levels(signal, window)):
        seen = signal.get_levels(moments_in(window, column))
        assert low <= seen.min() <= seen.max() <= high


@given(signals, windows)
def test_a_column_spans_every_voltage_in_it_and_joins_the_next(contact: Signal, window: Window) -> None:
    spans = find_volts(RC, contact, window)
    for column, (low, high) in enumerate(spans):
        seen = filter.compute_voltage(RC, contact, moments_in(window, column))
        assert low - 1e-9 <= seen.min() <= seen.max() <= high + 1e-9
    for (low, high), (next_low, next_high) in pairwise(spans):
        assert low <= next_high + 1e-9
        assert next_low <= high + 1e-9


@given(signals, windows)
def test_each_moment_marks_its_own_column(signal: Signal, window: Window) -> None:
    found = mark_columns(signal.changes_s, window)
    inside = [at for at in signal.changes_s.tolist() if window.find_column(at) is not None]
    for at in inside:
        near = window.find_column(at)
        assert near is not None
        assert any(found[max(near - 1, 0) : near + 2])


@pytest.mark.parametrize("turned", [7, -7])
def test_the_hand_comes_to_every_detent_in_order(turned: int) -> None:
    for motion in (make_steady(turned, 20.0), make_flicks(turned, 20.0, np.random.default_rng(1))):
        found = reach_detents(motion)
        way = 1 if turned > 0 else -1
        assert [number for _, number in found] == [way * number for number in range(1, 8)]
        assert [at for at, _ in found] == sorted(at for at, _ in found)
    evenly = [at for at, _ in reach_detents(make_steady(turned, 20.0))]
    assert np.diff(evenly) == pytest.approx(0.05)


def test_the_hand_that_turns_back_comes_to_detents_again() -> None:
    motion = make_reversals(9, 20.0, np.random.default_rng(2))
    found = reach_detents(motion)
    assert len(found) == 9
    assert abs(found[-1][1]) == abs(sum(true for _, _, true in motion.strokes))


chains = st.builds(
    Chain,
    turning=st.builds(Turning, kind=st.sampled_from(("steady", "flicks")), turns_per_s=st.floats(0.1, 9.0)),
    contact=st.sampled_from([*PRESETS.values()])
    | st.builds(
        lambda burst: Contact(on_make=burst, on_break=burst),
        st.builds(Burst, mean_ms=st.floats(0.1, 2.0), longest_ms=st.floats(2.0, 9.0), bounces=st.floats(1.0, 9.0)),
    ),
    filter=st.builds(lambda farads: attrs.evolve(RC, capacitor_f=farads), st.floats(1e-10, 1e-5)),
    reader=st.builds(Reader, period_ms=st.floats(0.1, 50.0), kind=st.sampled_from(("polled", "timer", "interrupt"))),
    decoder=st.sampled_from(("one-edge", "two-edges", "table")),
)


@given(chains)
def test_a_chain_that_is_written_is_the_chain_that_is_read(chain: Chain) -> None:
    assert loads(write_toml(chain)) == chain


def test_a_recorded_motion_is_written_too() -> None:
    turning = Turning(kind="recorded", recorded_ms=(0.0, 100.0), recorded_detents=(0.0, 2.0), detents=2)
    assert loads(write_toml(Chain(turning=turning))).turning == turning
