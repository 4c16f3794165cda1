"""``knobmenu compare``: what changed between two designs."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.outputs import add_overwrite
from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.streams import print_json

if TYPE_CHECKING:
    from knobmenu.analysis.compare.report import Comparison

HELP = "list what changed between two designs: entries, texts, costs, findings"
DESCRIPTION = "List what changed from one design to another, in a designer's terms."
EPILOG = """\
Parts are matched by key. Costs are averages per use; see knobmenu cost --help.

examples:
  knobmenu compare radio.toml better.toml
  git show HEAD:radio.toml > /tmp/before.toml && knobmenu compare /tmp/before.toml radio.toml
  knobmenu compare radio.toml better.toml --html changes.html
"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "old", metavar="OLD", help="the design before")
    add_file(parser, "new", metavar="NEW", help="the design after")
    add_file(parser, "--profile", help="a use profile for both; without one all is used equally")
    parser.add_argument("--json", action="store_true", help="print JSON")
    add_file(parser, "--html", help="write one HTML file")
    add_overwrite(parser)


def run(options: argparse.Namespace) -> int:
    """Compare two designs; return the exit code."""
    from knobmenu.analysis.compare.report import compare_designs, comparison_to_plain, write_comparison_page
    from knobmenu.cli.inputs import read_use
    from knobmenu.cli.outputs import write_file
    from knobmenu.files.disk import load

    old, new = load(options.old), load(options.new)
    profile = read_use(options.profile, new)
    found = compare_designs(old, new, profile)
    if options.json:
        print_json(comparison_to_plain(found))
    else:
        _print_text(found)
    if options.html:
        inputs = (options.old, options.new, options.profile)
        write_file(options.html, write_comparison_page(found), options.overwrite, inputs)
    return 0


def _print_text(found: Comparison) -> None:
    from knobmenu.analysis.compare.changes import ABOUT
    from knobmenu.analysis.compare.report import list_cost_rows, write_verdict
    from knobmenu.cli.outputs import print_table

    for sentence in write_verdict(found):
        print(sentence)
    for about in ABOUT:
        changes = [change for change in found.changes if change.about == about]
        if changes:
            print(f"\n{about}")
            for change in changes:
                print(f"  {change.place}: {change.what}")
    if found.costs:
        print("\ncosts, before and after")
        print_table(
            ("  part", "home", "", "use", ""),
            [(f"  {row[0]}", *row[1:]) for row in list_cost_rows(found)],
            frozenset({1, 2, 3, 4}),
        )
    for word, findings in (("new findings", found.findings.added), ("findings gone", found.findings.gone)):
        if findings:
            print(f"\n{word}")
            for finding in findings:
                print(f"  {finding.place}: {finding.message} [{finding.rule}]")
