"""The simulated encoder is causal, repeatable and quick, and counts as the bench does."""

from __future__ import annotations

import itertools

import attrs
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import PRESETS, BouncingContact
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.filter import Filter
from knobmenu.bench.live import FIRST_TRY, Counted, SimulatedKnob, SimulatedSwitch
from knobmenu.bench.press_run import press
from knobmenu.bench.pressing import Pressing
from knobmenu.bench.randomness import Source
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import Floats
from knobmenu.bench.verdict import measure_row

CLEAN = Chain(contact=PRESETS["clean"], reader=Reader(kind="interrupt"))
RC = Filter(series_ohm=10_000.0, capacitor_f=1e-7, rising_v=2.9, falling_v=1.9)

readers = (
    st.fixed_dictionaries(
        {
            "kind": st.sampled_from(("polled", "timer", "interrupt")),
            "period_ms": st.sampled_from((0.5, 1.0, 3.7, 20.0)),
            "phases": st.sampled_from(("a", "both")),
            "latency_ms": st.sampled_from((0.005, 0.3)),
            "service_ms": st.sampled_from((0.005, 2.0)),
            "blocked_for_ms": st.sampled_from((0.0, 7.0, 200.0)),
            "blocked_every_ms": st.just(500.0),
            "masked_for_ms": st.sampled_from((0.0, 7.0, 200.0)),
            "masked_every_ms": st.just(500.0),
            "debounce": st.sampled_from(("none", "lockout", "integrator", "equal")),
            "samples": st.integers(1, 5),
        }
    )
    .filter(lambda fields: fields["kind"] != "interrupt" or fields["debounce"] in ("none", "lockout"))
    .map(lambda fields: Reader(**fields))  # type: ignore[arg-type]
)

chains = st.builds(
    Chain,
    turning=st.builds(Turning, turns_per_s=st.sampled_from((0.3, 1.0, 4.0))),
    encoder=st.builds(Encoder, detents_per_period=st.sampled_from((1, 2, 4)), dwell_tolerance_deg=st.just(10.0)),
    contact=st.sampled_from([PRESETS[name] for name in ("clean", "encoder-2ms", "encoder-10ms")]),
    filter=st.sampled_from((Filter(), RC)),
    reader=st.builds(
        lambda one, jitter: attrs.evolve(one, jitter_ms=jitter * one.period_ms),
        readers,
        st.sampled_from((0.0, 0.4, 1.0)),
    ),
    decoder=st.sampled_from(("one-edge", "two-edges", "table")),
)

turns = st.lists(st.tuples(st.integers(0, 400), st.integers(-4, 4).filter(bool)), min_size=1, max_size=12).map(
    lambda gaps: list(zip(itertools.accumulate(gap for gap, _ in gaps), (number for _, number in gaps), strict=True))
)


def counts(chain: Chain, told: list[tuple[int, int]], until_ms: int, waits: tuple[int, ...] = ()) -> list[Counted]:
    """Turn a knob at moments, waiting in between at others; give all that is counted."""
    knob = SimulatedKnob(chain, 3)
    found: list[Counted] = []
    for at_ms, detents in sorted([*told, *((wait, 0) for wait in waits)], key=lambda one: one[0]):
        found += knob.turn(detents, at_ms) if detents else knob.wait(at_ms)
    return found + knob.wait(until_ms)


@given(chains, turns, st.integers(0, 12))
def test_what_was_counted_does_not_change_by_what_comes_later(
    chain: Chain, told: list[tuple[int, int]], kept: int
) -> None:
    kept = min(kept, len(told) - 1)
    next_ms = told[kept][0]

    whole = [one for one in counts(chain, told, 20_000) if one[0] <= next_ms]

    assert counts(chain, told[:kept], next_ms) == whole


@given(chains, turns, st.lists(st.integers(1, 4000), max_size=30).map(tuple))
def test_it_does_not_matter_how_often_one_asks(
    chain: Chain, told: list[tuple[int, int]], waits: tuple[int, ...]
) -> None:
    # The first turn sets the knob's own clock going.
    waits = tuple(wait for wait in waits if wait > told[0][0])

    assert counts(chain, told, 20_000, waits) == counts(chain, told, 20_000)


