"""Judge a chain answer by answer: a run, quick rows, the whole verdict, its plan, and presses.

Each answer takes a short time, so that the caller can turn to a newer chain soon.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.plan import Plan, make_plan
from knobmenu.bench.presses import PressVerdict, judge_presses
from knobmenu.bench.run import Run, run
from knobmenu.bench.verdict import Row, Verdict, list_speeds, measure_row, reach_verdict

QUICK_SEEDS = 3
"""How often each speed is tried for the first answer. [runs]"""

QUICK_DETENTS = 100
"""How many detents are turned at most for it. [detents]"""

SHOWN_DETENTS = 100
"""How many detents are turned at most for the waveforms: enough that an error is among them. [detents]"""


class Stale(Exception):  # noqa: N818 - not an error: a newer chain is to be judged
    """A newer chain has replaced this one."""


Answer = Run | Row | Verdict | Plan | PressVerdict
"""One answer: the waveforms' run, a row of the table, everything about turns, what helps, or all about presses."""


def judge_chain(chain: Chain, seed: int, report: Callable[[str], None]) -> Iterator[Answer]:
    """Judge a chain, the quick answers first.

    Args:
        chain: The chain.
        seed: Of the run that is shown.
        report: Takes what is being tried; it may raise `Stale` to end it.

    Raises:
        BenchError: The chain would need more samples than can be kept.
        Stale: `report` raised it.
    """
    report("waveforms")
    yield from simulate(chain, seed)
    quick = _shorten_turning(chain, min(abs(chain.turning.detents), QUICK_DETENTS))
    for speed in list_speeds(chain):
        yield measure_row(quick, speed, QUICK_SEEDS, progress=report)
    yield reach_verdict(chain, report)
    yield make_plan(chain, report)
    yield judge_presses(chain, report)


def simulate(chain: Chain, seed: int) -> Iterator[Answer]:
    """Simulate another run of a chain that has been judged otherwise.

    Args:
        chain: The chain.
        seed: Of the run.

    Raises:
        BenchError: The chain would need more samples than can be kept.
    """
    yield run(_shorten_turning(chain, min(abs(chain.turning.detents), SHOWN_DETENTS)), seed)


def _shorten_turning(chain: Chain, detents: int) -> Chain:
    """Return the chain with a motion of the same kind over this many detents; a recorded one is unchanged."""
    if chain.turning.kind == "recorded":
        return chain
    way = 1 if chain.turning.detents > 0 else -1
    return attrs.evolve(chain, turning=attrs.evolve(chain.turning, detents=way * detents))
