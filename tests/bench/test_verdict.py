"""The verdict: intervals that rest on published numbers, the fastest speed, and in plain words what to change."""

from __future__ import annotations

import re

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from knobmenu.bench import verdict
from knobmenu.bench.chain import Chain, Judging, Turning
from knobmenu.bench.chain_file import loads
from knobmenu.bench.filter import Filter, judge
from knobmenu.bench.verdict import SPEEDS, Verdict, interval, row
from tests.bench.strategies import filters

QUICK = "[judging]\nseeds = 8\n[contact]\npreset = 'encoder-3ms'\n"


def judged(text: str) -> Verdict:
    return verdict.verdict(loads(QUICK + text))


def test_the_table_of_students_t_is_that_of_scipy() -> None:
    """Two-sided 95 percent, against the library scipy from the registry."""
    table = verdict._T_975

    assert len(table) == 30
    assert table == pytest.approx([stats.t.ppf(0.975, degrees) for degrees in range(1, 31)], abs=6e-4)


@given(st.integers(0, 500), st.integers(2, 30))
def test_where_all_seeds_agree_the_interval_is_wilsons(wrong: int, seeds: int) -> None:
    """E. B. Wilson, J. Am. Statist. Assoc. 22, 1927, 209-212, as the library scipy computes it."""
    expected = stats.binomtest(wrong * seeds, 500 * seeds).proportion_ci(method="wilson")

    assert interval([wrong / 500] * seeds, 500 * seeds) == pytest.approx(tuple(expected), abs=1e-6)


def test_an_interval_of_no_error_at_all_still_has_a_width() -> None:
    """For 2000 detents without an error about two in a thousand are still possible: Wilson's z^2 / (n + z^2)."""
    low, high = interval([0.0] * 20, 2000)

    assert low == 0
    assert high == pytest.approx(1.959964**2 / (2000 + 1.959964**2))


@given(st.lists(st.floats(0, 5), min_size=2, max_size=60), st.integers(100, 10_000))
def test_an_interval_holds_its_mean_and_students_interval(shares: list[float], detents: int) -> None:
    low, high = interval(shares, detents)
    error = stats.sem(shares) * stats.t.ppf(0.975, len(shares) - 1)

    assert low <= np.mean(shares) + 1e-12
    assert high >= np.mean(shares) - 1e-12
    # The table ends at 30 degrees of freedom; 1.960 stands for all above.
    assert high >= np.mean(shares) + error * 0.95 - 1e-12


@pytest.mark.parametrize("share", [0.002, 0.05, 0.4])
def test_ninety_five_of_a_hundred_intervals_hold_the_truth(share: float) -> None:
    """Of independent errors; 400 times 20 seeds of 100 detents."""
    generator = np.random.default_rng(1)
    trials = generator.binomial(100, share, (400, 20)) / 100
    held = [low <= share <= high for low, high in (interval(list(one), 2000) for one in trials)]

    assert np.mean(held) > 0.93


def test_a_row_holds_one_count_for_each_seed_and_their_mean_error() -> None:
    found = row(loads(QUICK + "[decoder]\nkind = 'one-edge'"), 1.0)

    assert len(found.counts) == 8
    assert found.true == 800
    assert found.error_rate == pytest.approx(sum(one.errors for one in found.counts) / 800)
    assert found.low < found.error_rate < found.high


def test_the_first_seed_settles_all_chance() -> None:
    chain = loads(QUICK + "[decoder]\nkind = 'one-edge'")
    other = attrs.evolve(chain, judging=attrs.evolve(chain.judging, first_seed=100))

    assert row(chain, 1.0) == row(chain, 1.0)
    assert row(chain, 1.0) != row(other, 1.0)


def test_errors_of_a_rocked_knob_are_told_for_each_time_that_it_is_rocked() -> None:
    """A quarter-period encoder that is rocked over an edge counts forth and back."""
    part = "[encoder]\ndetents_per_period = 4\nphase_error_deg = 30\n"
    chain = loads(part + "[turning]\nkind = 'dither'\ndetents = 50")
    found = row(chain, 0.2, 4)

    assert found.true == 0
    assert found.error_rate == pytest.approx(sum(one.extra for one in found.counts) / 200)
    assert found.error_rate > 0


def test_a_verdict_tries_every_speed_and_finds_the_fastest_that_is_right() -> None:
    found = judged("")
    right = [one.turns_per_s for one in found.rows if one.error_rate <= 0.01]

    assert tuple(one.turns_per_s for one in found.rows) == SPEEDS
    assert found.searched_to_turns_per_s == SPEEDS[-1]
    assert max(right) <= found.fastest_turns_per_s < min(set(SPEEDS) - set(right))
    assert row(found.chain, found.fastest_turns_per_s).error_rate <= 0.01


def test_a_chain_that_is_right_at_every_speed_needs_no_change() -> None:
    found = verdict.verdict(loads("[judging]\nseeds = 4\n[contact]\npreset = 'clean'\n[reader]\nkind = 'interrupt'"))

    assert found.fastest_turns_per_s == SPEEDS[-1]
    assert found.advice == "Nothing: no speed that was tried errs more than is borne."


def test_a_chain_that_is_wrong_at_every_speed_is_good_up_to_none() -> None:
    assert judged("[decoder]\nkind = 'one-edge'").fastest_turns_per_s == 0


