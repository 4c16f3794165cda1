"""Output that several commands share: files, progress and tables."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import PurePath


def add_overwrite(parser: argparse.ArgumentParser) -> None:
    """Add the option that every command has that writes files."""
    parser.add_argument("--overwrite", action="store_true", help="overwrite existing files")


def write_file(name: str, content: str | bytes, overwrite: bool, inputs: Iterable[str | None]) -> None:
    """Write a file that a command was asked for, and report it on standard error.

    Args:
        name: The file.
        content: Its content; text is written as UTF-8.
        overwrite: Whether it may replace an existing file.
        inputs: The files that the command reads, which are not overwritten; None: not given.

    Raises:
        FileError: The file exists, is an input, or cannot be written.
    """
    from knobmenu.errors import printable
    from knobmenu.files import output

    given = [one for one in inputs if one is not None]
    output.refuse_input(name, given)
    if overwrite:
        output.replace(name, content, given)
    else:
        output.create(name, content, "Choose another name, or give --overwrite.")
    print(f"Wrote {printable(name)}.", file=sys.stderr)


def check_picture(name: str | None) -> None:
    """Refuse the name of an unsupported picture before any work is done.

    Raises:
        DesignError: The name does not end in .svg or .png, or the library for PNG is not installed.
    """
    from knobmenu.errors import DesignError, Problem, quote_value
    from knobmenu.files.pictures import FORMATS, find_picture_problem

    if name and find_picture_problem(name):
        is_format = PurePath(name).suffix.lower() in FORMATS
        advice = "install knobmenu[png], or choose a name that ends in .svg" if is_format else ""
        raise DesignError([Problem("--plot", quote_value(name), "a file that ends in .svg or .png", advice)])


def make_progress_bar(label: str) -> Callable[[int, int], None]:
    """Make a function that draws a progress bar, if standard error is a terminal and more than a second has passed."""
    started = time.monotonic()

    def show(done: int, whole: int) -> None:
        if sys.stderr.isatty() and time.monotonic() - started > 1:
            filled = 30 * done // max(whole, 1)
            print(f"\r\x1b[K{label} [{'#' * filled}{'.' * (30 - filled)}]", end="", file=sys.stderr, flush=True)

    return show


def clear_progress() -> None:
    """Clear the progress bar."""
    if sys.stderr.isatty():
        print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def print_table(columns: tuple[str, ...], rows: Sequence[tuple[str, ...]], numeric: frozenset[int]) -> None:
    """Print rows in columns, with numeric columns right-aligned."""
    widths = [max(len(row[index]) for row in [columns, *rows]) for index in range(len(columns))]
    for row in (columns, *rows):
        cells = [
            word.rjust(width) if index in numeric else word.ljust(width)
            for index, (word, width) in enumerate(zip(row, widths, strict=True))
        ]
        print("  ".join(cells).rstrip())
