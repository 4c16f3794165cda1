"""The verdict on a push switch: which debounce tells every press once, and none twice."""

from __future__ import annotations

from collections.abc import Callable

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.press_run import PressCount, count, press
from knobmenu.bench.statistics import interval

DEBOUNCES_MS: tuple[int | None, ...] = (None, 0, 1, 2, 5, 10, 20, 50, 100)
"""What is tried: every closing taken for a press, then the project's own timing with these. [ms]"""


@attrs.frozen(kw_only=True)
class PressRow:
    """What one debounce makes of the presses, over all seeds."""

    debounce_ms: int | None
    """The debounce; None: every closing is taken for a press. [ms]"""
    counts: tuple[PressCount, ...]
    """One for each seed."""
    error_rate: float
    """Errors for each press, mean over the seeds. [unitless]"""
    low: float
    """Where the mean lies with 95 % confidence: from here. [unitless]"""
    high: float
    """To here. [unitless]"""


@attrs.frozen(kw_only=True)
class PressVerdict:
    """What debounce a push switch needs."""

    chain: Chain
    """The chain whose switch, filter and reader were tried."""
    rows: tuple[PressRow, ...]
    """By debounce, the longest last."""
    right_ms: tuple[int, ...]
    """The debounces that were tried and err no more than is borne. [ms]"""
    advice: str
    """What to write into the design, in plain words."""


def judge_presses(chain: Chain, progress: Callable[[str], None] = lambda words: None) -> PressVerdict:
    """Judge the push switch of a chain.

    Args:
        chain: the chain; its `pressing`, filter, reader and judging are used.
        progress: called now and then with what is being tried.
    """
    pressing, first = chain.pressing, chain.judging.first_seed
    done = []
    for seed in range(first, first + chain.judging.seeds):
        progress(f"pressing, {seed - first + 1} of {chain.judging.seeds}")
        done.append(press(chain, seed))
    rows = []
    for debounce_ms in DEBOUNCES_MS:
        if debounce_ms is not None and debounce_ms >= pressing.long_press_ms:
            continue
        counts = tuple(count(one, pressing, debounce_ms) for one in done)
        shares = [one.errors / one.true for one in counts]
        low, high = interval(shares, sum(one.true for one in counts))
        rows.append(
            PressRow(debounce_ms=debounce_ms, counts=counts, error_rate=sum(shares) / len(shares), low=low, high=high)
        )
    borne = chain.judging.tolerated_error_rate
    right = tuple(one.debounce_ms for one in rows if one.debounce_ms is not None and one.error_rate <= borne)
    return PressVerdict(chain=chain, rows=tuple(rows), right_ms=right, advice=_advise(right))


def _advise(right: tuple[int, ...]) -> str:
    if not right:
        return (
            "No debounce that was tried tells every press once:"
            " look more often, filter the switch, or ask for longer presses."
        )
    # Contacts get worse with age, so twice the shortest one that will do, if that still does.
    taken = next((one for one in right if one >= 2 * right[0]), right[-1])
    span = f"{right[0]} to {right[-1]} ms" if len(right) > 1 else f"{right[0]} ms"
    return f"Presses are told right with a debounce of {span}; write debounce_ms = {taken} under [knob] of the design."