@given(chains, turns)
def test_every_moment_is_told_in_time_and_in_order_and_the_knob_comes_to_rest(
    chain: Chain, told: list[tuple[int, int]]
) -> None:
    knob = SimulatedKnob(chain)
    last_ms = before_ms = told[0][0]
    for at_ms, detents in told:
        for moment_ms, _ in knob.turn(detents, at_ms):
            assert before_ms <= moment_ms <= at_ms
            assert moment_ms >= last_ms
            last_ms = moment_ms
        before_ms = at_ms

    knob.wait(told[-1][0] + 60_000)

    assert knob.settled
    tally = knob.tally
    assert tally.turned == sum(abs(detents) for _, detents in told)
    assert tally.turned - tally.lost + tally.extra + tally.reversed == tally.counted


@given(turns, st.sampled_from((1, 2, 4)), st.sampled_from((PRESETS["clean"], PRESETS["encoder-2ms"])))
def test_interrupts_on_both_phases_and_the_table_count_every_detent(
    told: list[tuple[int, int]], per_period: int, contact: object
) -> None:
    """A bounce of one contact while the other stands still is a step back and forth, which the table undoes."""
    chain = attrs.evolve(CLEAN, encoder=Encoder(detents_per_period=per_period), turning=Turning(turns_per_s=0.2))

    assert sum(number for _, number in counts(chain, told, 60_000)) == sum(detents for _, detents in told)


def test_a_detent_that_falls_into_a_blocked_loop_is_lost_and_one_that_does_not_is_counted() -> None:
    blocked = Reader(kind="polled", period_ms=1.0, blocked_for_ms=300.0, blocked_every_ms=1000.0)
    knob = SimulatedKnob(attrs.evolve(CLEAN, reader=blocked), seed=5)

    for number in range(200):
        knob.turn(1, number * 137)
        knob.wait(number * 137 + 120)
    knob.wait(60_000)

    # A detent takes 50 ms, its edges the middle three quarters of that; 300 of 1000 ms are blocked.
    assert 0.20 <= knob.tally.lost / knob.tally.turned <= 0.35
    assert knob.tally.extra == knob.tally.reversed == 0


def test_what_a_loop_sees_late_is_counted_late() -> None:
    slow = Reader(kind="interrupt", latency_ms=80.0)
    knob = SimulatedKnob(attrs.evolve(CLEAN, reader=slow, turning=Turning(turns_per_s=0.1)))

    assert knob.turn(1, 0) == []
    ((moment_ms, detents),) = knob.wait(2000)

    # At a tenth of a turn in a second a detent takes 500 ms, and its last edge comes after seven eighths of that.
    assert (moment_ms, detents) == (438 + 80, 1)
    assert knob.tally.late_ms == 18


@pytest.mark.parametrize(
    "chain",
    [
        Chain(decoder="one-edge", reader=Reader(kind="interrupt")),
        Chain(decoder="two-edges", reader=Reader(period_ms=1.0)),
        Chain(decoder="one-edge", reader=Reader(period_ms=1.0, debounce="lockout", lockout_ms=1.0)),
        Chain(reader=Reader(period_ms=1.0, blocked_for_ms=40.0, blocked_every_ms=200.0)),
    ],
    ids=("one edge", "two edges", "lock-out", "blocked"),
)
def test_it_errs_as_often_as_the_bench_says(chain: Chain) -> None:
    """Even turns, as many as a verdict tries: each share lies in the 95 % interval of the other, or close by."""
    chain = attrs.evolve(chain, turning=Turning(kind="steady", detents=100))
    told = measure_row(chain, 1.0)
    shares = []
    for seed in range(20):
        knob = SimulatedKnob(chain, seed)
        knob.turn(100, 0)
        knob.wait(30_000)
        shares.append(knob.tally.errors / 100)
    mean = sum(shares) / len(shares)

    width = max(told.high - told.low, 0.02)
    assert told.low - width <= mean <= told.high + width


signals = st.lists(st.integers(1, 40_000), max_size=40).map(
    lambda gaps: np.cumsum(np.array([0.01, *(gap / 1e6 for gap in gaps)]))
)


