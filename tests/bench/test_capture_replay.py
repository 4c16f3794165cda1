"""A capture sent through a reader and a decoder is counted as those pins are in the bench, however it is cut."""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench import run
from knobmenu.bench.capture.measure import measure
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.capture.replay import replay
from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.filter import Filter, compute_opening_delay_s
from knobmenu.bench.motion import SETTLING_S
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import Signal
from tests.bench import stages

SLOW = Filter(series_ohm=10_000.0, capacitor_f=1e-7, rising_v=2.9, falling_v=1.9)

READERS = (
    Reader(kind="polled", period_ms=1.0),
    Reader(kind="polled", period_ms=3.0, blocked_for_ms=40.0, blocked_every_ms=300.0),
    Reader(kind="timer", period_ms=2.0, debounce="lockout"),
    Reader(kind="timer", period_ms=1.0, debounce="integrator"),
    Reader(kind="polled", period_ms=1.0, debounce="equal", samples=3),
    Reader(kind="interrupt"),
    Reader(kind="interrupt", phases="a", latency_ms=0.5, blocked_for_ms=20.0, blocked_every_ms=150.0),
)

chains = st.builds(
    Chain,
    turning=st.builds(
        Turning,
        kind=st.sampled_from(("flicks", "reversals")),
        detents=st.sampled_from((12, -12)),
        turns_per_s=st.just(1.5),
    ),
    encoder=st.builds(Encoder, detents_per_period=st.sampled_from((1, 2))),
    contact=st.sampled_from((PRESETS["clean"], PRESETS["encoder-2ms"])),
    filter=st.sampled_from((Filter(), SLOW)),
    reader=st.sampled_from(READERS),
    decoder=st.sampled_from(("one-edge", "two-edges", "table")),
)


@attrs.frozen(eq=False)
class Cut:
    """A recording in pieces of so many seconds."""

    whole: Recording
    length_s: float

    def walk_pieces(self) -> Iterator[Recording]:
        level = {name: pin.first for name, pin in self.whole.pins.items()}
        for nth in range(int(self.whole.end_s / self.length_s) + 1):
            begin_s, end_s = nth * self.length_s, min((nth + 1) * self.length_s, self.whole.end_s)
            pins = {
                name: Signal(level[name], pin.changes_s[(pin.changes_s > begin_s) & (pin.changes_s <= end_s)])
                for name, pin in self.whole.pins.items()
            }
            level = {name: pin.last for name, pin in pins.items()}
            yield Recording(pins, end_s)


def captured(contacts: tuple[Signal, Signal], end_s: float) -> Recording:
    """Capture two contacts under pull-ups."""
    a, b = (Signal(1 - one.first, one.changes_s) for one in contacts)
    return Recording({"a": a, "b": b}, end_s)


@given(chains, st.integers(0, 99), st.floats(0.01, 2.0), st.booleans())
def test_a_replay_counts_what_the_bench_counts_on_the_same_pins(
    chain: Chain, seed: int, length_s: float, filtered: bool
) -> None:
    done = run.run(chain, seed)
    capture = captured(done.contacts, done.motion.end_s)
    measured = measure(capture, "a", "b", assumed_detents_per_period=chain.encoder.detents_per_period)
    chain = attrs.evolve(
        chain, encoder=attrs.evolve(chain.encoder, detents_per_period=measured.detents_per_period or 1)
    )
    pins = tuple(stages.filtered(chain.filter, one) for one in done.contacts) if filtered else done.contacts
    seen = stages.read(chain.reader, pins[0], pins[1], done.motion.end_s + SETTLING_S, seed)
    _, counted = stages.decode(chain.decoder, chain.encoder, 0, *seen)

    told = replay(Cut(capture, length_s), measured, chain, seed, filtered=filtered)

    assert (told.up, told.down) == (counted[counted > 0].sum(), -counted[counted < 0].sum())
    assert (told.total, told.net) == (np.abs(counted).sum(), counted.sum())


@pytest.mark.parametrize("pull_up", [True, False])
def test_a_capture_of_open_pins_that_are_low_is_replayed_as_one_of_open_pins_that_are_high(pull_up: bool) -> None:
    done = run.run(Chain(turning=Turning(detents=-17)), 1)
    capture = captured(done.contacts, done.motion.end_s)
    if not pull_up:
        capture = Recording({n: Signal(1 - p.first, p.changes_s) for n, p in capture.pins.items()}, capture.end_s)

    measured = measure(capture)

    assert measured.closed_is_low is pull_up
    assert replay(capture, measured, Chain(), 1).net == measured.detents == -17


def test_what_a_filter_delays_past_the_end_still_arrives() -> None:
    """The last edge comes 1 ms before the capture ends, and the filter is slower than that."""
    done = run.run(Chain(turning=Turning(kind="steady", detents=5), contact=PRESETS["clean"]), 1)
    last_s = max(float(one.changes_s[-1]) for one in done.contacts)
    capture = captured(done.contacts, last_s + 0.001)
    chain = Chain(filter=SLOW, reader=Reader(kind="interrupt"))
    assert compute_opening_delay_s(SLOW) > 0.001

    measured = attrs.evolve(measure(capture, "a", "b"), detents_per_period=1)

    assert replay(capture, measured, chain, 1, filtered=True).net == 5
