"""What the subcommands of the bench share: the chain's argument, refusals, progress."""

from __future__ import annotations

import argparse
import sys

from knobmenu.cli.parsing import Parser, add_file
from knobmenu.errors import KnobmenuError


def add_chain(parser: argparse.ArgumentParser) -> None:
    """Add the argument for a chain's file."""
    add_file(parser, "chain", metavar="CHAIN", nargs="?", help="a chain's TOML file; the built-in one if not given")


def add_json(parser: argparse._ActionsContainer) -> None:
    """Add the option for JSON."""
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")


def make_argument_error(path: str, found: str, expected: str, advice: str = "") -> KnobmenuError:
    """Make the error for an argument that cannot be taken."""
    from knobmenu.bench.errors import BenchError
    from knobmenu.errors import Problem

    return BenchError([Problem(path, found, expected, advice)])


def show_progress(text: str) -> None:
    """Show a person what is being done, on a line of its own that the next one replaces; nothing clears it."""
    if sys.stderr.isatty():
        print(f"\r\x1b[K{text}", end="", file=sys.stderr, flush=True)


def add_question(commands: argparse._SubParsersAction[Parser], name: str, help: str, epilog: str = "") -> Parser:
    """Add the parser of a subcommand, whose own help begins with what it does."""
    return commands.add_parser(name, help=help, description=f"{help[0].upper()}{help[1:]}.", epilog=epilog or None)
