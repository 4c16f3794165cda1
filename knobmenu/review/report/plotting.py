"""The drawing of plots in a report: by matplotlib, in ink and greys, with the same bytes for the same numbers."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, FAINT, LINE, PAPER = "#1d2433", "#5c6577", "#c9cfd9", "#ffffff"
"""Ink for data, a grey for labels and minor data, a light grey for grid lines, and the background."""

_STYLE = {
    "svg.fonttype": "none",
    "svg.hashsalt": "knobmenu",
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 9.0,
    "text.parse_math": False,  # a label is plain text, even with a dollar sign
    "text.color": INK,
    "axes.edgecolor": FAINT,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.color": FAINT,
    "ytick.color": FAINT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "lines.scale_dashes": False,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
    "figure.facecolor": PAPER,
    "hatch.linewidth": 0.6,
    "hatch.color": FAINT,
}


def draw(width_in: float, height_in: float, fill: Callable[[Figure], None]) -> str:
    """Draw a figure.

    Args:
        width_in: Its width. [in]
        height_in: Its height. [in]
        fill: Draws the contents of the figure.

    Returns:
        A whole SVG document, without a date.
    """
    import matplotlib
    from matplotlib.figure import Figure as NewFigure

    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():  # type: ignore[arg-type]  # its stubs list the keys
        # Text stays text in the document: the browser draws characters that this font lacks in another font.
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = NewFigure(figsize=(width_in, height_in))
        fill(figure)
        written = io.StringIO()
        figure.savefig(written, format="svg", metadata={"Date": None, "Creator": None})
    return written.getvalue()
