"""When the firmware looks and what it believes: against a reader that is written as firmware is, look by look."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.reader import DebounceKind, Reader, ReaderKind
from knobmenu.bench.schedule import Beginning
from knobmenu.bench.signal import Bytes, Floats, Signal, get_codes
from tests.bench.stages import read
from tests.bench.strategies import numbers, readers, seeds

QUIET = Signal(0, np.zeros(0))


@st.composite
def pins(draw: st.DrawFn) -> Signal:
    """A pin that changes up to forty times in half a second, at any distance."""
    return Signal(draw(st.integers(0, 1)), np.array(sorted(draw(st.lists(numbers(0, 0.5), max_size=40)))))


def looked(reader: Reader, a: Signal, b: Signal = QUIET, end_s: float = 1.0, seed: int = 1) -> tuple[Floats, Bytes]:
    return read(reader, a, b, end_s, seed)


def believed(at_s: Floats, seen: Bytes, first: int, asked_s: Floats) -> list[int]:
    """Return the code that is believed at moments."""
    place = np.searchsorted(at_s, asked_s, side="right") - 1
    return [int(seen[nth]) if nth >= 0 else first for nth in place.tolist()]


def lock_out(reader: Reader, at_s: list[float], levels: list[int], level: int) -> list[int]:
    free_s, told = -1.0, []
    for now, found in zip(at_s, levels, strict=True):
        if found != level and now >= free_s - 1e-9:
            level, free_s = found, now + reader.lockout_ms / 1000
        told.append(level)
    return told


def integrator(reader: Reader, at_s: list[float], levels: list[int], level: int) -> list[int]:
    total, told = level * reader.samples, []
    for found in levels:
        total = max(0, min(reader.samples, total + (1 if found else -1)))
        level = {0: 0, reader.samples: 1}.get(total, level)
        told.append(level)
    return told


def equal_looks(reader: Reader, at_s: list[float], levels: list[int], level: int) -> list[int]:
    last, told = [level] * reader.samples, []
    for found in levels:
        last = [*last[1:], found]
        if len(set(last)) == 1:
            level = found
        told.append(level)
    return told


LOOPS: tuple[ReaderKind, ...] = ("polled", "timer")
DEBOUNCES: tuple[DebounceKind, ...] = ("none", "lockout", "integrator", "equal")
FIRMWARE: dict[str, Callable[[Reader, list[float], list[int], int], list[int]]] = {
    "lockout": lock_out,
    "integrator": integrator,
    "equal": equal_looks,
}


@given(
    st.sampled_from(DEBOUNCES),
    st.sampled_from(LOOPS),
    numbers(0.1, 20),
    numbers(0.1, 30),
    st.integers(1, 8),
    pins(),
    pins(),
    seeds,
)
def test_a_loop_believes_what_firmware_that_looks_every_time_believes(
    debounce: DebounceKind,
    kind: ReaderKind,
    period_ms: float,
    lockout_ms: float,
    looks: int,
    a: Signal,
    b: Signal,
    seed: int,
) -> None:
    """The bench leaves out looks that change nothing; here every one is taken."""
    reader = Reader(kind=kind, period_ms=period_ms, debounce=debounce, lockout_ms=lockout_ms, samples=looks)
    first = a.first << 1 | b.first
    at_s, seen = looked(reader, a, b, 1.5, seed)
    every_s = np.arange(Beginning.draw(reader, seed).sample_s, 1.5, period_ms / 1000)

    plain = get_codes(a, b, every_s)
    if debounce == "none":
        expected = plain.tolist()
    else:
        firmware = FIRMWARE[debounce]
        told_a = firmware(reader, every_s.tolist(), (plain >> 1).tolist(), a.first)
        told_b = firmware(reader, every_s.tolist(), (plain & 1).tolist(), b.first)
        expected = [one << 1 | other for one, other in zip(told_a, told_b, strict=True)]
    # Asked between the looks, so that the last bit of a float decides nothing.
    assert believed(at_s, seen, first, every_s + period_ms / 2000) == expected


@given(readers(debounce=("none",)), pins(), pins(), seeds)
def test_every_look_believes_what_the_pins_are_then_and_the_last_change_is_seen_in_the_end(
    reader: Reader, a: Signal, b: Signal, seed: int
) -> None:
    at_s, seen = looked(reader, a, b, 1.5, seed)

    assert np.all(np.diff(at_s) > 0)
    assert seen.tolist() == get_codes(a, b, at_s).tolist()
    changed = len(a.changes_s) + len(b.changes_s)
    if changed:
        assert seen[-1] == a.last << 1 | b.last


@given(numbers(0.1, 20), numbers(0, 1), seeds)
def test_an_edge_is_seen_within_a_period_and_its_jitter(period_ms: float, jitter: float, seed: int) -> None:
    jitter_ms = jitter * period_ms
    reader = Reader(period_ms=period_ms, jitter_ms=jitter_ms)
    at_s, _ = looked(reader, Signal(0, np.array([0.3])), seed=seed)

    assert 0.3 <= at_s[0] <= 0.3 + (period_ms + jitter_ms) / 1000 + 1e-9


def crowd(end_s: float = 1.0) -> Signal:
    """A pin that changes every 10 us, so that every look is told."""
    return Signal(0, np.arange(1e-5, end_s, 1e-5))


def test_a_loop_without_jitter_looks_evenly_and_one_with_jitter_does_not() -> None:
    even, _ = looked(Reader(period_ms=5.0), crowd())
    uneven, _ = looked(Reader(period_ms=5.0, jitter_ms=2.0), crowd())

    assert np.diff(even) == pytest.approx(5e-3)
    assert len(uneven) == pytest.approx(len(even), abs=1)
    assert np.ptp(np.diff(uneven)) > 1e-3


def held_up(kind: ReaderKind, period_ms: float) -> Reader:
    """Disturb a loop or a timer for 30 of every 100 ms, each by what disturbs it."""
    if kind == "polled":
        return Reader(kind=kind, period_ms=period_ms, blocked_for_ms=30.0, blocked_every_ms=100.0)
    return Reader(kind=kind, period_ms=period_ms, masked_for_ms=30.0, masked_every_ms=100.0)


@pytest.mark.parametrize("kind", LOOPS)
def test_no_look_falls_into_a_blocked_stretch_and_one_waits_at_its_end(kind: ReaderKind) -> None:
    reader = held_up(kind, period_ms=1.0)
    at_s, _ = looked(reader, crowd(2.0), end_s=2.0)
    gaps = np.diff(at_s)

    assert gaps.max() == pytest.approx(0.030, abs=1.01e-3)
    long = np.flatnonzero(gaps > 0.02)
    assert np.diff(at_s[long + 1]) == pytest.approx(0.100, abs=1e-6)


def test_after_a_blocked_stretch_a_loop_goes_round_anew_and_a_timer_keeps_its_beat() -> None:
    loop, _ = looked(held_up("polled", 7.0), crowd(2.0), end_s=2.0)
    timer, _ = looked(held_up("timer", 7.0), crowd(2.0), end_s=2.0)

    def beats(at_s: Floats) -> Floats:
        """Where in the timer's period each look lies that follows no stretch. [s]"""
        free = at_s[1:][np.diff(at_s) < 0.0071]
        return np.asarray(np.mod(free - free[0] + 0.0035, 0.007))

    assert np.ptp(beats(timer)) < 1e-6
    assert np.ptp(beats(loop)) > 1e-3


