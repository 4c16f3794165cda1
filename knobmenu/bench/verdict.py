"""The verdict on a chain: what it counts at which speed, how sure that is, and what to change first."""

from __future__ import annotations

import math
from collections.abc import Callable

import attrs
import numpy as np

from knobmenu.bench.chain import Chain, check
from knobmenu.bench.contact import Burst
from knobmenu.bench.filter import judge
from knobmenu.bench.run import Count, count, run

SPEEDS = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0)
"""Speeds that a verdict tries. A data sheet's limit is commonly 1 turn/s; a hand can be faster. [turns/s]"""

_T_975 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
    2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)  # fmt: skip
"""Student's t, two-sided 95 %, for 1 to 30 degrees of freedom; handbook table, held to scipy in the tests."""


@attrs.frozen(kw_only=True)
class Row:
    """What a chain does at one speed, over all seeds."""

    turns_per_s: float
    """The speed. [turns/s]"""
    counts: tuple[Count, ...]
    """One for each seed."""
    share: float
    """Errors for each true detent, mean over the seeds. [unitless]"""
    low: float
    """Where the mean lies with 95 % confidence: from here. [unitless]"""
    high: float
    """To here; above 0 even where no error was seen. [unitless]"""

    @property
    def true(self) -> int:
        """Detents turned in all. [detents]"""
        return sum(one.true for one in self.counts)


@attrs.frozen(kw_only=True)
class Verdict:
    """What a chain is worth."""

    chain: Chain
    """The chain."""
    rows: tuple[Row, ...]
    """Speeds, from slow to fast."""
    fastest_turns_per_s: float
    """The fastest speed below which every tried speed errs less than is borne; 0: none. [turns/s]"""
    searched_to_turns_per_s: float
    """The fastest speed that was tried. [turns/s]"""
    advice: str
    """What to change first, in plain words."""


def interval(shares: list[float], detents: int) -> tuple[float, float]:
    """Give the 95 % confidence interval of a mean over seeds.

    Student's t over the seeds. Where all seeds agree it says nothing, so the interval is at least as wide as Wilson's
    for as many detents (E. B. Wilson, J. Am. Statist. Assoc. 22, 1927, 209-212); a share above 1, which is no
    proportion, keeps to the t interval.

    Args:
        shares: errors for each detent, one for each seed; 2 at least.
        detents: true detents of all seeds together; 1 at least.
    """
    number = len(shares)
    mean = sum(shares) / number
    deviation = math.sqrt(sum((share - mean) ** 2 for share in shares) / (number - 1))
    quantile = _T_975[number - 2] if number - 1 <= len(_T_975) else 1.960
    half = quantile * deviation / math.sqrt(number)
    low, high = max(mean - half, 0.0), mean + half
    if mean <= 1:
        z = 1.959964
        middle = (mean + z * z / (2 * detents)) / (1 + z * z / detents)
        width = z / (1 + z * z / detents) * math.sqrt(mean * (1 - mean) / detents + z * z / (4 * detents**2))
        low, high = min(low, max(middle - width, 0.0)), max(high, middle + width)
    return low, high


def row(chain: Chain, turns_per_s: float, seeds: int | None = None) -> Row:
    """Try a chain at one speed.

    Args:
        chain: the chain.
        turns_per_s: the speed. [turns/s]
        seeds: how many, if not as many as the chain says; 2 at least.
    """
    first = chain.judging.first_seed
    counts = tuple(
        count(run(chain, seed, turns_per_s)) for seed in range(first, first + (seeds or chain.judging.seeds))
    )
    # A dither turns nothing; its errors are told for each time that it is rocked.
    true = [one.true or abs(chain.turning.detents) for one in counts]
    shares = [one.errors / detents for one, detents in zip(counts, true, strict=True)]
    low, high = interval(shares, sum(true))
    return Row(turns_per_s=turns_per_s, counts=counts, share=sum(shares) / len(shares), low=low, high=high)


def verdict(chain: Chain, progress: Callable[[str], None] = lambda words: None) -> Verdict:
    """Judge a chain.

    Args:
        chain: the chain.
        progress: told now and then what is being tried.
    """
    limit = chain.judging.error_share
    speeds = SPEEDS if chain.turning.kind != "recorded" else (chain.turning.turns_per_s,)
    rows = []
    for speed in speeds:
        progress(f"trying {speed:g} turns/s")
        rows.append(row(chain, speed))
    fastest = 0.0
    failing = next((index for index, one in enumerate(rows) if one.share > limit), None)
    if failing is None:
        fastest = rows[-1].turns_per_s
    elif failing:
        slow, fast = rows[failing - 1].turns_per_s, rows[failing].turns_per_s
        for _ in range(4):
            progress(f"trying between {slow:.2g} and {fast:.2g} turns/s")
            middle = math.sqrt(slow * fast)
            slow, fast = (middle, fast) if row(chain, middle).share <= limit else (slow, middle)
        fastest = slow
    return Verdict(
        chain=chain,
        rows=tuple(rows),
        fastest_turns_per_s=fastest,
        searched_to_turns_per_s=speeds[-1],
        advice=_advise(chain, None if failing is None else rows[failing].turns_per_s, fastest, progress),
    )


@attrs.frozen
class _Change:
    """A change that might mend a chain: what is wrong, what to do, and the chain with it done."""

    fault: str
    remedy: str
    chain: Chain


