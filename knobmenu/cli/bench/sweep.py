"""``knobmenu bench sweep``: a map of errors over two numbers of a chain."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.bench import answering
from knobmenu.cli.bench.answering import add_chain, add_json, add_question
from knobmenu.cli.outputs import add_overwrite, check_picture, write_file
from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.streams import print_json

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain

_EPILOG = """\
ROWS and COLUMNS are each a number of the chain and its values, such as reader.period_ms=1,2,5 or
turning.turns_per_s=0.2:5:8, eight values from 0.2 to 5.
"""


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the subcommand's own parser."""
    parser = add_question(commands, "sweep", help="map the errors over two numbers of the chain", epilog=_EPILOG)
    add_chain(parser)
    parser.add_argument("rows", metavar="ROWS", help="the number that the rows vary")
    parser.add_argument("columns", metavar="COLUMNS", help="the number that the columns vary")
    add_file(parser, "--plot", help="draw the map as .svg or .png")
    add_overwrite(parser)
    add_json(parser)


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Work out a map, and draw it where that is requested."""
    from knobmenu.bench.plot.error_map import draw_error_map
    from knobmenu.bench.sweep import read_axis, sweep
    from knobmenu.cli.bench import findings
    from knobmenu.files.pictures import encode_picture

    check_picture(options.plot)
    down, across = read_axis(options.rows), read_axis(options.columns)
    found = sweep(chain, down, across, progress=lambda done, cells: answering.show_progress(f"{done} of {cells} cells"))
    answering.show_progress("")
    if options.json:
        print_json(findings.map_to_plain(found))
    else:
        print(findings.format_map(found))
    if options.plot:
        drawn = encode_picture(options.plot, draw_error_map(found))
        write_file(options.plot, drawn, options.overwrite, (options.chain,))
    return 0
