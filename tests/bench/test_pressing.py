"""The push switch: what the project's own button makes of a bouncing contact, and which debounce it needs."""

from __future__ import annotations

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain, Judging
from knobmenu.bench.chain_file import loads
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.filter import Filter
from knobmenu.bench.press_run import PressCount, PressRun, count, press, report
from knobmenu.bench.presses import DEBOUNCES_MS, judge_presses
from knobmenu.bench.pressing import Pressing
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import Signal
from knobmenu.design.hardware import LONGEST_DEBOUNCE_MS
from tests.bench.strategies import numbers, seeds

AT_EVERY_EDGE = Reader(kind="interrupt", latency_ms=0.0, service_ms=0.0)
FAST = Reader(period_ms=0.1)


def believed(*edges_ms: float) -> PressRun:
    """Two presses, from 100 to 200 ms and from 400 to 1000 ms, of which the firmware believes these edges."""
    accepted = Signal(0, np.array(edges_ms) / 1000)
    return PressRun(((0.1, 0.2), (0.4, 1.0)), accepted, 2.0)


LONG = Pressing(longest_ms=900, long_press_ms=500)


def test_a_clean_switch_is_told_once_for_each_press_short_and_long() -> None:
    done = believed(100, 200, 400, 1000)

    assert report(done, LONG, 5) == [(0.205, False), (0.905, True)]
    assert count(done, LONG, 5) == PressCount(true=2, reported=2, lost=0, extra=0, mistaken=0)


def test_every_closing_taken_for_a_press_knows_no_long_ones() -> None:
    done = believed(100, 101, 102, 200, 400, 1000)

    assert report(done, LONG, None) == [(0.1, False), (0.102, False), (0.4, False)]
    assert count(done, LONG, None) == PressCount(true=2, reported=3, lost=0, extra=1, mistaken=1)


def test_a_press_that_nothing_is_told_of_is_lost() -> None:
    assert count(believed(100, 103, 400, 1000), LONG, 5) == PressCount(true=2, reported=1, lost=1, extra=0, mistaken=0)


def test_a_long_press_that_parts_in_the_middle_is_mistaken_for_short_ones() -> None:
    found = count(believed(100, 200, 400, 600, 650, 1000), LONG, 5)

    assert found == PressCount(true=2, reported=3, lost=0, extra=1, mistaken=1)
    assert found.errors == 2


@given(seeds, st.sampled_from(sorted(PRESETS)), st.integers(1, 20), numbers(60, 200))
def test_with_a_debounce_longer_than_the_burst_every_press_is_told_once(
    seed: int, preset: str, presses: int, shortest_ms: float
) -> None:
    """Where each press and each pause is longer than debounce and burst together."""
    burst = PRESETS[preset].on_make
    debounce_ms = int(burst.longest_ms) + 1 if burst else 0
    pressing = Pressing(
        preset=preset,
        presses=presses,
        shortest_ms=shortest_ms + 2 * debounce_ms,
        longest_ms=shortest_ms + 150,
        apart_ms=shortest_ms + 2 * debounce_ms,
        long_press_ms=2000,
    )
    found = count(press(Chain(pressing=pressing, reader=AT_EVERY_EDGE), seed), pressing, debounce_ms)

    assert found == PressCount(true=presses, reported=presses, lost=0, extra=0, mistaken=0)


def test_the_switches_of_a_published_guide_are_told_right_with_ten_milliseconds() -> None:
    """J. Ganssle, A Guide to Debouncing (read in quotations): longest 6.2 ms; most settle in 10 ms, take 20 to 50."""
    found = judge_presses(Chain(pressing=Pressing(preset="switch"), reader=FAST))

    assert {10, 20, 50} <= set(found.right_ms)
    assert not {0, 1} & set(found.right_ms)


def test_the_default_debounce_of_linux_is_enough_for_a_tactile_switch() -> None:
    """gpio-keys, debounce-interval: 5 ms (torvalds/linux, Documentation/devicetree/bindings/input/gpio-keys.txt).

    Data sheets of such switches state 5 ms of bounce at most, https://dtsheet.com/doc/2762513/.
    """
    assert 5 in judge_presses(Chain(pressing=Pressing(preset="tactile-5ms"), reader=FAST)).right_ms


def test_a_debounce_longer_than_a_short_press_loses_it() -> None:
    rows = {one.debounce_ms: one for one in judge_presses(Chain(reader=FAST)).rows}

    assert rows[100].low > 0.1
    assert all(one.lost == one.errors for one in rows[100].counts)
    assert rows[None].error_rate == rows[0].error_rate > 0.1


def test_a_filter_in_hardware_does_what_a_debounce_does() -> None:
    parts = Filter(series_ohm=10_000.0, capacitor_f=1e-6, rising_v=2.65, falling_v=1.7)
    found = judge_presses(Chain(filter=parts, reader=FAST))

    assert found.right_ms[0] == 0


def test_a_reader_that_debounces_itself_needs_no_more() -> None:
    reader = attrs.evolve(Reader(period_ms=1.0, samples=8), debounce="integrator")

    assert judge_presses(Chain(reader=reader)).right_ms[0] == 0