def _changes(chain: Chain) -> list[_Change]:
    """List the changes that a chain leaves open; the cheap ones, which need no soldering, first."""
    look, parts = chain.reader, chain.filter
    changes = []
    if chain.decoder != "table":
        naive = "counts one edge of one phase" if chain.decoder == "one-edge" else "counts both edges of one phase"
        changes.append(
            _Change(
                f"the decoder {naive}",
                "decode both phases by the transition table",
                attrs.evolve(chain, decoder="table"),
            )
        )
    if look.blocked_for_ms and look.blocked_every_ms:
        stops = {"polled": "the loop blocks", "timer": "the timer is masked", "interrupt": "interrupts are masked"}
        freed = attrs.evolve(look, blocked_for_ms=0.0, blocked_every_ms=0.0)
        if look.kind == "polled":
            remedy = "read both phases in an interrupt, or in a timer every 1 ms, and leave the loop out of it"
            freed = attrs.evolve(freed, kind="interrupt", debounce="none")
        else:
            remedy = "keep masked sections shorter than the time between two edges"
        changes.append(
            _Change(
                f"{stops[look.kind]} for {look.blocked_for_ms:g} ms at a time",
                remedy,
                attrs.evolve(chain, reader=freed),
            )
        )
    if look.kind == "interrupt" and look.phases == "a":
        changes.append(
            _Change(
                "only phase A interrupts",
                "interrupt on both phases",
                attrs.evolve(chain, reader=attrs.evolve(look, phases="both")),
            )
        )
    if look.kind != "interrupt" and look.period_ms > 1:
        faster = attrs.evolve(look, period_ms=1.0, jitter_ms=min(look.jitter_ms, 0.2))
        changes.append(
            _Change(
                f"the pins are read only every {look.period_ms:g} ms",
                "read them every 1 ms",
                attrs.evolve(chain, reader=faster),
            )
        )
    if look.kind != "interrupt" and look.period_ms <= 1 and not look.blocked_for_ms:
        woken = attrs.evolve(look, kind="interrupt", debounce="none", jitter_ms=0.0)
        changes.append(
            _Change(
                f"the pins are read only every {look.period_ms:g} ms",
                "interrupt on both phases",
                attrs.evolve(chain, reader=woken),
            )
        )
    if look.debounce != "none":
        plain = attrs.evolve(look, debounce="none")
        shown = {
            "lockout": f"the lock-out of {look.lockout_ms:g} ms",
            "integrator": f"the integrator over {look.looks} looks",
        }
        fault = f"{shown.get(look.debounce, f'waiting for {look.looks} equal looks')} swallows edges"
        changes.append(
            _Change(fault, "leave it out, the transition table needs none", attrs.evolve(chain, reader=plain))
        )
    if parts.capacitor_f:
        removed_ms = judge(parts).longest_bounce_removed_s * 1000
        changes.append(
            _Change(
                f"the filter is slow: it removes bounce up to {removed_ms:.2g} ms and delays as much",
                "make the capacitor ten times smaller",
                attrs.evolve(chain, filter=attrs.evolve(parts, capacitor_f=parts.capacitor_f / 10)),
            )
        )
    bursts = [burst for burst in (chain.contact.on_make, chain.contact.on_break) if isinstance(burst, Burst)]
    if bursts:
        schmitt = attrs.evolve(
            parts,
            series_ohm=parts.pull_up_ohm,
            capacitor_f=1e-7,
            rising_v=parts.supply_v * 0.53,
            falling_v=parts.supply_v * 0.34,
        )
        longest_ms = max(burst.longest_ms for burst in bursts)
        changes.append(
            _Change(
                f"the contacts bounce for up to {longest_ms:g} ms"
                + (", and the filter delays opening and closing unequally" if parts.capacitor_f else ""),
                f"filter each phase: {schmitt.series_ohm:g} ohm and 100 nF into a Schmitt trigger",
                attrs.evolve(chain, filter=schmitt),
            )
        )
    return [change for change in changes if not check(change.chain)]


def _advise(chain: Chain, failing_turns_per_s: float | None, fastest: float, progress: Callable[[str], None]) -> str:
    """Try each change at the speed that fails, and say which one helps most."""
    if failing_turns_per_s is None:
        return "Nothing: no speed that was tried errs more than is borne."
    before = row(chain, failing_turns_per_s)
    best, best_share = None, before.share
    for change in _changes(chain):
        progress(f"trying: {change.remedy}")
        share = row(change.chain, failing_turns_per_s).share
        if share < best_share - 1e-12:
            best, best_share = change, share
    what = "what is counted is wrong" if before.share >= 1 else "clicks go wrong"
    lost = sum(one.lost for one in before.counts)
    if lost * 2 > sum(one.errors for one in before.counts):
        what = "clicks are lost"
    elif sum(one.extra for one in before.counts) * 2 > sum(one.errors for one in before.counts):
        what = "clicks are counted more than once"
    where = f"above {fastest:.2g} turns/s" if fastest else f"already at {failing_turns_per_s:g} turns/s"
    if best is None:
        return f"No single change that was tried helps: {where} {what}. The part itself may be too fast or too uneven."
    return (
        f"{best.fault[0].upper()}{best.fault[1:]}: {where} {what}; {best.remedy}."
        f" At {failing_turns_per_s:g} turns/s that takes the errors"
        f" from {np.round(before.share * 100, 1):g} % to {np.round(best_share * 100, 1):g} %"
        + ("." if best_share <= chain.judging.error_share else "; judge the changed chain again, it needs more.")
    )
