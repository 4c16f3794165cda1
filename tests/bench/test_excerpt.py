"""The errors of a run, one by one, and the part of it that shows the first of them."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import loads
from knobmenu.bench.excerpt import choose_run, choose_view, find_slips
from knobmenu.bench.run import Run, count, run
from knobmenu.bench.schedule import find_held_up_s
from knobmenu.bench.scope import reach_detents
from knobmenu.bench.verdict import reach_verdict
from tests.bench.strategies import chains, motions, seeds, send

MASKED = loads("[reader]\nkind = 'timer'\nperiod_ms = 0.5\nmasked_for_ms = 12\nmasked_every_ms = 60")
SLOW = loads("[reader]\nperiod_ms = 10")
POLLED = loads("[contact]\npreset = 'encoder-3ms'\n[reader]\nperiod_ms = 0.1\n[decoder]\nkind = 'one-edge'")

runs = st.builds(send, chains(), motions(), seeds)


@given(runs)
def test_as_many_errors_of_each_kind_are_found_as_are_counted_in_order_of_time(done: Run) -> None:
    slips = find_slips(done)
    kinds = Counter(slip.kind for slip in slips)
    found = count(done)

    assert (kinds["lost"], kinds["extra"], kinds["reversed"]) == (found.lost, found.extra, found.reversed)
    assert [slip.at_s for slip in slips] == sorted(slip.at_s for slip in slips)


@given(runs)
def test_an_excerpt_lies_within_the_run_and_contains_the_first_error_with_what_came_before(done: Run) -> None:
    slips = find_slips(done)
    view = choose_view(done, slips)

    assert 0 <= view.begin_s < view.end_s <= done.motion.end_s * (1 + 1e-12)
    if slips:
        assert view.begin_s <= slips[0].at_s <= view.end_s
        assert slips[0].at_s - view.begin_s > 0.5 * view.length_s or view.begin_s == 0


def test_a_detent_lost_in_masked_time_is_one_whose_edges_lie_in_it() -> None:
    """Of every detent found to be lost, edges lie in a masked section; in nine of ten, edges of both phases."""
    phases_hidden: list[int] = []
    for seed in range(1, 21):
        done = run(MASKED, seed)
        at_s = [0.0, *(moment_s for moment_s, _ in reach_detents(done.motion))]
        for slip in find_slips(done):
            begin_s, end_s = at_s[at_s.index(slip.at_s) - 1], slip.at_s
            hidden = [
                sum(int(((pin.changes_s > low) & (pin.changes_s < high)).any()) for pin in done.pins)
                for low, high in find_held_up_s(MASKED.reader, seed, begin_s, end_s)
            ]
            phases_hidden.append(max(hidden, default=0))
    assert len(phases_hidden) > 20
    assert min(phases_hidden) >= 1
    assert phases_hidden.count(2) >= 0.9 * len(phases_hidden)


def test_an_extra_count_follows_closely_on_the_right_one() -> None:
    """With a contact that bounces for 3 ms and an edge that is counted, extra counts come within the burst."""
    done = run(POLLED, 1)
    times_s = done.counting.counted_s.tolist()
    slips = [slip for slip in find_slips(done) if slip.kind == "extra"]

    assert len(slips) > 100
    for slip in slips:
        assert slip.at_s - times_s[times_s.index(slip.at_s) - 1] < 0.0031
        assert slip.words == f"detent {slip.detent} is counted twice"


def test_a_knob_that_is_rocked_has_no_detent_to_lose() -> None:
    rocked = loads("[turning]\nkind = 'dither'\n[contact]\npreset = 'encoder-3ms'\n[encoder]\ndetents_per_period = 4")
    done = run(rocked, 1)

    assert {slip.kind for slip in find_slips(done)} <= {"extra"}
    assert choose_view(done, find_slips(done)).end_s <= done.motion.end_s


@pytest.mark.parametrize(
    ("chain", "turns_per_s"),
    [
        pytest.param(MASKED, 1.0, id="errs at its own speed"),
        pytest.param(SLOW, 1.0, id="errs rarely at its own speed"),
        pytest.param(loads("[reader]\nperiod_ms = 5"), 2.0, id="errs at the target"),
        pytest.param(loads("[contact]\npreset = 'clean'"), 1.0, id="does not err"),
    ],
)
def test_the_run_that_is_shown_errs_where_one_up_to_the_target_does(chain: Chain, turns_per_s: float) -> None:
    found = reach_verdict(chain)
    done = choose_run(chain, found)

    assert done.turns_per_s == pytest.approx(turns_per_s, rel=0.3)
    assert bool(count(done).errors) == (any(row.errors for row in found.rows if row.turns_per_s <= 2))


def test_a_chain_that_errs_at_a_corner_alone_is_shown_with_the_parts_of_that_corner() -> None:
    chain = loads(
        "[encoder]\npulses_per_turn = 24\n[filter]\nseries_ohm = 10e3\ncapacitor_f = 100e-9\n"
        "rising_v = 2.62\nfalling_v = 1.7\n"
        "[reader]\nkind = 'interrupt'"
    )
    found = reach_verdict(chain)
    done = choose_run(chain, found)

    assert not found.is_yes
    assert count(done).errors
    at_nominal = any(row.errors for row in found.rows if row.turns_per_s <= found.target_turns_per_s)
    assert (done.corner.a == done.corner.b == chain.filter) == at_nominal
