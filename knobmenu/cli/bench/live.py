"""``knobmenu bench live``: change the parts of a chain in the terminal, and watch."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from knobmenu.cli.bench.answering import add_chain, add_question, make_argument_error
from knobmenu.cli.parsing import Parser
from knobmenu.cli.try_ import LOOKS, can_draw

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the subcommand's own parser."""
    parser = add_question(commands, "live", help="change its parts in the terminal and watch the effect")
    add_chain(parser)
    parser.add_argument("--look", choices=LOOKS, help="the colours; by default what suits the terminal")


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Open the bench's screen."""
    if not can_draw(os.environ, sys.stdin.isatty(), sys.stdout.isatty()):
        advice = "use knobmenu bench judge, which prints lines"
        raise make_argument_error("live", "no terminal that can be drawn on", "a terminal", advice)
    from knobmenu.bench.simulated import NamedChain
    from knobmenu.picture.palettes import get_palette
    from knobmenu.terminal.backend.ends import run as run_app
    from knobmenu.terminal.bench.app import BenchApp

    path = Path(options.chain) if options.chain else None
    name = "built-in chain" if path is None else path.name
    look = get_palette(options.look.replace("-", " ")) if options.look else None
    return run_app(BenchApp(NamedChain(chain, name), look, path))
