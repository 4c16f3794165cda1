"""Firmware in a simulated controller, fed with slow edges that noise crosses many times, counts what the bench counts.

The noise is slower than the default and stronger, so that its crossings are farther apart than a handler takes, and so
that no count hangs on the cycles of one instruction: `tests.bench.firmware` knows them to 2 us.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from knobmenu.bench.capture import vcd
from knobmenu.bench.chain import Chain, Turning, change
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.filter import Filter
from knobmenu.bench.firmware import Firmware
from knobmenu.bench.run import Run, run
from knobmenu.bench.signal import Signal
from tests.bench.firmware import COMPILER, INTERRUPT_A, SIMULATOR, STRATEGIES, Tally, build, dump, simulate
from tests.bench.stages import before
from tests.sampling import sampled

pytestmark = pytest.mark.skipif(
    COMPILER is None or SIMULATOR is None,
    reason="avr-gcc or simavr is not installed (packages gcc-avr, avr-libc, simavr)",
)

SEEDS = range(1, sampled(20, 3) + 1)
TRIED = {"interrupt_a": INTERRUPT_A, "interrupts": STRATEGIES["interrupts"]}
NOISY = Filter(capacitor_f=470e-9, noise_v=0.1, noise_bandwidth_hz=3000.0)


def noisy(strategy: str) -> Chain:
    return Chain(
        turning=Turning(kind="reversals", detents=20),
        contact=PRESETS["clean"],
        filter=NOISY,
        reader=TRIED[strategy].reader,
        decoder=TRIED[strategy].decoder,
    )


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("firmware")
    build(folder, TRIED)
    return folder


def play(built: Path, strategy: str, sent: Run) -> Tally:
    levels = built / f"{strategy}-{sent.seed}.vcd"
    levels.write_text(dump(sent.pins, sent.motion.end_s))
    return simulate(strategy, built, levels)


def predict(chain: Chain, built: Path, strategy: str, sent: Run) -> tuple[int, int]:
    """Read and decode in the bench the very levels that the controller got, whose ticks are 1 us."""
    pins = vcd.read(built / f"{strategy}-{sent.seed}.vcd").pins
    a, b = (Signal(1 - pins[name].first, pins[name].changes_s) for name in ("iogD_2", "iogD_3"))
    firmware = Firmware(chain, a.first << 1 | b.first, sent.seed)
    end_s = sent.motion.end_s
    counted = firmware.feed(before(a, end_s), before(b, end_s), end_s).counted
    return int(counted[counted > 0].sum()), -int(counted[counted < 0].sum())


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("strategy", TRIED)
def test_firmware_counts_the_crossings_that_the_bench_counts(strategy: str, seed: int, built: Path) -> None:
    chain = noisy(strategy)
    sent = run(chain, seed, 1.0)
    printed = play(built, strategy, sent)

    assert (printed.up, printed.down) == predict(chain, built, strategy, sent)


@pytest.mark.parametrize("seed", SEEDS)
def test_noise_makes_firmware_count_too_often_and_a_schmitt_trigger_cures_it(seed: int, built: Path) -> None:
    plain = noisy("interrupt_a")
    cured = change(plain, {"filter.input": "schmitt"})
    wrong, right = (play(built, "interrupt_a", run(one, seed, 1.0)) for one in (plain, cured))
    true = run(plain, seed, 1.0).motion.true_detents

    assert wrong.up + wrong.down > 1.2 * true
    assert right.up + right.down == true