def test_a_loop_that_is_always_at_other_work_still_gets_round_once_between() -> None:
    reader = Reader(period_ms=0.1, blocked_for_ms=200.0, blocked_every_ms=200.0)
    at_s, _ = looked(reader, crowd(3.0), end_s=3.0)
    groups = np.split(at_s, np.flatnonzero(np.diff(at_s) > 0.1) + 1)

    assert np.diff([group[0] for group in groups]) == pytest.approx(0.2, abs=1e-3)
    assert max(len(group) for group in groups) <= 2


def test_an_interrupt_reads_the_pins_a_latency_after_each_edge() -> None:
    reader = Reader(kind="interrupt", latency_ms=0.2, service_ms=0.1)
    a, b = Signal(0, np.array([0.1, 0.3])), Signal(0, np.array([0.2, 0.4]))
    at_s, seen = looked(reader, a, b)

    assert at_s == pytest.approx([0.1002, 0.2002, 0.3002, 0.4002])
    assert seen.tolist() == [2, 3, 1, 0]


def test_an_interrupt_on_phase_a_alone_hears_no_edge_of_phase_b() -> None:
    reader = Reader(kind="interrupt", phases="a", latency_ms=0.2)
    at_s, seen = looked(reader, Signal(0, np.array([0.1, 0.3])), Signal(0, np.array([0.2])))

    assert at_s == pytest.approx([0.1002, 0.3002])
    assert seen.tolist() == [2, 1]


