"""Which run shows the cause of a chain's errors, and which part of it: the first error and what came before it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import attrs
import numpy as np

from knobmenu.bench.chain import Chain
from knobmenu.bench.corners import list_worst_corners, make_nominal
from knobmenu.bench.filter import compute_closing_delay_s, compute_opening_delay_s
from knobmenu.bench.run import Run, count, run
from knobmenu.bench.scope import View, reach_detents
from knobmenu.bench.signal import Floats
from knobmenu.bench.verdict import Verdict, list_seeds, list_speeds

_DETENTS = 4
"""How many detents a view shows at most. [detents]"""

_CAUSES = 20
"""How many times as long as its cause a view is at most: the cause must remain visible. [unitless]"""

_BEFORE = 0.6
"""Which part of a view comes before the error. [unitless]"""

_OFFSET = -0.5
"""Where the hand is when a detent is counted, from the detent, unless the run tells: on the way to it. [detents]"""

_MARGIN = 0.02
"""How much farther off counts may be than half a detent. [detents]"""


@attrs.frozen
class Slip:
    """One error of a run."""

    at_s: float
    """When the hand came to the detent that is lost, or when a wrong count was made. [s]"""
    kind: Literal["lost", "extra", "reversed"]
    """What it is; see `knobmenu.bench.run.Count`."""
    detent: int
    """The detent that is lost or counted twice, or the nearest one of the hand, from where it began. [detents]"""

    @property
    def words(self) -> str:
        """What happened, in words."""
        match self.kind:
            case "lost":
                return f"detent {self.detent} is lost"
            case "extra":
                return f"detent {self.detent} is counted twice"
            case "reversed":
                return f"a count against the hand near detent {self.detent}"


@attrs.frozen(eq=False)
class _Stroke:
    """A movement in one direction, and its count."""

    true: int
    """Its detents, signed. [detents]"""
    start: int
    """The detent at which it begins, from where the run began. [detents]"""
    reached_s: list[float]
    """When the hand came to each detent. [s]"""
    forward_s: list[float]
    """Counts in the hand's direction. [s]"""
    at: list[float]
    """Where the hand was at each of them, from the stroke's beginning in its direction. [detents]"""
    backward_s: list[float]
    """Counts against it. [s]"""


def find_slips(done: Run) -> tuple[Slip, ...]:
    """Find every error of a run, in order of time; as many of each kind as `knobmenu.bench.run.count` counts.

    How many errors a stroke has is certain. Which of its counts or detents are wrong follows from where the hand is
    when it is counted: about as far from each detent as in the strokes without errors.
    """
    strokes = list(_walk_strokes(done))
    offsets = [
        at - number
        for stroke in strokes
        if len(stroke.forward_s) == abs(stroke.true) and not stroke.backward_s
        for number, at in enumerate(stroke.at, 1)
    ]
    offset = float(np.median(offsets)) if offsets else _OFFSET
    found = [slip for stroke in strokes for slip in _find_slips_of_stroke(done, stroke, offset)]
    return tuple(sorted(found, key=lambda one: one.at_s))


def _walk_strokes(done: Run) -> Iterator[_Stroke]:
    motion = done.motion
    reached_s = iter([at_s for at_s, _ in reach_detents(motion)])
    bounds = np.searchsorted(done.stroke_numbers, np.arange(len(motion.strokes) + 1)).tolist()
    for (begin_s, _, true), first, last in zip(motion.strokes, bounds, bounds[1:], strict=False):
        counted = done.counting.counted[first:last]
        times_s = np.repeat(done.counting.counted_s[first:last], np.abs(counted))
        way = 1 if true >= 0 else -1
        with_hand = np.repeat(counted, np.abs(counted)) * way > 0
        start = _find_angle(done, np.array([begin_s]))[0]
        yield _Stroke(
            true=true,
            start=round(start),
            reached_s=[next(reached_s) for _ in range(abs(true))],
            forward_s=times_s[with_hand].tolist(),
            at=(way * (_find_angle(done, times_s[with_hand]) - start)).tolist(),
            backward_s=times_s[~with_hand].tolist(),
        )


