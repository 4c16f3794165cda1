"""A plan: which remedies make a chain count right, each applied and judged, ranked by what they cost.

Every remedy is judged with the very seeds of the chain that it changes, so that each run has its pair. It is offered
only if it lowers the errors at the first bad speed beyond chance, and no slower speed becomes bad. Where one alone does
not reach the target, combinations are tried. Following the first proposal ends: after it the target is reached, or no
further remedy helps.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable

import attrs

from knobmenu.bench.chain import Chain, Value, change, get_value
from knobmenu.bench.corners import Corner, list_worst_corners, make_nominal
from knobmenu.bench.figures import format_number
from knobmenu.bench.reach import Walk, holds_everywhere, walk
from knobmenu.bench.remedies import Cost, Remedy, find_longest_bounce_ms, find_shortest_quarter_ms, list_remedies
from knobmenu.bench.run import count_run
from knobmenu.bench.statistics import student_t
from knobmenu.bench.verdict import Progress, count_true_detents, get_target, ignore

MOST_TOGETHER = 4
"""Most remedies in one proposal."""

_FIRSTS = 4
"""How many remedies are tried as the first of a pair."""

_PAIRS = 3
"""How many pairs are offered."""

_SAME_KIND = 3
"""How many proposals about the same parts are offered."""

_LEAST_PAIRS = 6
"""Runs that are compared pair by pair, at least; with fewer hardly any difference is beyond chance. [runs]"""


@attrs.frozen
class Proposal:
    """One remedy, or several together."""

    remedies: tuple[Remedy, ...]
    """What to do."""
    chain: Chain
    """The chain with it done."""
    reached_turns_per_s: float
    """The fastest of the tried speeds that it reaches at the worst corner, with every slower one; 0: none. [turns/s]"""
    error_rate: float
    """Its errors for each detent at the first speed that was bad before. [unitless]"""
    is_enough: bool
    """Whether it reaches the target."""

    @property
    def cost(self) -> Cost:
        """Its cost: that of its most expensive remedy."""
        return max(remedy.cost for remedy in self.remedies)

    @property
    def changes(self) -> int:
        """The number of values that it changes in the chain's file."""
        return sum(len(remedy.changes) for remedy in self.remedies)

    def list_lines(self, before: Chain) -> tuple[str, ...]:
        """Return the lines of the chain's file that change, as TOML."""
        changed: dict[str, dict[str, Value]] = {}
        for remedy in self.remedies:
            for path, _ in remedy.changes:
                section, _, key = path.partition(".")
                value = get_value(self.chain, path)
                if value is not None and value != get_value(before, path):
                    changed.setdefault(section, {})[key] = value
        lines = []
        for section, keys in changed.items():
            lines += [
                f"[{section}]",
                *(f"{key} = {_write_toml(value)}{_make_remark(key)}" for key, value in keys.items()),
            ]
        return tuple(lines)


@attrs.frozen
class Plan:
    """What to do about a chain."""

    chain: Chain
    """The chain."""
    is_needed: bool
    """Whether it does not reach its target as it is."""
    failing_turns_per_s: float
    """The slowest speed that is bad; 0 where none is, up to the target. [turns/s]"""
    error_rate: float
    """Its errors for each detent there, at the worst corner. [unitless]"""
    proposals: tuple[Proposal, ...]
    """What helps, the cheapest that is enough first."""
    reason: str
    """Why nothing reaches the target; empty where something does."""
    rate_without_noise: float | None = None
    """What the errors would be without noise at the pins; None: noise makes no difference beyond chance. [unitless]"""


