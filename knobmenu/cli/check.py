"""``knobmenu check``: find faults of a design, over all states that it can have."""

from __future__ import annotations

import argparse
import sys
import time

from knobmenu.cli.parsing import CAUTION, Parser, add_file

WARNINGS = 3
"""Exit code: the worst open finding is a warning."""

ERRORS = 4
"""Exit code: the worst open finding is an error."""

HELP = "find what is wrong with a design"
DESCRIPTION = "Find unreachable entries, unguarded hazards, texts that do not fit, and common usability faults."
EPILOG = f"""\
Each finding has an identifier, a place in the file, a remedy and, where possible, a trace for knobmenu play.
To accept a finding, add to the design:

  [[accepted]]
  finding = "hidden-caution"
  place = "settings.loudest.hazard"
  reason = "Two rows have no room for it; it is printed on the device."

examples:
  knobmenu check radio.toml
  knobmenu check radio.toml --sarif > radio.sarif
  knobmenu check --rules

exit codes: 0 no open errors or warnings, 3 warnings, 4 errors.

{CAUTION}"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "design", metavar="DESIGN", nargs="?", help="a design file")
    how = parser.add_mutually_exclusive_group()
    how.add_argument("--json", action="store_true", help="print JSON")
    how.add_argument("--sarif", action="store_true", help="print SARIF 2.1.0, for code hosts")
    how.add_argument("--rules", action="store_true", help="list every kind of finding and exit")


def run(options: argparse.Namespace) -> int:
    """Check a design; return the exit code."""
    from importlib.metadata import version

    from knobmenu.analysis.check import check_design
    from knobmenu.analysis.check.findings import Severity
    from knobmenu.analysis.check.sarif import build_sarif_log
    from knobmenu.analysis.check.text import describe_rules, report_to_plain, write_report
    from knobmenu.cli.streams import print_json
    from knobmenu.errors import DesignError, Problem
    from knobmenu.files.disk import read_design
    from knobmenu.files.opening import read_bytes
    from knobmenu.files.places import make_line_finder

    if options.rules:
        print(describe_rules())
        return 0
    if options.design is None:
        raise DesignError([Problem("", "no design file", "the name of a design file")])
    bar = _Bar()
    # Read once, since a pipe cannot be read twice.
    content = read_bytes(options.design)
    report = check_design(read_design(content, options.design), bar.show)
    line_of = make_line_finder(content, options.design)
    if options.json:
        print_json(report_to_plain(report, options.design, line_of))
    elif options.sarif:
        print_json(build_sarif_log(report, options.design, line_of, version("knobmenu")))
    else:
        print(write_report(report, options.design, line_of))
    if report.list_open(Severity.ERROR):
        return ERRORS
    return WARNINGS if report.list_open(Severity.WARNING) else 0


class _Bar:
    """A progress bar on standard error, shown after one second if that is a terminal."""

    def __init__(self) -> None:
        self.started_s = time.monotonic()
        self.shown = False

    def show(self, done: int, parts: int) -> None:
        """Show the progress of a check; clear the bar at the end."""
        if not sys.stderr.isatty() or (not self.shown and time.monotonic() - self.started_s < 1):
            return
        self.shown = True
        filled = 30 * done // parts
        text = f"\rchecking [{'#' * filled}{'.' * (30 - filled)}]" if done < parts else "\r\x1b[K"
        print(text, end="", file=sys.stderr, flush=True)