def _find_slips_of_stroke(done: Run, stroke: _Stroke, offset: float) -> Iterator[Slip]:
    way = 1 if stroke.true >= 0 else -1
    against = [
        (at_s, round(angle))
        for at_s, angle in zip(stroke.backward_s, _find_angle(done, np.array(stroke.backward_s)).tolist(), strict=True)
    ]
    if stroke.true == 0:
        # A knob that is only rocked: every count is an error.
        yield from (Slip(at_s, "extra", stroke.start) for at_s in (*stroke.forward_s, *stroke.backward_s))
        return
    yield from (Slip(at_s, "reversed", detent) for at_s, detent in against)
    missing = abs(stroke.true) - len(stroke.forward_s)
    place = 0
    if missing > 0:
        for number, at_s in enumerate(stroke.reached_s, 1):
            late = place == len(stroke.at) or stroke.at[place] > number + offset + 0.5 + _MARGIN
            if missing and (late or abs(stroke.true) - number < missing):
                missing -= 1
                yield Slip(at_s, "lost", stroke.start + way * number)
            else:
                place += 1
        return
    for number, (at_s, at) in enumerate(zip(stroke.forward_s, stroke.at, strict=True)):
        early = at < place + 1 + offset - 0.5 - _MARGIN
        if missing and (early or len(stroke.at) - number <= -missing):
            missing += 1
            yield Slip(at_s, "extra", stroke.start + way * place)
        else:
            place += 1


def _find_angle(done: Run, at_s: Floats) -> Floats:
    """Return the angle at moments, from where the run began. [detents]"""
    return np.interp(at_s, done.motion.at_s, done.motion.detents) - round(float(done.motion.detents[0]))


def choose_view(done: Run, slips: tuple[Slip, ...]) -> View:
    """Choose the part of a run that shows its first error and what came before; without one, its first detents.

    Args:
        done: the run.
        slips: its errors; see `find_slips`.
    """
    moments_s = [at_s for at_s, _ in reach_detents(done.motion)]
    begin_s, stroke_end_s, _ = done.motion.strokes[0]
    if not slips:
        last_s = moments_s[min(len(moments_s), _DETENTS) - 1] if moments_s else stroke_end_s
        length_s = max(last_s - begin_s, 1e-4) * 1.2
        return _fit_view(done, begin_s - 0.05 * length_s, length_s)
    at_s = slips[0].at_s
    # Of the detents around it, those of the same stroke.
    begin_s, stroke_end_s, _ = [one for one in done.motion.strokes if one[0] <= at_s][-1]
    inside_s = [begin_s, *(one for one in moments_s if begin_s < one <= stroke_end_s)]
    near = min(int(np.searchsorted(inside_s, at_s)), len(inside_s) - 1)
    around_s = inside_s[max(near - _DETENTS // 2, 0) : near + _DETENTS // 2 + 1]
    length_s = max(around_s[-1] - around_s[0], at_s - around_s[-1], 1e-4) * 1.2
    if cause_s := _find_cause_s(done):
        length_s = min(length_s, _CAUSES * cause_s)
    return _fit_view(done, at_s - _BEFORE * length_s, length_s)


def _fit_view(done: Run, begin_s: float, length_s: float) -> View:
    begin_s = max(min(begin_s, done.motion.end_s - length_s), 0.0)
    return View(begin_s, min(length_s, done.motion.end_s - begin_s))


def _find_cause_s(done: Run) -> float:
    """Return the duration of the longest possible cause of an error; 0 if only the speed can cause one. [s]"""
    chain = done.chain
    bursts = [burst for burst in (chain.contact.on_make, chain.contact.on_break) if burst is not None]
    reader = chain.reader
    times_s = [burst.longest_ms / 1000 for burst in bursts]
    times_s.append(reader.held_up[0] / 1000)
    times_s.append((reader.latency_ms + reader.service_ms if reader.kind == "interrupt" else reader.period_ms) / 1000)
    if reader.debounce == "lockout":
        times_s.append(reader.lockout_ms / 1000)
    if reader.debounce in ("integrator", "equal"):
        times_s.append(reader.samples * reader.period_ms / 1000)
    for parts in (done.corner.a, done.corner.b):
        if parts.capacitor_f:
            times_s += [compute_opening_delay_s(parts), compute_closing_delay_s(parts)]
    return max(times_s)


def choose_run(chain: Chain, found: Verdict) -> Run:
    """Choose the run that best shows what limits a chain.

    Args:
        chain: the chain.
        found: its verdict.

    Returns:
        The first run with an error at its own speed; else at the slowest speed up to the target that errs, at nominal
        parts or at their worst corner. Where no run up to the target errs, the first run at its own speed.
    """
    own = chain.turning.turns_per_s
    first = chain.judging.first_seed
    for seed in range(first, first + chain.judging.seeds):
        done = run(chain, seed)
        if count(done).errors:
            return done
    for row in found.rows:
        for seed, one in enumerate(row.counts, first):
            if one.errors and row.turns_per_s <= found.target_turns_per_s:
                return run(chain, seed, row.turns_per_s)
    corners = list_worst_corners(chain.filter, chain.tolerance)
    for speed in list_speeds(chain):
        if found.worst.turns_per_s < speed <= found.target_turns_per_s:
            for corner in corners:
                for seed in list_seeds(chain, corners):
                    done = run(chain, seed, speed, corner)
                    if count(done).errors:
                        return done
    return run(chain, first, own, make_nominal(chain.filter))
