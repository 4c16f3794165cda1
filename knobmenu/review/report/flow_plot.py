"""A plot of the paths that people took, on the map of the menu.

The pattern of a line or frame carries its meaning, not its colour: solid is the least way, dashed is elsewhere, dotted
leads back. The width of a line shows how many people took the passage, and their number is next to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from knobmenu.review.report.flow import Flow, Passage, Place
from knobmenu.review.report.formatting import format_count
from knobmenu.review.report.plotting import FAINT, INK, PAPER, draw

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ROW_IN, _COLUMN_IN, _BOX_IN, _EDGE_IN = 0.5, 2.15, 1.35, 0.15
"""The height of a row, the width of a column, the width of a place, and the margin. [in]"""

_WIDEST_PT = 9.0
"""The width of the line of a passage that all people took. [pt]"""

_MOST_CHARACTERS = 18
"""How many characters of a label fit a place."""


def plot_flow(flow: Flow) -> str:
    """Draw a flow.

    Returns:
        A whole SVG document.
    """
    width = flow.depth * _COLUMN_IN + _BOX_IN + 2 * _EDGE_IN
    height = flow.rows * _ROW_IN + 2 * _EDGE_IN + 0.3

    def fill(figure: Figure) -> None:
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        axes.set_xlim(0, max(width, 7.6))
        axes.set_ylim(height, 0)
        places = {place.key: place for place in flow.places}
        for passage in flow.passages:
            _draw_passage(axes, flow, places, passage)
        for place in flow.places:
            _draw_place(axes, place)
        legend = "solid: the least way · dashed: elsewhere · dotted: back · numbers and widths: people"
        axes.text(_EDGE_IN, height - 0.12, legend, fontsize=8, color=FAINT, va="bottom")

    return draw(max(width, 7.6), height, fill)


def _find_middle(place: Place) -> tuple[float, float]:
    return _EDGE_IN + place.depth * _COLUMN_IN + _BOX_IN / 2, _EDGE_IN + (place.row + 0.5) * _ROW_IN


def _draw_place(axes: Axes, place: Place) -> None:
    from matplotlib.patches import FancyBboxPatch

    x, y = _find_middle(place)
    label = place.label if len(place.label) <= _MOST_CHARACTERS else place.label[: _MOST_CHARACTERS - 1] + "…"
    if not place.people and not place.on_way:
        axes.text(x - _BOX_IN / 2 + 0.06, y, label, color=FAINT, va="center")
        return
    box = FancyBboxPatch(
        (x - _BOX_IN / 2, y - 0.17),
        _BOX_IN,
        0.34,
        boxstyle="round,pad=0,rounding_size=0.05",
        facecolor=PAPER,
        edgecolor=INK,
        linewidth=1.8 if place.on_way else 0.9,
        linestyle="solid" if place.on_way else (0, (4, 2)),
        zorder=3,
    )
    axes.add_patch(box)
    outcomes = {"gave-up": "gave up", "time-out": "ran out of time"}
    below = [format_count(place.people, "person", "people")]
    below += [f"{count} {outcomes[outcome]}" for outcome, count in place.ended]
    axes.text(x, y - 0.06, label, ha="center", va="center", zorder=4, weight="bold" if place.on_way else "normal")
    axes.text(x, y + 0.09, ", ".join(below), ha="center", va="center", zorder=4, fontsize=7)


def _draw_passage(axes: Axes, flow: Flow, places: Mapping[str, Place], passage: Passage) -> None:
    from matplotlib.patches import FancyArrowPatch
    from matplotlib.path import Path

    (x, y), (to_x, to_y) = _find_middle(places[passage.start]), _find_middle(places[passage.end])
    if passage.forward:
        x, to_x = x + _BOX_IN / 2, to_x - _BOX_IN / 2
        curve = (to_x - x) / 2
        middle = [(x + curve, y), (to_x - curve, to_y)]
        number_at = (to_x - 0.24, to_y - 0.1)
    elif places[passage.start].depth > places[passage.end].depth:
        x, to_x = x - _BOX_IN / 2, to_x + _BOX_IN / 2
        y, to_y = y + 0.12, to_y + 0.12
        curve = (to_x - x) / 2
        middle = [(x + curve, y), (to_x - curve, to_y)]
        number_at = (x - 0.2, y + 0.1)
    else:
        x, to_x = x + _BOX_IN / 2, to_x + _BOX_IN / 2
        middle = [(x + 0.4, y), (to_x + 0.4, to_y)]
        number_at = (x + 0.3, (y + to_y) / 2)
    if passage.on_way:
        line: str | tuple[int, tuple[float, ...]] = "solid"
    else:
        line = (0, (6, 2.5)) if passage.forward else (0, (1.2, 2.4))
    rate = passage.people / max(flow.tried, 1)
    width = max(_WIDEST_PT * rate, 0.8) if passage.forward else max(2.0 * rate, 0.7)
    colour = FAINT if passage.forward and passage.on_way and passage.people else INK
    path = Path([(x, y), *middle, (to_x, to_y)], [Path.MOVETO, Path.CURVE4, Path.CURVE4, Path.CURVE4])
    arrow = FancyArrowPatch(
        path=path,
        arrowstyle="-" if passage.forward else "-|>",
        mutation_scale=7,
        linewidth=width,
        linestyle=line,
        color=colour,
        capstyle="butt",
        fill=False if passage.forward else None,
        zorder=1 if passage.forward else 2,
    )
    axes.add_patch(arrow)
    if passage.people:
        number = axes.text(*number_at, str(passage.people), ha="center", va="center", fontsize=7.5, zorder=5)
        number.set_bbox({"facecolor": PAPER, "edgecolor": "none", "pad": 0.6})
