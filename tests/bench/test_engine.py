"""One engine for a whole run and for a knob that is turned now: it does not matter in how many pieces time passes."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain
from knobmenu.bench.engine import Engine, Traces
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import NO_MOMENTS
from tests.bench.splits import everything, feed, split_s
from tests.bench.strategies import chains, motions, numbers, seeds


@given(
    chains(debounce=("none", "lockout", "integrator", "equal")),
    motions(),
    seeds,
    st.lists(numbers(0, 1), max_size=8),
    st.sampled_from(("one-edge", "two-edges", "table")),
)
def test_any_split_of_a_run_gives_the_same_run(
    chain: Chain, moved: Motion, seed: int, cuts: list[float], decoder: str
) -> None:
    """To the last bit of every edge, sample and count; also where the course itself is fed piece by piece."""
    times_s = split_s(moved, cuts)
    whole = feed(chain, moved, seed, split_s(moved, []))
    assert feed(chain, moved, seed, times_s) == whole

    engine, pieces, fed = Engine(chain, seed, float(moved.detents[0])), list[Traces](), 0
    for until_s in times_s:
        # Up to the first knot at or after the moment, so that the course is known until then.
        last = min(int(np.searchsorted(moved.at_s, until_s)), len(moved.at_s) - 1)
        knots = slice(fed, last + 1) if last > fed or not fed else slice(0, 0)
        pieces.append(engine.feed(until_s, moved.at_s[knots], moved.detents[knots]))
        fed = last
    assert everything(pieces) == whole


@given(chains(debounce=("none", "lockout", "integrator", "equal")), motions(), seeds)
def test_an_engine_that_has_settled_counts_nothing_more(chain: Chain, moved: Motion, seed: int) -> None:
    engine = Engine(chain, seed, float(moved.detents[0]))
    engine.feed(moved.end_s, moved.at_s, moved.detents)
    settled = engine.settled
    later = engine.feed(moved.end_s + 100.0, NO_MOMENTS, NO_MOMENTS)

    assert engine.settled
    assert not settled or not len(later.counting.counted)
