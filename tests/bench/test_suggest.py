"""What is suggested reaches what is said of it: by its own verdict, and in another simulator at its worst corner."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import attrs
import numpy as np
import pytest

from knobmenu.bench.chain import Chain, change
from knobmenu.bench.contact import Burst, Contact
from knobmenu.bench.corners import list_worst_corners
from knobmenu.bench.filter import compute_break_removed_s, compute_make_removed_s
from knobmenu.bench.firmware import Firmware
from knobmenu.bench.run import Count, Run, count, run
from knobmenu.bench.signal import Signal
from knobmenu.bench.statistics import compute_interval
from knobmenu.bench.suggest import Suggestion, suggest
from knobmenu.bench.verdict import get_target, reach_verdict
from tests.bench import spice
from tests.sampling import sampled


def request(
    bounce_ms: float,
    turns_per_s: float,
    *,
    kind: str = "polled",
    decoder: str = "table",
    pulses: int = 20,
    detents_per_period: int = 1,
) -> Chain:
    """Return a chain as ``bench suggest --bounce-ms --turns-per-s`` makes it: flicks, and bursts up to a length."""
    burst = Burst(mean_ms=0.35 * bounce_ms, longest_ms=bounce_ms, bounces=3.0)
    chain = Chain(contact=Contact(on_make=burst, on_break=burst))
    return change(
        chain,
        {
            "judging.target_turns_per_s": turns_per_s,
            "reader.kind": kind,
            "decoder.kind": decoder,
            "encoder.pulses_per_turn": pulses,
            "encoder.detents_per_period": detents_per_period,
        },
    )


REQUESTS = (
    request(2.0, 1.0),
    request(2.0, 2.0),
    request(3.0, 1.0),
    request(5.0, 0.5),
    request(1.0, 3.0),
    request(2.0, 1.0, kind="interrupt"),
    request(3.0, 0.7, kind="timer", decoder="one-edge"),
    request(2.0, 1.0, decoder="two-edges", pulses=12, detents_per_period=2),
    request(10.0, 0.3),
    request(2.0, 1.5, pulses=24, kind="interrupt", decoder="table-ignore"),
)
"""Requests for parts, all turned in flicks."""


@cache
def suggested(number: int) -> list[Suggestion]:
    """Suggest parts for one of the requests."""
    return suggest(REQUESTS[number])


def equip(chain: Chain, series_ohm: float, capacitor_f: float) -> Chain:
    return change(
        chain, {"filter.input": "schmitt", "filter.series_ohm": series_ohm, "filter.capacitor_f": capacitor_f}
    )


def test_two_ms_of_bounce_at_one_turn_a_second_lists_nothing_that_other_parts_beat() -> None:
    """Of 27 kohm with 150 nF and 22 kohm with 100 nF: what is listed and removes as much reaches as much or more.

    More than 1.3 times the longest bounce need not be removed.
    """
    chain = REQUESTS[0]
    found = suggested(0)
    reached = [one.reached_turns_per_s for one in found]

    assert reached == sorted(reached, reverse=True)
    for one in found[::4]:
        assert one.reached_turns_per_s == pytest.approx(reach_verdict(one.chain).worst.turns_per_s, rel=1e-9)
    for series_ohm, capacitor_f in ((27e3, 150e-9), (22e3, 100e-9)):
        other = equip(chain, series_ohm, capacitor_f)
        alike = [one for one in found if one.removed_ms >= 0.95 * min(removed_ms(other), 1.3 * 2.0)]
        assert max(one.reached_turns_per_s for one in alike) >= reach_verdict(other).worst.turns_per_s


def removed_ms(chain: Chain) -> float:
    parts = [one for corner in list_worst_corners(chain.filter, chain.tolerance) for one in (corner.a, corner.b)]
    return 1000 * min(min(compute_make_removed_s(one), compute_break_removed_s(one)) for one in parts)


@pytest.mark.skipif(spice.NGSPICE is None, reason="ngspice is not installed (package ngspice)")
@pytest.mark.parametrize("number", range(sampled(len(REQUESTS), 1)))
def test_the_first_suggestions_count_right_in_ngspice_at_their_worst_corner(number: int, tmp_path: Path) -> None:
    """Flicks at the target, or at what is reached where that is less: five suggestions, each at its worst corner.

    The pins are ngspice's, all else is the bench's. No suggestion errs more than is tolerated, and what is counted is
    what the bench counts.
    """
    chain = REQUESTS[number]
    first = [one for one in suggested(number)[:5] if one.reached_turns_per_s]
    tried = [done for one in first for done in runs(one, min(one.reached_turns_per_s, get_target(chain)))]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        counts = list(pool.map(lambda done: recount(done, Path(mkdtemp(dir=tmp_path))), tried))

    assert len(first) >= 3
    for done, found in zip(tried, counts, strict=True):
        assert abs(found.errors - count(done).errors) <= 1, (done.chain.filter, done.corner.name, done.seed)
    each = len(tried) // len(first)
    for nth, one in enumerate(first):
        true = sum(found.true for found in counts[nth * each : (nth + 1) * each])
        errors = sum(found.errors for found in counts[nth * each : (nth + 1) * each])
        low, _ = compute_interval([errors / true] * 2, true)
        assert low <= chain.judging.tolerated_error_rate, (
            one.chain.filter.series_ohm,
            one.chain.filter.capacitor_f,
            errors,
            true,
        )


def runs(one: Suggestion, speed: float) -> list[Run]:
    """Simulate flicks at the corner that errs most somewhat above a speed."""
    corners = list_worst_corners(one.chain.filter, one.chain.tolerance)
    short = attrs.evolve(one.chain, turning=attrs.evolve(one.chain.turning, detents=sampled(50, 25)))
    first = one.chain.judging.first_seed
    seeds = range(first, first + sampled(4, 1))
    worst = max(
        corners, key=lambda corner: sum(count(run(short, seed, 1.5 * speed, corner)).errors for seed in range(1, 5))
    )
    return [run(short, seed, speed, worst) for seed in seeds]


def without_spikes(contact: Signal) -> Signal:
    """Leave out pairs of edges that are closer than ngspice's ramps are long."""
    kept: list[float] = []
    for at_s in contact.changes_s.tolist():
        if kept and at_s - kept[-1] < 2 * spice.RAMP_S:
            kept.pop()
        else:
            kept.append(at_s)
    return Signal(contact.first, np.array(kept))


def recount(done: Run, folder: Path) -> Count:
    """Count what the firmware counts of the pins that ngspice finds."""
    end_s = done.motion.end_s
    pins = []
    for parts, contact in zip((done.corner.a, done.corner.b), done.contacts, strict=True):
        wave = spice.simulate(parts, without_spikes(contact), end_s, folder, spice.OWN_STEPS)
        pins.append(Signal(contact.first, spice.crossings(parts, contact.first, wave)))
    firmware = Firmware(done.chain, pins[0].first << 1 | pins[1].first, done.seed)
    counting = firmware.feed(pins[0].changes_s, pins[1].changes_s, end_s)
    return count(attrs.evolve(done, pins=(pins[0], pins[1]), counting=counting))
