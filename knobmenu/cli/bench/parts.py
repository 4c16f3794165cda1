"""Which part a picture shows: ``--from-ms`` and ``--to-ms``, beside ``--plot``."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.bench.answering import make_argument_error

if TYPE_CHECKING:
    from knobmenu.bench.scope import View


def add_part(parser: argparse.ArgumentParser) -> None:
    """Add the options that state the part."""
    parser.add_argument("--from-ms", type=float, metavar="MS", help="where the picture begins")
    parser.add_argument("--to-ms", type=float, metavar="MS", help="where it ends")


def refuse_part_without_plot(options: argparse.Namespace) -> None:
    """Refuse a part where nothing is drawn."""
    if not options.plot and (options.from_ms, options.to_ms) != (None, None):
        raise make_argument_error("--from-ms", "no --plot beside it", "--plot, of which it states a part")


def choose_part(chosen: View, end_s: float, options: argparse.Namespace) -> View:
    """Return the requested part.

    Args:
        chosen: the part where none is requested; its length holds where only one end is.
        end_s: where the whole ends; it begins at 0. [s]
        options: the options of `add_part`.
    """
    from knobmenu.bench.scope import View

    match options.from_ms, options.to_ms:
        case None, None:
            return chosen
        case from_ms, None:
            from_s = from_ms / 1000
            to_s = min(from_s + chosen.length_s, end_s)
        case None, to_ms:
            to_s = to_ms / 1000
            from_s = max(to_s - chosen.length_s, 0.0)
        case from_ms, to_ms:
            from_s, to_s = from_ms / 1000, to_ms / 1000
    if not 0 <= from_s < to_s <= end_s:
        expected = f"from before to, within 0 and {end_s * 1000:.0f} ms"
        raise make_argument_error("--from-ms", f"{from_s * 1000:.10g} to {to_s * 1000:.10g} ms", expected)
    return View(from_s, to_s - from_s)
