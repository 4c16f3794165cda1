"""The verdict on a chain: what it counts at which speed, how sure that is, and what to change first."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import Burst
from knobmenu.bench.errors import BenchError
from knobmenu.bench.filter import Filter, judge
from knobmenu.bench.preferred import values
from knobmenu.bench.run import Count, count, run

SPEEDS = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0)
"""Speeds that a verdict tries. A data sheet's limit is commonly 1 turn/s; a hand can be faster. [turns/s]"""

ALL_SEEN_MS = 0.25
"""A loop that samples more often than this sees what an interrupt would (common practice). [ms]"""

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
    error_rate: float
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
    mean = math.fsum(shares) / number
    deviation = math.sqrt(math.fsum((share - mean) ** 2 for share in shares) / (number - 1))
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
    return Row(turns_per_s=turns_per_s, counts=counts, error_rate=math.fsum(shares) / len(shares), low=low, high=high)


def try_speeds(chain: Chain, progress: Callable[[str], None] = lambda words: None) -> tuple[tuple[Row, ...], float]:
    """Try a chain at every speed of `SPEEDS`, a recorded motion at its own, and look for the fastest that is right.

    Args:
        chain: the chain.
        progress: told now and then what is being tried.

    Returns:
        The speeds, from slow to fast; and the fastest speed below which every tried one errs less than is borne, 0 if
        none does. [turns/s]
    """
    limit = chain.judging.tolerated_error_rate
    speeds = SPEEDS if chain.turning.kind != "recorded" else (chain.turning.turns_per_s,)
    rows = []
    for speed in speeds:
        progress(f"trying {speed:g} turns/s")
        rows.append(row(chain, speed))
    failing = _first_failing(chain, rows)
    if failing is None:
        return tuple(rows), rows[-1].turns_per_s
    if failing is rows[0]:
        return tuple(rows), 0.0
    slow, fast = rows[rows.index(failing) - 1].turns_per_s, failing.turns_per_s
    for _ in range(4):
        progress(f"trying between {slow:.2g} and {fast:.2g} turns/s")
        middle = math.sqrt(slow * fast)
        slow, fast = (middle, fast) if row(chain, middle).error_rate <= limit else (slow, middle)
    return tuple(rows), slow


def _first_failing(chain: Chain, rows: Iterable[Row]) -> Row | None:
    return next((one for one in rows if one.error_rate > chain.judging.tolerated_error_rate), None)


def verdict(chain: Chain, progress: Callable[[str], None] = lambda words: None) -> Verdict:
    """Judge a chain.

    Args:
        chain: the chain.
        progress: told now and then what is being tried.
    """
    rows, fastest = try_speeds(chain, progress)
    return Verdict(
        chain=chain,
        rows=rows,
        fastest_turns_per_s=fastest,
        searched_to_turns_per_s=rows[-1].turns_per_s,
        advice=_advise(chain, _first_failing(chain, rows), fastest, progress),
    )


@attrs.frozen
class _Change:
    """A change that might mend a chain: the part it is about, what is wrong, what to do, and the chain with it done."""

    part: str
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
                "decoder",
                f"the decoder {naive}",
                "decode both phases by the transition table",
                attrs.evolve(chain, decoder="table"),
            )
        )
    if look.debounce != "none":
        plain = attrs.evolve(look, debounce="none")
        name, figure = {
            "lockout": ("the lock-out", f"of {look.lockout_ms:g} ms"),
            "integrator": ("the integrator", f"over {look.samples} samples"),
            "equal": ("the wait", f"for {look.samples} equal samples"),
        }[look.debounce]
        remedy = f"leave {name} out" + (", the transition table needs none" if chain.decoder == "table" else "")
        fault = f"{name} {figure} swallows edges"
        changes.append(_Change("debounce", fault, remedy, attrs.evolve(chain, reader=plain)))
    if look.held_up[0]:
        if look.kind == "polled":
            fault = f"the loop blocks for {look.blocked_for_ms:g} ms at a time"
            remedy = "read both phases in an interrupt, or in a timer every 1 ms, and leave the loop out of it"
            # An interrupt has no equal samples to wait for.
            freed = attrs.evolve(look, kind="interrupt", debounce="lockout" if look.debounce == "lockout" else "none")
        else:
            what = "the timer is" if look.kind == "timer" else "interrupts are"
            fault = f"{what} masked for {look.masked_for_ms:g} ms at a time"
            remedy = "keep masked sections shorter than the time between two edges"
            freed = attrs.evolve(look, masked_for_ms=0.0, masked_every_ms=0.0)
        changes.append(_Change("time", fault, remedy, attrs.evolve(chain, reader=freed)))
    if look.kind == "interrupt" and look.phases == "a":
        changes.append(
            _Change(
                "samples",
                "only phase A interrupts",
                "interrupt on both phases",
                attrs.evolve(chain, reader=attrs.evolve(look, phases="both")),
            )
        )
    if look.kind != "interrupt" and look.period_ms > 1:
        faster = attrs.evolve(look, period_ms=1.0, jitter_ms=min(look.jitter_ms, 0.2))
        changes.append(
            _Change(
                "samples",
                f"the pins are read only every {look.period_ms:g} ms",
                "read the pins every 1 ms",
                attrs.evolve(chain, reader=faster),
            )
        )
    if (
        look.kind != "interrupt"
        and look.debounce == "none"
        and ALL_SEEN_MS < look.period_ms <= 1
        and not look.held_up[0]
    ):
        woken = attrs.evolve(look, kind="interrupt", jitter_ms=0.0)
        changes.append(
            _Change(
                "samples",
                f"the pins are read only every {look.period_ms:g} ms",
                "interrupt on both phases",
                attrs.evolve(chain, reader=woken),
            )
        )
    if parts.capacitor_f:
        removed_ms = judge(parts).longest_bounce_removed_s * 1000
        changes.append(
            _Change(
                "filter",
                f"the filter is slow: it removes bounce up to {removed_ms:.2g} ms and delays as much",
                "make the capacitor ten times smaller",
                attrs.evolve(chain, filter=attrs.evolve(parts, capacitor_f=parts.capacitor_f / 10)),
            )
        )
    bursts = [burst for burst in (chain.contact.on_make, chain.contact.on_break) if isinstance(burst, Burst)]
    if bursts:
        longest_ms = max(burst.longest_ms for burst in bursts)
        uneven = ", and the filter delays opening and closing unequally" if parts.capacitor_f else ""
        changes += [
            _Change(
                "filter",
                f"the contacts bounce for up to {longest_ms:g} ms{uneven}",
                f"filter each phase: {schmitt.series_ohm:g} ohm and {schmitt.capacitor_f * 1e9:g} nF into a Schmitt"
                " trigger",
                attrs.evolve(chain, filter=schmitt),
            )
            for schmitt in _schmitt_filters(parts, longest_ms)
        ]
    return changes


