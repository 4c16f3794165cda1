"""A level over time."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.signal import Signal, get_codes, merge_moments
from tests.bench.strategies import numbers

signals = st.builds(
    lambda first, at_s: Signal(first, np.array(sorted(at_s))), st.integers(0, 1), st.lists(numbers(0, 1), max_size=30)
)


@given(signals, st.lists(numbers(-1, 2), max_size=20))
def test_a_level_is_the_first_one_turned_over_at_each_change_up_to_then(signal: Signal, asked_s: list[float]) -> None:
    for at_s in asked_s:
        changes = sum(1 for change in signal.changes_s if change <= at_s)
        assert signal.get_levels(np.array([at_s]))[0] == (signal.first + changes) % 2
    assert signal.last == signal.get_levels(np.array([2.0]))[0]


@given(signals, signals)
def test_codes_put_phase_a_before_phase_b_and_moments_are_all_changes_once_in_order(a: Signal, b: Signal) -> None:
    at_s = merge_moments(a, b)

    assert at_s.tolist() == sorted({*a.changes_s.tolist(), *b.changes_s.tolist()})
    assert get_codes(a, b, at_s).tolist() == (2 * a.get_levels(at_s) + b.get_levels(at_s)).tolist()
