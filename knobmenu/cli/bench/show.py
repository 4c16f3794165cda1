"""``knobmenu bench show``: print a whole chain, to start from."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.bench.answering import add_chain, add_question
from knobmenu.cli.parsing import Parser
from knobmenu.cli.streams import print_document

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the subcommand's own parser."""
    add_chain(add_question(commands, "show", help="print the chain as TOML, with every key"))


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Print a chain."""
    from knobmenu.bench.chain_file import write_toml

    print_document(write_toml(chain))
    return 0