def make_plan(chain: Chain, progress: Progress = ignore) -> Plan:
    """Find what makes a chain count right.

    Args:
        chain: the chain.
        progress: called before each run with what is being tried; it may raise to end the search.
    """
    base = walk(chain, progress)
    if base.failing is None or base.reached >= get_target(chain):
        return Plan(chain, False, 0.0, 0.0, (), "")
    errors = _measure_errors(chain, base.failing, progress)
    rate, quiet = _average(errors), _measure_rate_without_noise(chain, base.failing, errors, progress)
    helping = _improve((), base, progress)
    enough = [one for one in helping if one.is_enough]
    best = None if enough else _choose_best(helping)
    while best is not None and not best.is_enough and len(best.remedies) < MOST_TOGETHER:
        better = _choose_best(_improve(best.remedies, walk(best.chain, progress), progress))
        if better is None:
            break
        best = better
    if best is not None and best.is_enough:
        enough = [best]
    if enough:
        rest = [one for one in helping if not one.is_enough and len(one.remedies) == 1]
        return Plan(chain, True, base.failing, rate, (*_rank(enough), *_rank(rest)), "", quiet)
    ranked = _rank([one for one in helping if one is not best])
    proposals = (best, *ranked) if best is not None else ranked
    return Plan(chain, True, base.failing, rate, tuple(proposals), _explain(chain), quiet)


def _rank(found: Iterable[Proposal]) -> tuple[Proposal, ...]:
    """Rank by cost. Omit what reaches no speed if something else does, and the fourth of one kind."""
    every = list(found)
    useful = [one for one in every if one.reached_turns_per_s] or every
    useful.sort(key=lambda one: (one.cost, len(one.remedies), -one.reached_turns_per_s, one.changes, one.error_rate))
    kinds: Counter[tuple[str, ...]] = Counter()
    kept = []
    for one in useful:
        kind = tuple(remedy.part for remedy in one.remedies)
        kinds[kind] += 1
        if kinds[kind] <= _SAME_KIND:
            kept.append(one)
    return tuple(kept)


def _choose_best(found: Iterable[Proposal]) -> Proposal | None:
    """Return the proposal that helps most; among equals, the cheapest."""
    order = sorted(found, key=lambda one: (-one.reached_turns_per_s, one.error_rate, one.cost, len(one.remedies)))
    return order[0] if order else None


def _improve(done: tuple[Remedy, ...], base: Walk, progress: Progress) -> list[Proposal]:
    """Find single remedies that help a chain, and pairs where no single one is enough.

    Args:
        done: the remedies that have made it what it is.
        base: the chain as it is.
        progress: see `plan`.
    """
    if base.failing is None:
        return []
    before = _measure_errors(base.chain, base.failing, progress)
    singles: list[tuple[Remedy, Chain, list[float]]] = []
    found: list[Proposal] = []
    for remedy, changed in list_remedies(base.chain):
        step = _report(progress, remedy)
        after = _measure_errors(changed, base.failing, step, _average(before))
        singles.append((remedy, changed, after))
        if proposal := _judge(done, (remedy,), changed, base, (before, after), step):
            found.append(proposal)
    if any(one.is_enough for one in found):
        return found
    singles.sort(key=lambda one: (_average(one[2]), one[0].cost))
    tolerated = base.chain.judging.tolerated_error_rate
    pairs = []
    for first, once, alone in singles[:_FIRSTS]:
        for second, twice in list_remedies(once):
            if second.part != first.part:
                step = _report(progress, first, second)
                after = _measure_errors(twice, base.failing, step, max(_average(alone), tolerated))
                pairs.append(((first, second), twice, after))
    pairs.sort(key=lambda one: (_average(one[2]) > tolerated, max(remedy.cost for remedy in one[0]), _average(one[2])))
    enough = 0
    for both, twice, after in pairs:
        # The target alone tells quickly whether a pair is worth more; where none reaches it, the best few are.
        if enough < _PAIRS and (_average(after) <= tolerated or len(found) < _PAIRS):
            step = _report(progress, *both)
            hopeful = (
                len(found) < _PAIRS or _average(after) > tolerated or holds_everywhere(twice, get_target(twice), step)
            )
            if hopeful and (proposal := _judge(done, both, twice, base, (before, after), step)):
                found.append(proposal)
                enough += proposal.is_enough
    return found


