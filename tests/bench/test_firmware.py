"""The bench's counts against those of firmware in a simulated controller, which reads the bench's own levels.

Strategies, timing and their sources: `tests.bench.firmware`. Every trial is one train of edges, from the bench's hand
and contacts, at one speed, clean or bouncing. Each strategy is tried where it counts right and where it does not: at
6 turns/s, faster than a data sheet's 1 turn/s, the transition table errs as well, and must err as predicted.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import attrs
import numpy as np
import pytest

from knobmenu.bench.capture import vcd
from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.firmware import Firmware
from knobmenu.bench.run import Run, run
from knobmenu.bench.schedule import Beginning
from knobmenu.bench.signal import Signal, merge_moments
from tests.bench.firmware import (
    COMPILER,
    SIMULATOR,
    STRATEGIES,
    UNSURE_MS,
    Tally,
    build,
    dump,
    known_beginning,
    simulate,
)
from tests.bench.stages import before
from tests.sampling import sampled

pytestmark = pytest.mark.skipif(
    COMPILER is None or SIMULATOR is None,
    reason="avr-gcc or simavr is not installed (packages gcc-avr, avr-libc, simavr)",
)

SPEEDS = (0.5, 2.0, 6.0)
"""[turns/s]"""

CONTACTS = ("clean", "encoder-2ms")
DETENTS = 20

TRAINS = sampled(12, 1)
"""How many trains each strategy is tried on, at each speed and with each contact."""

PHASES = 400
"""How often the bench draws when a loop begins."""


@attrs.frozen(order=True)
class Trial:
    """One strategy on one train."""

    strategy: str
    turns_per_s: float
    contact: str
    seed: int

    @property
    def chain(self) -> Chain:
        """The bench's twin of it."""
        strategy = STRATEGIES[self.strategy]
        return Chain(
            turning=Turning(kind="reversals", detents=DETENTS),
            contact=PRESETS[self.contact],
            reader=strategy.reader,
            decoder=strategy.decoder,
        )

    @property
    def exact(self) -> bool:
        """Whether the count hangs on no bounce that is met or missed by chance."""
        return self.contact == "clean" or STRATEGIES[self.strategy].exact


TRIALS = [
    Trial(strategy, speed, contact, seed)
    for strategy in STRATEGIES
    for speed in SPEEDS
    for contact in CONTACTS
    for seed in range(1, TRAINS + 1)
]


@attrs.frozen(eq=False)
class Outcome:
    """What the bench sent, as the controller got it, and what the firmware printed."""

    sent: Run
    pins: tuple[Signal, Signal]
    printed: Tally

    def predicted(self, trial: Trial, beginning: Beginning) -> Run:
        """Read and decode the same levels in the bench."""
        a, b = self.pins
        firmware = Firmware(trial.chain, a.first << 1 | b.first, trial.seed, beginning)
        end_s = self.sent.motion.end_s
        return attrs.evolve(self.sent, counting=firmware.feed(before(a, end_s), before(b, end_s), end_s))


def carried_out(trial: Trial, built: Path) -> Outcome:
    sent = run(trial.chain, trial.seed, trial.turns_per_s)
    levels = built / f"{trial.strategy}-{trial.turns_per_s}-{trial.contact}-{trial.seed}.vcd"
    levels.write_text(dump(sent.pins, sent.motion.end_s))
    got = vcd.read(levels).pins
    a, b = (Signal(1 - got[name].first, got[name].changes_s) for name in ("iogD_2", "iogD_3"))
    return Outcome(sent, (a, b), simulate(trial.strategy, built, levels))


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[Trial, Outcome]]:
    built = tmp_path_factory.mktemp("firmware")
    build(built)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        yield dict(zip(TRIALS, pool.map(lambda trial: carried_out(trial, built), TRIALS), strict=True))


def up_and_down(done: Run) -> tuple[int, int]:
    counted = done.counting.counted
    return int(counted[counted > 0].sum()), -int(counted[counted < 0].sum())


@pytest.mark.parametrize("trial", [trial for trial in TRIALS if trial.exact], ids=str)
def test_clean_contacts_and_the_table_are_counted_as_predicted(trial: Trial, outcomes: dict[Trial, Outcome]) -> None:
    """Where the two microseconds that are not known of a look decide, either count is as predicted; they seldom do."""
    assert (outcomes[trial].printed.up, outcomes[trial].printed.down) in predictions(trial, outcomes[trial])


