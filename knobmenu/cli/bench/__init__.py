"""``knobmenu bench``: judge whether an encoder, filter, loop and decoder count correctly

Each question is a subcommand with a module of its own; `judge` is asked where none is named.
"""

from __future__ import annotations

import argparse
from importlib import import_module
from typing import TYPE_CHECKING, Protocol, cast

from knobmenu.cli.parsing import Parser

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain

QUESTIONS = ("judge", "show", "live", "sweep", "suggest", "press", "capture")
"""The subcommands, each a module of this package."""

HELP = "will this encoder, filter, loop and decoder count correctly?"
DESCRIPTION = "Judge an encoder, its filter, the loop that reads it and the decoder that counts."
EPILOG = """\
A chain is a small TOML file; without one, a built-in chain is judged.

examples:
  knobmenu bench                                     judge the built-in chain
  knobmenu bench show > mine.toml                    write it to a file, to edit it
  knobmenu bench mine.toml                           judge yours; the same as: knobmenu bench judge mine.toml
  knobmenu bench mine.toml --plot run.svg            see what happens to one click
  knobmenu bench live mine.toml                      change its parts in the terminal and watch
  knobmenu bench sweep mine.toml turning.turns_per_s=0.2:5:8 reader.period_ms=1,2,5,10 --plot map.svg
  knobmenu bench suggest mine.toml                   which R and C to buy
  knobmenu bench press mine.toml                     which debounce does the push switch need?
  knobmenu bench capture knob.vcd mine.toml          measure a capture and send it through the chain
  knobmenu bench capture knob.vcd mine.toml --show > real.toml   the chain with the captured contacts

Sections and keys of a chain, units and sources: docs/reference/bench.md.
"""


class Question(Protocol):
    """What the module of a subcommand offers."""

    def add_parser(self, commands: argparse._SubParsersAction[Parser]) -> None:
        """Add the subcommand's own parser."""

    def run(self, chain: Chain, options: argparse.Namespace) -> int:
        """Answer the question about a chain; return the exit code."""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    questions = parser.add_subparsers(metavar="QUESTION", dest="question", required=True)
    parser.default_command = "judge"
    for name in QUESTIONS:
        _import_question(name).add_parser(questions)


def run(options: argparse.Namespace) -> int:
    """Load the chain and answer the question; return the exit code."""
    from knobmenu.bench.chain import Chain
    from knobmenu.cli.inputs import read_chain

    chain = read_chain(options.chain).chain if options.chain else Chain()
    return _import_question(options.question).run(chain, options)


def _import_question(name: str) -> Question:
    return cast(Question, import_module(f"knobmenu.cli.bench.{name}"))
