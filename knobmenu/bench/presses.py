"""The verdict on a push switch: which debounce reports every press once, and none twice."""

from __future__ import annotations

import math
from collections.abc import Callable

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.figures import format_number
from knobmenu.bench.filter import compute_break_removed_s, compute_make_removed_s
from knobmenu.bench.press_run import PressCount, PressRun, count, press
from knobmenu.bench.statistics import Rated, compute_interval, is_tolerated
from knobmenu.design.hardware import LONGEST_DEBOUNCE_MS

DEBOUNCES_MS: tuple[int | None, ...] = (None, 0, 1, 2, 5, 10, 20, 50, 100)
"""What is tried: every closing taken for a press, then the project's own timing with these. [ms]"""


@attrs.frozen(kw_only=True)
class PressRow(Rated):
    """What one debounce makes of the presses, over all seeds."""

    debounce_ms: int | None
    """The debounce; None: every closing is taken for a press. [ms]"""
    counts: tuple[PressCount, ...]
    """One for each seed."""


@attrs.frozen(kw_only=True)
class PressVerdict:
    """What debounce a push switch needs."""

    chain: Chain
    """The chain whose switch, filter and reader were tried."""
    rows: tuple[PressRow, ...]
    """By debounce, the longest last."""
    right_ms: tuple[int, ...]
    """The debounces that were tried and err no more than is tolerated. [ms]"""
    needed_ms: float
    """What the debounce must outlast: the longest burst that the filter leaves, and the time between samples. [ms]"""
    advised_ms: int | None
    """The debounce to take, with a margin above what is needed; None: no debounce that was tried is right. [ms]"""

    @property
    def shortest_press_ms(self) -> float:
        """How long a press must last to be reported with the advised debounce. [ms]"""
        return (self.advised_ms or 0) + self.needed_ms

    @property
    def advice(self) -> str:
        """What to write into the design, in plain words."""
        if self.advised_ms is None and self.needed_ms >= LONGEST_DEBOUNCE_MS:
            return (
                f"Bounce and sampling need a debounce of more than {format_number(self.needed_ms)} ms, and a design can"
                f" have at most {LONGEST_DEBOUNCE_MS} ms: sample more often, or block for less time."
            )
        if self.advised_ms is None:
            return (
                "No debounce that was tried reports every press once:"
                " sample more often, filter the switch, or ask for longer presses."
            )
        return (
            f"Write debounce_ms = {self.advised_ms} under [knob] of the design: bounce and sampling need"
            f" {format_number(self.needed_ms)} ms, and {format_number(self.advised_ms - self.needed_ms)} ms are margin,"
            f" since contacts wear. A press must then last {format_number(self.shortest_press_ms)} ms to count;"
            f" the shortest that was tried lasts {self.chain.pressing.shortest_ms:g} ms."
        )


MARGIN = 1.5
"""How much longer than needed the advised debounce is: contacts get worse with age (common practice). [unitless]"""


def find_needed_ms(chain: Chain) -> float:
    """Return what the debounce of a chain's switch must outlast. [ms]

    The longest burst of its contact, where its filter does not remove it, and the longest time between two samples.
    """
    contact, parts, look = PRESETS[chain.pressing.preset], chain.filter, chain.reader
    left_ms = 0.0
    for burst, removed_s in (
        (contact.on_make, compute_make_removed_s(parts)),
        (contact.on_break, compute_break_removed_s(parts)),
    ):
        if burst is not None and (not parts.capacitor_f or removed_s * 1000 < burst.longest_ms):
            left_ms = max(left_ms, burst.longest_ms)
    between_ms = look.latency_ms + look.service_ms if look.kind == "interrupt" else look.period_ms + look.jitter_ms
    return left_ms + between_ms + look.held_up[0]


def judge_presses(chain: Chain, progress: Callable[[str], None] = lambda words: None) -> PressVerdict:
    """Judge the push switch of a chain.

    Args:
        chain: the chain; its `pressing`, filter, reader and judging are used.
        progress: called before each run with what is being tried; it may raise to end the judging.
    """
    pressing, first = chain.pressing, chain.judging.first_seed
    done = []
    for seed in range(first, first + chain.judging.seeds):
        progress(f"pressing, {seed - first + 1} of {chain.judging.seeds}")
        done.append(press(chain, seed))
    needed = find_needed_ms(chain)
    wanted_ms = min(max(math.ceil(needed * MARGIN), math.floor(needed) + 1), LONGEST_DEBOUNCE_MS)
    tried = sorted({wanted_ms, *(one for one in DEBOUNCES_MS if one is not None)})
    rows = [
        _make_row(done, chain, debounce_ms, progress)
        for debounce_ms in (None, *tried)
        if debounce_ms is None or debounce_ms < pressing.long_press_ms
    ]
    right = tuple(one.debounce_ms for one in rows if one.debounce_ms is not None and _is_right(one, chain))
    # The full margin, or as much of it as short presses leave.
    above = [one for one in right if one > needed]
    advised = wanted_ms if wanted_ms in above else max((one for one in above if one < wanted_ms), default=None)
    if advised is None:
        advised = min(above, default=None)
    return PressVerdict(chain=chain, rows=tuple(rows), right_ms=right, needed_ms=needed, advised_ms=advised)


def _make_row(done: list[PressRun], chain: Chain, debounce_ms: int | None, progress: Callable[[str], None]) -> PressRow:
    words = "every closing" if debounce_ms is None else f"a debounce of {debounce_ms} ms"
    counts = []
    for one in done:
        progress(f"pressing with {words}")
        counts.append(count(one, chain.pressing, debounce_ms))
    rates = [one.errors / one.true for one in counts]
    low, high = compute_interval(rates, sum(one.true for one in counts))
    return PressRow(
        debounce_ms=debounce_ms, counts=tuple(counts), error_rate=math.fsum(rates) / len(rates), low=low, high=high
    )


def _is_right(row: PressRow, chain: Chain) -> bool:
    errors, true = sum(one.errors for one in row.counts), sum(one.true for one in row.counts)
    return is_tolerated(errors, true, chain.judging.tolerated_error_rate)