def predictions(trial: Trial, outcome: Outcome) -> set[tuple[int, int]]:
    """Give the counts up and down that the bench predicts, over what is not known of the firmware's looks."""
    strategy = STRATEGIES[trial.strategy]
    firsts_ms = strategy.first_ms + np.linspace(-UNSURE_MS, UNSURE_MS, 5)
    return {
        up_and_down(outcome.predicted(trial, known_beginning(strategy, first_ms))) for first_ms in firsts_ms.tolist()
    }


def test_nearly_every_such_count_is_predicted_without_a_choice(outcomes: dict[Trial, Outcome]) -> None:
    choices = [len(predictions(trial, outcomes[trial])) for trial in TRIALS if trial.exact]

    assert sum(one == 1 for one in choices) >= 0.95 * len(choices)


@pytest.mark.parametrize("speed", SPEEDS)
@pytest.mark.parametrize("strategy", [name for name, one in STRATEGIES.items() if not one.exact])
def test_what_polling_makes_of_bounce_lies_where_99_of_100_predictions_lie(
    strategy: str, speed: float, outcomes: dict[Trial, Outcome]
) -> None:
    """Which bounces a loop meets hangs on microseconds, so when it begins is drawn, within its first round.

    When it stands still is thereby known to within a round.
    """
    chance = np.random.default_rng(1)
    trials = [trial for trial in TRIALS if (trial.strategy, trial.turns_per_s, trial.exact) == (strategy, speed, False)]
    sums = np.zeros((PHASES, 2))
    for trial in trials:
        outcome = outcomes[trial]
        for phase in range(PHASES):
            known = known_beginning(STRATEGIES[strategy], chance.uniform(0, trial.chain.reader.period_ms))
            sums[phase] += up_and_down(outcome.predicted(trial, known))
    low, high = np.quantile(sums, (0.005, 0.995), axis=0, method="closest_observation")

    tallies = [outcomes[trial].printed for trial in trials]
    printed = np.array([sum(tally.up for tally in tallies), sum(tally.down for tally in tallies)])
    assert printed.sum() > 0
    assert np.all((low <= printed) & (printed <= high)), f"{printed} counted up and down, {low} to {high} predicted"


@pytest.mark.parametrize(
    "trial", [trial for trial in TRIALS if trial.strategy == "poll" or trial.strategy.startswith("timer")], ids=str
)
def test_a_loop_and_a_timer_look_as_often_as_their_cycles_say(trial: Trial, outcomes: dict[Trial, Outcome]) -> None:
    """The rounds that were counted in the listing are those that this compiler made, to 1 look in 1000."""
    looks = outcomes[trial].sent.motion.end_s * 1000 / trial.chain.reader.period_ms

    assert outcomes[trial].printed.samples == pytest.approx(looks, rel=0.001, abs=1)


@pytest.mark.parametrize("trial", [trial for trial in TRIALS if trial.strategy == "interrupts"], ids=str)
def test_an_interrupt_looks_at_least_as_often_as_predicted_and_at_most_once_an_edge(
    trial: Trial, outcomes: dict[Trial, Outcome]
) -> None:
    """More often than predicted, by looks that find nothing new.

    The controller clears an interrupt's flag as it enters the handler, some cycles before the handler reads the pins.
    An edge in between is seen by that very read, and asks for another one. The bench leaves that one out.
    """
    outcome = outcomes[trial]
    strategy = STRATEGIES[trial.strategy]
    predicted = outcome.predicted(trial, known_beginning(strategy, strategy.first_ms))

    assert len(predicted.counting.samples_s) <= outcome.printed.samples <= len(merge_moments(*outcome.sent.pins))


def test_every_strategy_counts_wrong_when_a_bouncing_knob_is_turned_too_fast(outcomes: dict[Trial, Outcome]) -> None:
    """Or agreement would mean little."""
    tried = set()
    for trial in TRIALS:
        if (trial.turns_per_s, trial.contact, trial.seed) == (SPEEDS[-1], "encoder-2ms", 1):
            strokes = [true for _, _, true in outcomes[trial].sent.motion.strokes]
            true = sum(true for true in strokes if true > 0), -sum(true for true in strokes if true < 0)
            assert (outcomes[trial].printed.up, outcomes[trial].printed.down) != true, trial.strategy
            tried.add(trial.strategy)
    assert tried == {trial.strategy for trial in TRIALS}
