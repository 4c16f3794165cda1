"""``knobmenu bench suggest``: which resistor and capacitor to buy."""

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
    parser = add_question(commands, "suggest", help="suggest R and C of a filter, judged with the chain")
    add_chain(parser)
    parser.add_argument("--bounce-ms", metavar="MS", type=float, help="longest bounce; by default the chain's")
    parser.add_argument("--turns-per-s", metavar="SPEED", type=float, help="target speed; by default the chain's")
    add_json(parser)


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Suggest parts."""
    import attrs

    from knobmenu.bench.chain import change
    from knobmenu.bench.contact import Burst, Contact
    from knobmenu.bench.rules import locate
    from knobmenu.bench.suggest import suggest
    from knobmenu.cli.bench import findings

    if options.bounce_ms is not None:
        with locate("--bounce-ms"):
            burst = Burst(mean_ms=0.35 * options.bounce_ms, longest_ms=options.bounce_ms, bounces=3.0)
        chain = attrs.evolve(chain, contact=Contact(on_make=burst, on_break=burst))
    if options.turns_per_s is not None:
        chain = change(chain, {"judging.target_turns_per_s": options.turns_per_s})
    found = suggest(chain, show_progress)
    show_progress("")
    if options.json:
        print_json(findings.suggestions_to_plain(found))
    else:
        print(findings.format_suggestions(chain, found))
    return 0
