"""A chain on the bench whose verdict and plan are known already."""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.filter import Filter
from knobmenu.bench.plan import Plan, Proposal
from knobmenu.bench.reader import Reader
from knobmenu.bench.remedies import Cost, Remedy
from knobmenu.bench.run import Count, run
from knobmenu.bench.trial import Trial, learn
from knobmenu.bench.verdict import Reached, Row, Verdict

SCHMITT = Filter(series_ohm=10_000.0, capacitor_f=1e-7, rising_v=2.9, falling_v=1.9)
CLEAN = Chain(
    turning=Turning(kind="steady", detents=8),
    contact=PRESETS["clean"],
    filter=SCHMITT,
    reader=Reader(kind="interrupt"),
)
"""Nothing in it is left to chance."""


def tried(turns_per_s: float, lost: int, of: int = 200) -> Row:
    count = Count(true=of, counted=of - lost, lost=lost, extra=0, reversed=0, net=of - lost)
    share = lost / of
    return Row(turns_per_s=turns_per_s, counts=(count, count), error_rate=share, low=share / 2, high=share * 2)


ROWS = tuple(tried(speed, lost) for speed, lost in ((0.5, 0), (1.0, 1), (2.0, 5), (3.0, 20), (5.0, 60)))


def judged_trial(chain: Chain = CLEAN) -> Trial:
    verdict = Verdict(
        chain=chain,
        rows=ROWS,
        nominal=Reached(turns_per_s=1.5, low=1.0, high=2.0, corner="nominal parts"),
        worst=Reached(turns_per_s=1.2, low=1.0, high=1.5, corner="both phases slow"),
    )
    trial = learn(learn(Trial("mine.toml", (chain,)), run(chain, 1)), verdict)
    return learn(trial, found_plan(chain))


def found_plan(chain: Chain = CLEAN) -> Plan:
    remedy = Remedy("filter", Cost.PART, "Make each capacitor 10 nF", (("filter.capacitor_f", 1e-8),))
    better = attrs.evolve(chain, filter=attrs.evolve(chain.filter, capacitor_f=1e-8))
    return Plan(chain, True, 1.5, 0.2, (Proposal((remedy,), better, 3.0, 0.0, True),), "")
