"""Plots of time and gestures of every attempt against the least possible."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import shorten
from typing import TYPE_CHECKING

import attrs

from knobmenu.review.attempts import Attempt
from knobmenu.review.measures import Interval
from knobmenu.review.report.plotting import FAINT, INK, LINE, draw
from knobmenu.review.report.results import Results, list_trial_cells
from knobmenu.review.report.summary import TaskSummary

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LOGARITHMIC = 30
"""The ratio of the largest to the smallest value above which the scale is logarithmic."""

_MOST_CHARACTERS = 27
"""How many characters of a task's or a variant's name fit beside the plot."""


@attrs.frozen
class _Row:
    """One task with one variant."""

    label: str
    done: tuple[float, ...]
    failed: tuple[float, ...]
    mean: Interval | None
    least: tuple[float, float, float] | None
    """The lowest, the typical and the highest value that is possible."""


def plot_times(results: Results) -> str:
    """Draw the time of every attempt, with the prediction of the keystroke-level model for the least way.

    Returns:
        A whole SVG document.
    """

    def get_least(task: TaskSummary) -> tuple[float, float, float] | None:
        seconds = None if task.least is None else task.least.seconds
        return None if seconds is None else (seconds.low, seconds.typical, seconds.high)

    rows = [_make_row(results, task, lambda one: one.seconds, task.seconds, get_least(task)) for task in results.tasks]
    return _draw_plot(rows, "time on task [s]", "predicted for the least way")


def plot_gestures(results: Results) -> str:
    """Draw the detents and presses of every attempt, with those of the least way.

    Returns:
        A whole SVG document.
    """

    def get_least(task: TaskSummary) -> tuple[float, float, float] | None:
        gestures = None if task.least is None else float(task.least.gestures)
        return None if gestures is None else (gestures, gestures, gestures)

    rows = [
        _make_row(results, task, lambda one: one.gestures, task.gestures, get_least(task)) for task in results.tasks
    ]
    return _draw_plot(rows, "detents and presses", "fewest possible")


def _make_row(
    results: Results,
    task: TaskSummary,
    value: Callable[[Attempt], float],
    mean: Interval | None,
    least: tuple[float, float, float] | None,
) -> _Row:
    attempts = [one for _, one in results.collection.list_attempts(task.trial.variant, task.trial.task)]
    return _Row(
        "\n".join(
            shorten(words, _MOST_CHARACTERS, placeholder=" …") for words in list_trial_cells(results, task.trial)
        ),
        tuple(float(value(one)) for one in attempts if one.succeeded),
        tuple(float(value(one)) for one in attempts if not one.succeeded),
        mean,
        least,
    )


def _draw_plot(rows: Sequence[_Row], unit: str, least: str) -> str:
    def fill(figure: Figure) -> None:
        from matplotlib.ticker import LogLocator, NullLocator

        axes = figure.add_axes((0.26, 0.62 / height_in, 0.72, 1 - 1.16 / height_in))
        for place, row in enumerate(rows):
            _draw_row(axes, place, row)
        values = [value for row in rows for value in (*row.done, *row.failed, *(row.least or ())) if value > 0]
        if values and max(values) / min(values) > _LOGARITHMIC:
            axes.set_xscale("log")
            axes.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
            axes.xaxis.set_major_formatter("{x:g}")
            axes.xaxis.set_minor_locator(NullLocator())
        else:
            axes.set_xlim(left=0)
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.set_yticks(range(len(rows)), [row.label for row in rows])
        axes.tick_params(axis="y", length=0)
        axes.grid(axis="x", color=LINE, linewidth=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel(unit)
        _draw_legend(figure, least)

    height_in = 1.3 + 0.46 * len(rows)
    return draw(7.6, height_in, fill)


def _draw_row(axes: Axes, place: int, row: _Row) -> None:
    if row.least is not None:
        low, typical, high = row.least
        if high > low:
            axes.barh(place, high - low, left=low, height=0.72, facecolor="none", edgecolor=FAINT, hatch="////", lw=0)
        axes.plot([typical, typical], [place - 0.4, place + 0.4], color=INK, linewidth=1.2, linestyle=(0, (2, 1.5)))
    for values, marker in ((row.done, "o"), (row.failed, "x")):
        heights = [place + _spread_points(number, len(values)) for number in range(len(values))]
        axes.plot(
            sorted(values),
            heights,
            linestyle="none",
            marker=marker,
            markersize=4.8,
            markerfacecolor="none",
            markeredgecolor=INK,
            markeredgewidth=0.9,
        )
    if row.mean is not None:
        bounded = row.mean.low > 0 and row.mean.high < float("inf")
        if bounded:
            axes.plot([row.mean.low, row.mean.high], [place, place], color=INK, linewidth=2.4, solid_capstyle="butt")
        axes.plot([row.mean.estimate], [place], marker="D", markersize=7, color=INK, markeredgecolor="white")


def _spread_points(number: int, count: int) -> float:
    """Return a vertical offset within the row, so that points with the same value stay apart."""
    return 0.0 if count == 1 else 0.22 * ((number * 5) % min(count, 7) / (min(count, 7) - 1) * 2 - 1)


def _draw_legend(figure: Figure, least: str) -> None:
    from matplotlib.lines import Line2D

    handles = [
        Line2D([], [], marker="o", linestyle="none", markerfacecolor="none", markeredgecolor=INK, label="done"),
        Line2D([], [], marker="x", linestyle="none", markeredgecolor=INK, label="not done"),
        Line2D([], [], marker="D", color=INK, linewidth=2.4, label="mean of those done, 95 %"),
        Line2D([], [], color=INK, linewidth=1.2, linestyle=(0, (2, 1.5)), label=least),
    ]
    figure.legend(handles=handles, loc="upper center", ncols=4, columnspacing=1.4, handletextpad=0.5)
