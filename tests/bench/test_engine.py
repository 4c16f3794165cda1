"""One engine for a whole run and for a knob that is turned now: it does not matter in how many pieces time passes."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain
from knobmenu.bench.engine import Engine, Traces
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import NO_MOMENTS, Floats
from tests.bench.strategies import chains, motions, numbers, seeds

TAIL_S = 1.0
"""How long after the motion's end time goes on, so that what is late arrives. [s]"""


def everything(traces: list[Traces]) -> dict[str, list[float]]:
    """Join what each feed returned."""
    stages: dict[str, list[Floats]] = {}
    for one in traces:
        count = one.counting
        for name, values in (
            ("contact A", one.contacts[0]),
            ("contact B", one.contacts[1]),
            ("pin A", one.pins[0]),
            ("pin B", one.pins[1]),
            ("samples", count.samples_s),
            ("codes", count.codes.astype(np.float64)),
            ("counted at", count.counted_s),
            ("counted", count.counted.astype(np.float64)),
        ):
            stages.setdefault(name, []).append(values)
    return {name: np.concatenate(pieces).tolist() for name, pieces in stages.items()}


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
    end_s = moved.end_s + TAIL_S
    start = float(moved.detents[0])
    whole = everything([Engine(chain, seed, start).feed(end_s, moved.at_s, moved.detents)])
    times_s = [*sorted(cut * end_s for cut in cuts), end_s]

    engine = Engine(chain, seed, start)
    pieces = [engine.feed(times_s[0], moved.at_s, moved.detents)]
    pieces += [engine.feed(until_s) for until_s in times_s[1:]]
    assert everything(pieces) == whole

    engine, pieces, fed = Engine(chain, seed, start), [], 0
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
