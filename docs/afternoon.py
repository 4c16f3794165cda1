"""Tables and picture of docs/reference/bench.md: the afternoon at the bench that every beginner has.

The chains are those of demos/chains/. What people say of each is common practice; the bench's own 95 % confidence
intervals show how far it is true, and the tests judge by the same figures.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import attrs

from knobmenu.bench.chain import Chain, change
from knobmenu.bench.chain_file import load
from knobmenu.bench.excerpt import choose_view, find_slips
from knobmenu.bench.figures import format_number
from knobmenu.bench.plot.waveforms import draw_waveforms
from knobmenu.bench.run import Count, run
from knobmenu.bench.scope import View
from knobmenu.bench.statistics import compute_interval
from knobmenu.bench.verdict import measure_row, reach_verdict

CHAINS = Path(__file__).parents[1] / "demos" / "chains"

IMAGES = Path(__file__).parent / "images"

PICTURE = IMAGES / "bench.svg"
"""The first picture of docs/reference/bench.md."""

STEPS = ("one-edge-polling", "lock-out", "rc-plain-input", "rc-schmitt-input", "waiting-loop", "interrupts-both")
"""The chains of the afternoon that have a picture of their own each, in order."""

SPEEDS = (0.2, 0.5, 1.0, 1.5, 2.0, 3.0)
"""Speeds of a hand; data sheets commonly end at 1 turn/s, 60 rpm. [turns/s]"""


@attrs.frozen(kw_only=True)
class Figure:
    """A figure with its 95 % confidence interval."""

    mean: float
    """Over the seeds. [for each click]"""
    low: float
    """From here. [for each click]"""
    high: float
    """To here. [for each click]"""

    def is_in(self, low: float, high: float) -> str:
        """Say whether the figure lies in a band: ``yes``, ``no``, or ``open`` where the interval crosses an end."""
        if low <= self.low and self.high <= high:
            return "yes"
        return "no" if self.high < low or high < self.low else "open"


@attrs.frozen(kw_only=True)
class Cell:
    """One chain at one speed."""

    counted: Figure
    """Counts, whatever their direction."""
    errors: Figure
    """Lost, extra and reversed together."""
    lost: Figure
    """Never counted."""
    reversed: Figure
    """Counted against the hand."""


@attrs.frozen(kw_only=True)
class Claim:
    """What people say of a chain, as a band in which a figure is to lie."""

    words: str
    """The saying; common practice."""
    chain: str
    """The chain, by its file's name."""
    figure: str
    """Which figure of `Cell` it is about."""
    low: float
    """The band from here. [for each click]"""
    high: float
    """To here. [for each click]"""


MANY = float("inf")

CLAIMS = (
    Claim(
        words="polling one edge counts several times a click: 2 or more",
        chain="one-edge-polling",
        figure="counted",
        low=2.0,
        high=MANY,
    ),
    Claim(
        words="a lock-out in software fixes it: 1 error in 100 or fewer",
        chain="lock-out",
        figure="errors",
        low=0.0,
        high=0.01,
    ),
    Claim(
        words="an RC into a plain input fixes it: 1 error in 100 or fewer",
        chain="rc-plain-input",
        figure="errors",
        low=0.0,
        high=0.01,
    ),
    Claim(
        words="a Schmitt trigger behind the same RC fixes it: 1 error in 100 or fewer",
        chain="rc-schmitt-input",
        figure="errors",
        low=0.0,
        high=0.01,
    ),
    Claim(
        words="1 uF at a Schmitt input gives one count a click: 0.99 to 1.01",
        chain="schmitt-1uf",
        figure="counted",
        low=0.99,
        high=1.01,
    ),
    Claim(
        words="and that count is right: 1 error in 100 or fewer",
        chain="schmitt-1uf",
        figure="errors",
        low=0.0,
        high=0.01,
    ),
    Claim(
        words="with waits of 100 ms in the loop about one click in twenty is seen: 1 in 10 to 1 in 40",
        chain="waiting-loop",
        figure="counted",
        low=1 / 40,
        high=1 / 10,
    ),
    Claim(
        words="interrupts on both phases bring them all back: 1 error in 100 or fewer",
        chain="interrupts-both",
        figure="errors",
        low=0.0,
        high=0.01,
    ),
)
"""The sayings, in the order of the afternoon."""


def names() -> tuple[str, ...]:
    """Return the chains in the order of the afternoon, by their files' names."""
    return tuple(dict.fromkeys(claim.chain for claim in CLAIMS))