@given(signals, st.sampled_from(("clean", "encoder-2ms", "encoder-10ms")))
def test_a_bouncing_contact_comes_to_rest_at_its_level_and_bounces_no_longer_than_its_preset(
    ideal_s: Floats, preset: str
) -> None:
    contact = BouncingContact(PRESETS[preset], 0, 1, Source.PHASE_A)
    edges = contact.feed(ideal_s, 100.0).tolist()

    assert edges == sorted(edges)
    assert len(edges) % 2 == len(ideal_s) % 2
    assert contact.settled
    bursts = (PRESETS[preset].on_make, PRESETS[preset].on_break)
    longest_s = max((burst.longest_ms / 1000 for burst in bursts if burst), default=0.0)
    for edge in edges:
        assert any(begin <= edge <= begin + longest_s + 1e-12 for begin in ideal_s.tolist())


def test_the_poor_chain_of_the_app_is_poor() -> None:
    knob = SimulatedKnob(FIRST_TRY)
    for number in range(100):
        knob.turn(1, number * 211)
    knob.wait(60_000)

    assert knob.tally.lost >= 5
    assert knob.tally.extra >= 5


@given(st.lists(st.integers(0, 300), min_size=1, max_size=12), readers)
def test_a_push_switch_is_found_as_it_is_in_the_end_and_in_order(gaps_ms: list[int], look: Reader) -> None:
    switch, down, at_ms, found = SimulatedSwitch(Chain(reader=look)), False, 0, []
    for gap_ms in gaps_ms:
        at_ms += gap_ms
        down = not down
        found += switch.push(down, at_ms)
    found += switch.wait(at_ms + 60_000)

    assert switch.settled
    assert [level for _, level in found] == [bool((number + 1) % 2) for number in range(len(found))]
    # An interrupt that comes while a lock-out lasts is the last there is: what it found is never believed.
    if (look.kind, look.debounce) != ("interrupt", "lockout"):
        assert (found[-1][1] if found else False) is down
    assert [moment for moment, _ in found] == sorted(moment for moment, _ in found)


def test_a_switch_that_is_looked_at_quickly_is_seen_to_bounce_and_no_longer_than_its_preset() -> None:
    found: list[tuple[int, bool]] = []
    for seed in range(50):
        switch = SimulatedSwitch(Chain(reader=Reader(kind="interrupt")), seed)
        found += [*switch.push(True, 0), *switch.wait(1000)]

    assert sum(level for _, level in found) > 50
    assert max(moment for moment, _ in found) <= 6


def test_a_push_that_falls_into_a_blocked_loop_is_never_seen() -> None:
    switch = SimulatedSwitch(Chain(reader=Reader(blocked_for_ms=900.0, blocked_every_ms=1000.0)), seed=1)
    found = []
    for number in range(100):
        found += switch.push(True, number * 370)
        found += switch.push(False, number * 370 + 60)

    assert 0 < sum(level for _, level in found) < 60


@given(readers, st.sampled_from((Filter(), RC)), st.integers(0, 50))
def test_a_clean_switch_is_found_as_the_bench_finds_it(look: Reader, parts: Filter, seed: int) -> None:
    """The same presses, with the reader's beginning drawn by the same seed."""
    # Where the loop is blocked at its own moment, a push may be missed by one and not by the other.
    assume(not look.held_up[0])
    chain = Chain(
        reader=look,
        filter=parts,
        pressing=Pressing(preset="clean", presses=6, shortest_ms=250, longest_ms=450, apart_ms=300),
    )
    done = press(chain, seed)
    switch = SimulatedSwitch(chain, seed)
    switch.push(False, 0)
    found: list[tuple[int, bool]] = []
    for begin_s, end_s in done.pressed_s:
        found += [*switch.push(True, round(begin_s * 1000)), *switch.push(False, round(end_s * 1000))]
    found += switch.wait(round(done.end_s * 1000) + 5000)

    assert len(found) == len(done.accepted.changes_s)
    slack_ms = 2 + look.period_ms * (look.samples + 2)
    for (at_ms, _), at_s in zip(found, done.accepted.changes_s.tolist(), strict=True):
        assert abs(at_ms - at_s * 1000) <= slack_ms
