"""What several commands write beside their words: pictures, pages and progress."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from knobmenu.errors import DesignError, Problem


def write_picture(path: str, svg: str) -> None:
    """Write a picture as SVG, or as PNG where the name ends so.

    Raises:
        DesignError: The name ends in something else, or PNG cannot be drawn here.
    """
    from knobmenu.files.opening import write_text

    suffix = Path(path).suffix
    if suffix == ".svg":
        write_text(path, svg)
    elif suffix == ".png":
        try:
            import resvg_py
        except ImportError:
            problem = Problem("--plot", f'"{path}"', "a file that ends in .svg", "for .png install knobmenu[png]")
            raise DesignError([problem]) from None
        try:
            Path(path).write_bytes(bytes(resvg_py.svg_to_bytes(svg_string=svg)))
        except OSError as error:
            raise DesignError([Problem("--plot", str(error), "a file that can be written", file=path)]) from None
    else:
        raise DesignError([Problem("--plot", f'"{path}"', "a file that ends in .svg or .png")])
    print(f"wrote {path}", file=sys.stderr)


def write_page(path: str, html: str) -> None:
    """Write an HTML file."""
    from knobmenu.files.opening import write_text

    write_text(path, html)
    print(f"wrote {path}", file=sys.stderr)


def progress_bar(words: str) -> Callable[[int, int], None]:
    """Make a function that draws how much is done, to a person and only where it takes over a second."""
    started = time.monotonic()

    def show(done: int, whole: int) -> None:
        if sys.stderr.isatty() and time.monotonic() - started > 1:
            filled = 30 * done // max(whole, 1)
            print(f"\r\x1b[K{words} [{'#' * filled}{'.' * (30 - filled)}]", end="", file=sys.stderr, flush=True)

    return show


def clear_progress() -> None:
    """Take the bar away."""
    if sys.stderr.isatty():
        print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def print_table(columns: tuple[str, ...], rows: Sequence[tuple[str, ...]], numeric: frozenset[int]) -> None:
    """Print rows in columns, numbers at the right."""
    widths = [max(len(row[index]) for row in [columns, *rows]) for index in range(len(columns))]
    for row in (columns, *rows):
        cells = [
            word.rjust(width) if index in numeric else word.ljust(width)
            for index, (word, width) in enumerate(zip(row, widths, strict=True))
        ]
        print("  ".join(cells).rstrip())