@pytest.mark.parametrize(
    ("text", "needed_ms", "advised_ms"),
    [
        # The burst of 5 ms and a period of 1 ms; half of that is margin.
        ("", 6.0, 9),
        # A clean contact in a fast loop: the margin is never nothing.
        ("[pressing]\npreset = 'clean'\n[reader]\nperiod_ms = 0.1", 0.1, 1),
        # 20 kohm and 1 uF remove a burst of 5 ms.
        ("[filter]\nseries_ohm = 10000\ncapacitor_f = 1e-6\nrising_v = 2.65\nfalling_v = 1.7", 1.0, 2),
        # A burst of 30 ms leaves presses of 60 ms little: as much margin as they allow, and never nothing.
        ("[pressing]\npreset = 'encoder-30ms'\nshortest_ms = 90\nlongest_ms = 250", 31.0, 47),
    ],
    ids=["tactile", "clean", "filtered", "long"],
)
def test_the_debounce_outlasts_burst_and_sampling_with_a_margin_that_is_never_nothing(
    text: str, needed_ms: float, advised_ms: int
) -> None:
    found = judge_presses(loads(text + "\n[judging]\nseeds = 6"))

    assert found.needed_ms == pytest.approx(needed_ms)
    assert found.advised_ms == advised_ms
    assert advised_ms in found.right_ms
    assert f"debounce_ms = {advised_ms} under [knob]" in found.advice
    assert all(one.debounce_ms is None or one.debounce_ms < found.chain.pressing.long_press_ms for one in found.rows)


@pytest.mark.parametrize(
    ("reader", "needed_ms"),
    [
        (Reader(kind="timer", period_ms=100, masked_for_ms=700, masked_every_ms=1000), 805),
        (Reader(kind="timer", period_ms=500, masked_for_ms=700, masked_every_ms=1000), 1205),
        (Reader(period_ms=100, blocked_for_ms=700, blocked_every_ms=1000), 805),
        (Reader(period_ms=500, blocked_for_ms=700, blocked_every_ms=1000), 1205),
    ],
    ids=lambda value: f"{value.kind}-{value.period_ms:g}" if isinstance(value, Reader) else "",
)
def test_no_debounce_is_tried_that_a_design_cannot_have(reader: Reader, needed_ms: float) -> None:
    """Samples so rare, and presses so long, that the debounce with its margin would be longer than a design allows."""
    pressing = Pressing(presses=10, shortest_ms=2500, longest_ms=4000, apart_ms=3000, long_press_ms=8000)
    found = judge_presses(Chain(reader=reader, pressing=pressing, judging=Judging(seeds=6)))

    assert found.needed_ms == pytest.approx(needed_ms)
    assert found.rows[-1].debounce_ms == LONGEST_DEBOUNCE_MS
    if needed_ms < LONGEST_DEBOUNCE_MS:
        assert found.advised_ms == LONGEST_DEBOUNCE_MS
        assert "debounce_ms = 1000 under [knob]" in found.advice
        assert "195 ms are margin" in found.advice
    else:
        assert found.advised_ms is None
        assert "need a debounce of more than 1205 ms, and a design can have at most 1000 ms" in found.advice


def test_a_press_as_short_as_is_stated_still_counts_with_the_advised_debounce() -> None:
    """What the debounce costs in the shortest press: pressed for so long, it is reported; for half, it is not."""
    found = judge_presses(Chain())
    assert found.advised_ms is not None

    def lost(press_ms: float) -> int:
        pressing = Pressing(shortest_ms=press_ms, longest_ms=press_ms, presses=200)
        return count(press(Chain(pressing=pressing), 3), pressing, found.advised_ms).lost

    assert lost(found.shortest_press_ms) == 0
    assert lost(found.advised_ms / 2) == 200


def test_a_loop_that_samples_too_seldom_gets_no_debounce_that_is_right() -> None:
    found = judge_presses(loads("[reader]\nperiod_ms = 200\n[judging]\nseeds = 6"))

    assert found.advised_ms is None
    assert found.advice.startswith("No debounce that was tried reports every press once: sample more often")


def test_the_same_seed_is_the_same_hand_and_progress_is_told() -> None:
    said: list[str] = []
    chain = Chain(judging=Judging(seeds=3, first_seed=7))

    assert judge_presses(chain) == judge_presses(chain, said.append)
    assert said[:3] == ["pressing, 1 of 3", "pressing, 2 of 3", "pressing, 3 of 3"]
    assert said[3:6] == ["pressing with every closing"] * 3
    assert said[6].startswith("pressing with a debounce of")


def test_each_press_and_each_pause_is_within_its_bounds() -> None:
    pressing = Pressing(presses=200, shortest_ms=60, longest_ms=90, apart_ms=100)
    done = press(Chain(pressing=pressing, reader=FAST), 1)
    lengths_ms = [(end - begin) * 1000 for begin, end in done.pressed_s]
    pauses_ms = [(later[0] - one[1]) * 1000 for one, later in zip(done.pressed_s, done.pressed_s[1:], strict=False)]

    assert 60 <= min(lengths_ms) < max(lengths_ms) <= 90
    assert 100 <= min(pauses_ms) < max(pauses_ms) <= 200
    assert done.accepted.last == 0


def test_every_debounce_is_tried_in_order() -> None:
    found = judge_presses(Chain(judging=Judging(seeds=2)))
    assert found.advised_ms is not None

    assert [one.debounce_ms for one in found.rows] == [
        None,
        *sorted({*(one for one in DEBOUNCES_MS if one is not None), found.advised_ms}),
    ]
