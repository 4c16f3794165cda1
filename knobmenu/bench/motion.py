"""How the knob is turned: its angle over time, in detents.

A motion is a chain of knots, joined by straight lines. Detents are whole numbers; the knob starts and ends at rest on
one. A hand's stroke follows the minimum-jerk course (T. Flash and N. Hogan, *The coordination of arm movements*, J.
Neuroscience 5(7), 1985, 1688-1703; the polynomial from memory). The pull of a detent holds the knob near the detent and
hurries it over the hump; its strength is an assumption, no published figure was found.
"""

from __future__ import annotations

import attrs
import numpy as np

from knobmenu.bench.signal import Floats

KNOTS_PER_DETENT = 24
"""Straight pieces in which a curved course is drawn; the error of an edge's time is under 1 % of a detent's time."""

SETTLING_S = 0.25
"""How long the knob rests before the first stroke and after each; longer than any filter here delays. [s]"""


@attrs.frozen(eq=False)
class Motion:
    """The angle of the knob over time."""

    at_s: Floats
    """Moments of the knots, never going back. [s]"""
    detents: Floats
    """The angle at each knot. [detents]"""
    strokes: tuple[tuple[float, float, int], ...]
    """Each movement one way: when it begins, when its counting ends, and the true detents, signed. [s, s, detents]"""

    @property
    def true_detents(self) -> int:
        """Detents moved in either direction. [detents]"""
        return sum(abs(true) for _, _, true in self.strokes)

    @property
    def end_s(self) -> float:
        """When it ends. [s]"""
        return float(self.at_s[-1])


@attrs.frozen
class _Stroke:
    detents: int
    length_s: float
    rest_s: float


def make_steady(detents: int, detents_per_s: float) -> Motion:
    """Turn at one speed.

    Args:
        detents: how many, signed. [detents]
        detents_per_s: how fast, above 0. [detents/s]
    """
    length_s = abs(detents) / detents_per_s
    return _join_strokes([_Stroke(detents, length_s, SETTLING_S)], curved=False, pull=0.0)


def make_flicks(
    detents: int, detents_per_s: float, generator: np.random.Generator, *, longest: int = 8, pull: float = 0.5
) -> Motion:
    """Turn as a hand does: flicks of a few detents that speed up and slow down, with pauses between them.

    Args:
        detents: how many in all, signed. [detents]
        detents_per_s: mean speed within a flick, above 0. [detents/s]
        generator: draws the length of each flick and its speed, within a quarter of the mean.
        longest: most detents in one flick. [detents]
        pull: strength of the detents, 0 none to below 1; 0.5 is assumed. [unitless]
    """
    strokes, left = [], abs(detents)
    while left:
        part = min(left, int(generator.integers(1, longest + 1)))
        left -= part
        speed = detents_per_s * float(generator.uniform(0.75, 1.25))
        strokes.append(_Stroke(part if detents > 0 else -part, part / speed, SETTLING_S))
    return _join_strokes(strokes, curved=True, pull=pull)


def make_reversals(
    detents: int, detents_per_s: float, generator: np.random.Generator, *, longest: int = 5, pull: float = 0.5
) -> Motion:
    """Turn back and forth by a few detents at a time, like someone who looks for a position.

    Args:
        detents: how many in all, whatever the direction. [detents]
        detents_per_s: mean speed within a stroke, above 0. [detents/s]
        generator: draws the length of each stroke.
        longest: most detents in one stroke. [detents]
        pull: strength of the detents, 0 none to below 1. [unitless]
    """
    strokes, left, sign = [], abs(detents), 1 if detents > 0 else -1
    while left:
        part = min(left, int(generator.integers(1, longest + 1)))
        left -= part
        strokes.append(_Stroke(sign * part, part / detents_per_s, SETTLING_S))
        sign = -sign
    return _join_strokes(strokes, curved=True, pull=pull)


def make_dither(times: int, per_s: float, generator: np.random.Generator, *, widest: float = 0.45) -> Motion:
    """Rock the knob on one detent without leaving it: every count is an error.

    Args:
        times: how often it is rocked. [unitless]
        per_s: how often in a second, above 0. [1/s]
        generator: draws how far each time.
        widest: farthest from the detent, below 0.5. [detents]
    """
    away = generator.uniform(-widest, widest, times)
    angles = np.concatenate(([0.0], np.column_stack((away, np.zeros(times))).ravel(), [0.0]))
    at_s = SETTLING_S + np.arange(2 * times + 1) / (2 * per_s)
    at_s = np.concatenate((at_s, [at_s[-1] + SETTLING_S]))
    return Motion(
        np.concatenate(([0.0], at_s)), np.concatenate(([0.0], angles)), ((float(at_s[0]), float(at_s[-1]), 0),)
    )


def make_recorded(at_s: Floats, detents: Floats) -> Motion:
    """Turn as recorded: the recorded angle at recorded moments.

    Args:
        at_s: moments, never going back. [s]
        detents: the angle at each. [detents]
    """
    at_s = at_s - at_s[0] + SETTLING_S
    begin, strokes = 0, []
    signs = np.sign(np.diff(detents))
    moving = np.flatnonzero(signs)
    turns = moving[1:][signs[moving[1:]] != signs[moving[:-1]]]
    for end in [*turns.tolist(), len(detents) - 1]:
        true = int(np.rint(detents[end])) - int(np.rint(detents[begin]))
        strokes.append((float(at_s[begin]), float(at_s[end]), true))
        begin = end
    last_s = float(at_s[-1]) + SETTLING_S
    strokes[-1] = (strokes[-1][0], last_s, strokes[-1][2])
    return Motion(
        np.concatenate(([0.0], at_s, [last_s])),
        np.concatenate((detents[:1], detents, detents[-1:])),
        tuple(strokes),
    )


def _join_strokes(strokes: list[_Stroke], *, curved: bool, pull: float) -> Motion:
    at_s, angles, ends = [np.zeros(1)], [np.zeros(1)], []
    now, angle = SETTLING_S, 0
    for stroke in strokes:
        knots = KNOTS_PER_DETENT * max(abs(stroke.detents), 1) if curved else 1
        share = np.linspace(0.0, 1.0, knots + 1)
        course = share**3 * (10 - 15 * share + 6 * share**2) if curved else share
        moved = stroke.detents * course
        at_s.append(now + stroke.length_s * share)
        angles.append(angle + moved - pull / (2 * np.pi) * np.sin(2 * np.pi * moved))
        end_s = now + stroke.length_s + stroke.rest_s
        ends.append((now, end_s, stroke.detents))
        now, angle = end_s, angle + stroke.detents
    at_s.append(np.array([now]))
    angles.append(np.array([float(angle)]))
    return Motion(np.concatenate(at_s), np.concatenate(angles), tuple(ends))