def test_edges_before_the_pins_are_read_are_one_look_and_edges_while_the_handler_works_ask_for_one_more() -> None:
    reader = Reader(kind="interrupt", latency_ms=1.0, service_ms=2.0)
    crowded = Signal(0, np.array([0.1, 0.1005, 0.1015, 0.102, 0.1025, 0.2]))
    at_s, _ = looked(reader, crowded)

    # Read at 101 ms; the next three edges come before 103 ms and are remembered once: read at 103 ms and a latency.
    assert at_s == pytest.approx([0.101, 0.104, 0.201])


def test_edges_in_a_masked_section_are_remembered_once_and_read_at_its_end() -> None:
    reader = Reader(kind="interrupt", latency_ms=0.1, masked_for_ms=50.0, masked_every_ms=100.0)
    at_s, _ = looked(reader, Signal(0, np.arange(0.001, 2.0, 0.001)), end_s=2.0)
    gaps = np.diff(at_s)
    starts = np.flatnonzero(gaps > 0.04)

    assert gaps.max() == pytest.approx(0.05, abs=1.1e-3)
    assert np.diff(at_s[starts + 1]) == pytest.approx(0.1, abs=1e-6)


def test_a_lock_out_believes_a_change_at_once_and_then_ignores_its_chatter() -> None:
    reader = Reader(period_ms=0.1, debounce="lockout", lockout_ms=5.0)
    chatter = Signal(0, np.array([0.1, 0.101, 0.102, 0.103, 0.104]))
    at_s, seen = looked(reader, chatter)

    assert set(seen.tolist()) == {2}
    assert at_s[0] == pytest.approx(0.1, abs=1.01e-4)


def test_a_lock_out_in_an_interrupt_believes_a_level_that_it_missed_only_at_the_next_edge() -> None:
    """In a loop the first look after the lock-out mends it; an interrupt has no such look."""
    touched, other = Signal(0, np.array([0.1, 0.102, 0.3])), Signal(0, np.array([0.2]))
    reader = Reader(period_ms=0.1, debounce="lockout", lockout_ms=5.0, latency_ms=0.0)
    interrupt, told = looked(attrs.evolve(reader, kind="interrupt"), touched, other)
    loop, seen = looked(reader, touched, other)

    # What was found at 102 ms is ignored for the time being.
    assert told.tolist() == [2, 2, 1, 3]
    assert interrupt == pytest.approx([0.1, 0.102, 0.2, 0.3])
    assert seen.tolist() == [2, 2, 0, 1, 3]
    assert loop[2] == pytest.approx(0.105, abs=2.1e-4)


def test_an_integrator_and_equal_looks_delay_a_clean_edge_by_their_looks_and_swallow_a_shorter_glitch() -> None:
    for debounce in DEBOUNCES[2:]:
        reader = Reader(period_ms=1.0, debounce=debounce, samples=4)
        glitch = Signal(0, np.array([0.1, 0.1025, 0.3]))
        at_s, seen = looked(reader, glitch)
        change = np.flatnonzero(np.diff(np.concatenate(([0], seen >> 1))))

        assert len(change) == 1
        assert at_s[change[0]] == pytest.approx(0.3035, abs=0.51e-3)


@given(readers(debounce=DEBOUNCES), seeds)
def test_pins_that_never_change_are_never_believed_to_have_changed(reader: Reader, seed: int) -> None:
    at_s, seen = looked(reader, Signal(1, np.zeros(0)), QUIET, seed=seed)

    assert set(seen.tolist()) <= {2}
    assert len(at_s) == len(seen)


@given(readers(debounce=DEBOUNCES), pins(), pins(), seeds)
def test_the_same_seed_reads_the_same(reader: Reader, a: Signal, b: Signal, seed: int) -> None:
    one, other = (looked(reader, a, b, seed=seed) for _ in range(2))

    assert one[0].tolist() == other[0].tolist()
    assert one[1].tolist() == other[1].tolist()
