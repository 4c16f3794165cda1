"""Plots of the value over time in every edit of a setting, which show who turns past the target."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from knobmenu.design.domains import get_domain
from knobmenu.design.labels import get_label
from knobmenu.review.edits import Edit
from knobmenu.review.report.collection import Collection
from knobmenu.review.report.formatting import format_count
from knobmenu.review.report.plotting import FAINT, INK, LINE, draw
from knobmenu.review.study import Trial
from knobmenu.screen.values import describe_value

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_LINES = 40
"""How many edits of one setting are drawn, those that went past the target first."""

MOST_TICKS = 6
"""How many values are labelled on an axis."""


def plot_edits(collection: Collection, trial: Trial) -> Iterator[tuple[str, str]]:
    """Draw the edits of each setting that a task is about.

    Returns:
        For each setting a title and a whole SVG document.
    """
    edits: dict[str, list[Edit]] = {}
    for _, attempt in collection.list_attempts(trial.variant, trial.task):
        for edit in attempt.edits:
            edits.setdefault(edit.key, []).append(edit)
    for key, found in edits.items():
        past = [edit for edit in found if edit.overshoots]
        shown = [*past, *(edit for edit in found if not edit.overshoots)][:MOST_LINES]
        label = get_label(collection.setup.designs[trial.variant], key)
        title = f'"{label}": {format_count(len(found), "edit")}'
        if found[0].target is not None:
            title += f", {len(past)} past the target"
        if len(shown) < len(found):
            title += f" ({len(shown)} drawn)"
        yield title, _plot_setting(collection, trial, key, shown)


def _plot_setting(collection: Collection, trial: Trial, key: str, edits: Sequence[Edit]) -> str:
    design = collection.setup.designs[trial.variant]
    seen = [point.value for edit in edits for point in edit.points] + [
        edits[0].points[0].value if edits[0].target is None else edits[0].target
    ]
    values = [value for value in get_domain(design, key) if min(seen) <= value <= max(seen)]
    ticks = values[:: -(-len(values) // MOST_TICKS)]

    def fill(figure: Figure) -> None:
        from matplotlib.lines import Line2D

        axes = figure.add_axes((0.13, 0.19, 0.84, 0.66))
        target = edits[0].target
        for edit in reversed(edits):  # those past the target on top
            begin_ms = edit.points[0].real_ms
            times = [(point.real_ms - begin_ms) / 1000 for point in edit.points]
            colour, width = (INK, 1.7) if edit.overshoots else (FAINT, 0.8)
            axes.step(times, [point.value for point in edit.points], where="post", color=colour, linewidth=width)
            for past, _ in edit.overshoots:
                axes.plot([(past.real_ms - begin_ms) / 1000], [past.value], marker="v", markersize=7, color=INK)
        handles = [Line2D([], [], color=FAINT, linewidth=0.8, label="one edit")]
        if target is not None:
            axes.axhline(target, color=INK, linewidth=1.0, linestyle=(0, (5, 3)))
            requested = f"requested: {describe_value(design, key, target)}"
            handles += [
                Line2D([], [], color=INK, linewidth=1.7, marker="v", label="an edit past the target, and where"),
                Line2D([], [], color=INK, linewidth=1.0, linestyle=(0, (5, 3)), label=requested),
            ]
        axes.set_yticks(ticks, [describe_value(design, key, value) for value in ticks])
        axes.set_xlim(left=0)
        axes.grid(color=LINE, linewidth=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel("time since the editor opened [s]")
        figure.legend(handles=handles, loc="upper center", ncols=3, columnspacing=1.6)

    return draw(7.6, 2.6, fill)