def _schmitt_filters(parts: Filter, longest_ms: float) -> list[Filter]:
    """Give filters to try: 100 nF, which is in every drawer, and what it takes to remove the longest burst."""
    try:
        usual = attrs.evolve(
            parts,
            series_ohm=parts.pull_up_ohm,
            capacitor_f=1e-7,
            rising_v=parts.supply_v * 0.53,
            falling_v=parts.supply_v * 0.34,
        )
    except BenchError:  # the closed contact is above the thresholds
        return []
    removed_ms = judge(usual).longest_bounce_removed_s * 1000
    needed_f = usual.capacitor_f * longest_ms / removed_ms
    return [usual, attrs.evolve(usual, capacitor_f=values("E6", needed_f, needed_f * 10)[0])]


def _advise(chain: Chain, failing: Row | None, fastest: float, progress: Callable[[str], None]) -> str:
    """Try each change at the speed that fails, and two together where none is enough, and say which help most."""
    if failing is None:
        return "Nothing: no speed that was tried errs more than is borne."

    def share_of(changes: tuple[_Change, ...]) -> float:
        progress("trying: " + ", and ".join(change.remedy for change in changes))
        return row(changes[-1].chain, failing.turns_per_s).error_rate

    singles: dict[tuple[_Change, ...], float] = {}
    for change in _changes(chain):
        singles[change,] = share_of((change,))
    best, share = _least(singles, failing.error_rate)
    if share > chain.judging.tolerated_error_rate:
        pairs: dict[tuple[_Change, ...], float] = {}
        # What helps most alone is said first, where the order is all the same.
        for (first,) in sorted(singles, key=lambda changes: singles[changes]):
            for second in _changes(first.chain):
                if second.part != first.part:
                    pairs[first, second] = share_of((first, second))
        # A second change is worth its trouble where it is enough, or mends half of what is left.
        other, least = _least(pairs, share)
        if least <= max(chain.judging.tolerated_error_rate, share / 2):
            best, share = other, least
    what, speed = _what(failing), failing.turns_per_s
    where = f"above {fastest:.2g} turns/s" if fastest else f"already at {speed:g} turns/s"
    if not best:
        return f"No change that was tried helps: {where} {what}. The part itself may be too fast or too uneven."
    fault = best[0].fault
    return (
        f"{fault[0].upper()}{fault[1:]}: {where} {what}; {', and '.join(change.remedy for change in best)}."
        f" At {speed:g} turns/s that takes the errors"
        f" from {failing.error_rate * 100:.3g} % to {share * 100:.3g} %"
        + ("." if share <= chain.judging.tolerated_error_rate else "; judge the changed chain again, it needs more.")
    )


def _least(shares: dict[tuple[_Change, ...], float], before: float) -> tuple[tuple[_Change, ...], float]:
    """Give the changes that leave the least errors, the first of equals; none, where all leave as many as before."""
    best = min(shares, key=lambda changes: shares[changes], default=())
    return (best, shares[best]) if best and shares[best] < before - 1e-12 else ((), before)


def _what(failing: Row) -> str:
    """Say what goes wrong, by what most of the errors are."""
    errors = sum(one.errors for one in failing.counts)
    if sum(one.lost for one in failing.counts) * 2 > errors:
        return "clicks are lost"
    if sum(one.extra for one in failing.counts) * 2 > errors:
        return "clicks are counted more than once"
    return "clicks go wrong"