def _judge(
    done: tuple[Remedy, ...],
    more: tuple[Remedy, ...],
    changed: Chain,
    base: Walk,
    errors: tuple[list[float], list[float]],
    progress: Progress,
) -> Proposal | None:
    """Return a proposal if a change helps significantly and harms no slower speed.

    Args:
        done: the remedies that have made the chain what it is.
        more: those that have changed it.
        changed: the chain with them.
        base: the chain without.
        errors: of the chain before and after, seed by seed.
        progress: see `plan`.
    """
    before, after = errors
    if not _is_less(after, before):
        return None
    tried = walk(changed, progress)
    if tried.reached < base.reached:
        return None
    return Proposal((*done, *more), changed, tried.reached, _average(after), tried.reached >= get_target(changed))


def _report(progress: Progress, *tried: Remedy) -> Progress:
    """Return the callback that reports these remedies, whatever run is tried."""
    words = f"trying: {', and: '.join(remedy.words for remedy in tried)}"
    return lambda _: progress(words)


def _is_less(after: list[float], before: list[float]) -> bool:
    """Return whether errors decreased significantly: the 95 % interval of their paired differences is below 0."""
    differences = [one - other for one, other in zip(after, before, strict=True)]
    mean = math.fsum(differences) / len(differences)
    deviation = math.sqrt(math.fsum((one - mean) ** 2 for one in differences) / (len(differences) - 1))
    return mean + student_t(len(differences) - 1) * deviation / math.sqrt(len(differences)) < 0


def _list_corners(chain: Chain) -> tuple[Corner, ...]:
    return list_worst_corners(chain.filter, chain.tolerance) or (make_nominal(chain.filter),)


def _measure_errors(chain: Chain, turns_per_s: float, progress: Progress, hopeless: float = math.inf) -> list[float]:
    """Return the errors for each detent, seed by seed, at the worst corner of each seed.

    Args:
        chain: the chain.
        turns_per_s: the speed. [turns/s]
        progress: see `plan`.
        hopeless: where two seeds err at least so much, the others are not tried: all are taken to err like these.
    """
    found: list[float] = []
    corners, first = _list_corners(chain), chain.judging.first_seed
    # The same number for every chain, so that runs can be compared in pairs.
    number = max(chain.judging.seeds // 3, _LEAST_PAIRS)
    for seed in range(first, first + number):
        counts = []
        for corner in corners:
            progress(corner.name)
            counts.append(count_run(chain, seed, turns_per_s, corner))
        found.append(max(one.errors / count_true_detents(chain, one) for one in counts))
        if len(found) == 2 and _average(found) >= hopeless:
            return [_average(found)] * number
    return found


def _measure_rate_without_noise(
    chain: Chain, turns_per_s: float, errors: list[float], progress: Progress
) -> float | None:
    """Return the errors for each detent without noise, with the same seeds, if they are significantly fewer."""
    if not any(one.is_noisy for corner in _list_corners(chain) for one in (corner.a, corner.b)):
        return None
    quiet = _measure_errors(change(chain, {"filter.noise_v": 0.0}), turns_per_s, progress)
    return _average(quiet) if _is_less(quiet, errors) else None


def _average(errors: list[float]) -> float:
    return math.fsum(errors) / len(errors)


def _explain(chain: Chain) -> str:
    """State what prevents the target."""
    quarter_ms, bounce_ms = find_shortest_quarter_ms(chain), find_longest_bounce_ms(chain)
    peak = " at the peak of a flick" if chain.turning.kind in ("flicks", "reversals") else ""
    if bounce_ms > quarter_ms:
        return (
            f"the contacts bounce for up to {bounce_ms:g} ms, and at {get_target(chain):g} turns/s a quarter period"
            f" lasts {format_number(quarter_ms, 2)} ms{peak}: no filter and no code can tell the two apart"
        )
    part = chain.encoder
    if part.phase_error_deg or part.dwell_tolerance_deg:
        return "the phases of this encoder are too uneven"
    return (
        f"a quarter period lasts {format_number(quarter_ms, 2)} ms{peak}, which is too short for what is left open here"
    )


def _make_remark(key: str) -> str:
    return "  # in place of rising_v and falling_v" if key == "input" else ""


def _write_toml(value: Value) -> str:
    return f'"{value}"' if isinstance(value, str) else repr(value)
