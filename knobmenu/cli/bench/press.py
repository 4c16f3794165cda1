"""``knobmenu bench press``: which debounce does the push switch need?"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.bench.answering import add_chain, add_json, add_question, show_progress
from knobmenu.cli.parsing import Parser
from knobmenu.cli.streams import print_json

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the subcommand's own parser."""
    parser = add_question(commands, "press", help="find the debounce that the push switch needs")
    add_chain(parser)
    add_json(parser)


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Judge the push switch."""
    from knobmenu.bench.presses import judge_presses
    from knobmenu.cli.bench import findings

    found = judge_presses(chain, show_progress)
    show_progress("")
    if options.json:
        print_json(findings.presses_to_plain(found))
    else:
        print(findings.format_presses(found))
    return 0