def chain(name: str) -> Chain:
    """Load a chain of the afternoon."""
    return load(CHAINS / f"{name}.toml")


@cache
def cell(name: str, turns_per_s: float) -> Cell:
    """Try a chain at a speed, with the seeds that its file asks for."""
    counts = measure_row(chain(name), turns_per_s).counts
    return Cell(
        counted=_figure(counts, [one.counted for one in counts]),
        errors=_figure(counts, [one.errors for one in counts]),
        lost=_figure(counts, [one.lost for one in counts]),
        reversed=_figure(counts, [one.reversed for one in counts]),
    )


def _figure(counts: tuple[Count, ...], found: list[int]) -> Figure:
    shares = [number / one.true for number, one in zip(found, counts, strict=True)]
    low, high = compute_interval(shares, sum(one.true for one in counts))
    return Figure(mean=math.fsum(shares) / len(shares), low=low, high=high)


def judged(claim: Claim, turns_per_s: float) -> str:
    """Say whether a saying is so at a speed: ``yes``, ``no`` or ``open``."""
    figure: Figure = getattr(cell(claim.chain, turns_per_s), claim.figure)
    return figure.is_in(claim.low, claim.high)


@cache
def fastest_turns_per_s(name: str) -> float:
    """Return up to which speed a chain counts right, as the verdict has it; 0: at none. [turns/s]"""
    return reach_verdict(chain(name)).nominal.turns_per_s


def figures_table() -> str:
    """Draw what each chain counts: counts a click, errors in 100 clicks, and the speed up to which it counts right."""
    speeds = [f"{speed:g}" for speed in SPEEDS]
    lines = [
        "| chain | figure | " + " | ".join(speeds) + " | good up to |",
        "| --- | --- | " + "--- | " * len(speeds) + "--- |",
    ]
    for name in names():
        cells = [cell(name, speed) for speed in SPEEDS]
        fastest = fastest_turns_per_s(name)
        good = f"{format_number(fastest, 2)} turns/s" if fastest else "no speed"
        counted = [f"{one.counted.mean:.2f} ({one.counted.low:.2f}-{one.counted.high:.2f})" for one in cells]
        errors = [_percentages(one.errors) for one in cells]
        link = f"[{name}](../../demos/chains/{name}.toml)"
        lines.append(f"| {link} | counts a click | {' | '.join(counted)} | {good} |")
        lines.append(f"| | errors in 100 clicks | {' | '.join(errors)} | |")
    return "\n".join(lines) + "\n"


def _percentages(figure: Figure) -> str:
    mean, low, high = (format_number(value * 100) for value in (figure.mean, figure.low, figure.high))
    return f"{mean} ({low}-{high})"


def claims_table() -> str:
    """Draw which saying is so at which speed."""
    lines = [
        "| common practice says; at turns/s | " + " | ".join(f"{speed:g}" for speed in SPEEDS) + " |",
        "| --- |" + " --- |" * len(SPEEDS),
    ]
    lines += [f"| {claim.words} | {' | '.join(judged(claim, speed) for speed in SPEEDS)} |" for claim in CLAIMS]
    return "\n".join(lines) + "\n"


def without_noise(name: str, turns_per_s: float) -> float:
    """Return the errors of a chain for each click, without the noise at its pins."""
    return measure_row(change(chain(name), {"filter.noise_v": 0.0}), turns_per_s).error_rate


def pictures() -> dict[Path, str]:
    """Draw the pictures of docs/reference/bench.md, by their files.

    The first shows how the phases of the Schmitt chain lose their order, in its first flick at 1.5 turns/s. Each step
    of the afternoon is drawn at 1 turn/s around its first error, and the two RC filters at the same opening, where
    noise crosses one threshold many times.
    """
    drawn = {PICTURE: _draw("schmitt-1uf", 1.5)}
    drawn |= {IMAGES / f"afternoon-{name}.svg": _draw(name, 1.0) for name in STEPS}
    done = run(chain("rc-plain-input"), 1, 1.0)
    at_s = find_slips(done)[0].at_s
    view = View(at_s - _AROUND_S / 2, _AROUND_S)
    for name in ("rc-plain-input", "rc-schmitt-input"):
        drawn[IMAGES / f"afternoon-{name}.svg"] = _draw(name, 1.0, view)
    return drawn


_AROUND_S = 0.0006
"""How much of a slow edge is drawn. [s]"""


def _draw(name: str, turns_per_s: float, view: View | None = None) -> str:
    done = run(chain(name), 1, turns_per_s)
    slips = find_slips(done)
    return draw_waveforms(done, slips, view or choose_view(done, slips))