def test_a_recorded_motion_is_tried_at_its_own_speed_alone() -> None:
    text = "[turning]\nkind = 'recorded'\nrecorded_ms = [0, 400, 900]\nrecorded_detents = [0, 4, 1]"
    found = judged(text)

    assert len(found.rows) == 1
    assert found.rows[0].true == 8 * 7


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "[decoder]\nkind = 'one-edge'",
            r"The decoder counts one edge of one phase: already at 0\.1 turns/s clicks are counted more than once;"
            r" decode both phases by the transition table\. At 0\.1 turns/s that takes the errors from \S+ % to 0 %\.",
        ),
        (
            "[decoder]\nkind = 'two-edges'",
            r"The decoder counts both edges of one phase: .* decode both phases by the transition table\.",
        ),
        (
            "[reader]\nblocked_for_ms = 200\nblocked_every_ms = 400",
            r"The loop blocks for 200 ms at a time: already at 0\.1 turns/s clicks are lost; read both phases in an"
            r" interrupt, or in a timer every 1 ms",
        ),
        (
            "[reader]\nkind = 'timer'\nmasked_for_ms = 200\nmasked_every_ms = 400",
            r"The timer is masked for 200 ms at a time: .*keep masked sections shorter",
        ),
        (
            "[reader]\nkind = 'interrupt'\nmasked_for_ms = 200\nmasked_every_ms = 400",
            r"Interrupts are masked for 200 ms at a time: .*keep masked sections shorter",
        ),
        ("[reader]\nkind = 'interrupt'\nphases = 'a'", r"Only phase A interrupts: .*; interrupt on both phases\."),
        ("[reader]\nperiod_ms = 20", r"The pins are read only every 20 ms: above .*; read the pins every 1 ms\."),
        (
            "[reader]\nperiod_ms = 1\ndebounce = 'lockout'\nlockout_ms = 50",
            r"The lock-out of 50 ms swallows edges: .*; leave the lock-out out, the transition table needs none\.",
        ),
        (
            "[reader]\nperiod_ms = 1\ndebounce = 'integrator'\nsamples = 8",
            r"The integrator over 8 samples swallows edges: .*; leave the integrator out",
        ),
        (
            "[reader]\nperiod_ms = 1\ndebounce = 'equal'\nsamples = 8",
            r"The wait for 8 equal samples swallows edges: .*; leave the wait out",
        ),
        (
            "[filter]\nseries_ohm = 10000\ncapacitor_f = 1e-5\nrising_v = 2.65\nfalling_v = 1.7",
            r"The filter is slow: it removes bounce up to \S+ ms and delays as much: .* make the capacitor ten times"
            r" smaller",
        ),
        (
            "[reader]\nkind = 'interrupt'",
            r"The contacts bounce for up to 3 ms: above .* turns/s clicks are lost; filter each phase",
        ),
        (
            "[reader]\nperiod_ms = 200\n[decoder]\nkind = 'one-edge'",
            r"The pins are read only every 200 ms: already at 0\.1 turns/s clicks are lost; read the pins every 1 ms,"
            r" and decode both phases by the transition table\.",
        ),
    ],
    ids=lambda text: re.sub(r"[^a-z0-9]+", "-", text.lower())[:40] if text.startswith("[") else "",
)
def test_the_advice_names_the_fault_the_speed_and_what_to_change_first(text: str, words: str) -> None:
    assert re.match(words, judged(text).advice), judged(text).advice


def test_a_part_that_is_too_uneven_gets_no_change_that_helps() -> None:
    """Its phase B comes 80 degrees late: the knob rests where its code is not, and the table cannot know."""
    text = "[judging]\nseeds = 4\n[contact]\npreset = 'clean'\n[encoder]\nphase_error_deg = 80\n"
    found = verdict.verdict(loads(text + "[turning]\nkind = 'reversals'\n[reader]\nkind = 'interrupt'"))

    assert found.advice.startswith("No change that was tried helps: already at 0.1 turns/s clicks are lost.")


@given(filters(), st.floats(0.05, 50))
def test_the_filter_that_is_offered_removes_the_longest_burst(parts: Filter, longest_ms: float) -> None:
    usual, sized = verdict._schmitt_filters(parts, longest_ms)

    assert usual.capacitor_f == 1e-7
    assert judge(sized).longest_bounce_removed_s * 1000 >= longest_ms * (1 - 1e-6)
    assert judge(sized).longest_bounce_removed_s * 1000 < longest_ms * 1.6


def test_what_the_advice_promises_is_what_the_changed_chain_does() -> None:
    found = judged("[reader]\nperiod_ms = 20")
    promised = re.search(r"At (\S+) turns/s that takes the errors from (\S+) % to (\S+) %", found.advice)
    changed = attrs.evolve(found.chain, reader=attrs.evolve(found.chain.reader, period_ms=1.0))

    assert promised
    speed, before, after = map(float, promised.groups())
    assert row(found.chain, speed).error_rate * 100 == pytest.approx(before, rel=0.01)
    assert row(changed, speed).error_rate * 100 == pytest.approx(after, rel=0.01)


def test_every_change_that_is_tried_is_a_chain_that_can_be() -> None:
    """At any supply, for thresholds scale with it."""
    for supply_v in (1.8, 3.3, 12.0):
        chain = loads(f"[filter]\nsupply_v = {supply_v}\ncapacitor_f = 1e-6\n[decoder]\nkind = 'one-edge'")
        assert verdict._changes(chain)


def test_progress_is_told_in_words() -> None:
    told: list[str] = []
    chain = Chain(turning=Turning(detents=10), judging=Judging(seeds=2))
    verdict.verdict(attrs.evolve(chain, decoder="one-edge"), told.append)

    assert told[0] == "trying 0.1 turns/s"
    assert "trying: decode both phases by the transition table" in told
