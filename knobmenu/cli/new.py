"""``knobmenu new``: write a commented starter design."""

from __future__ import annotations

import argparse

from knobmenu.cli.parsing import Parser, add_file

HELP = "write a starter design to change"
DESCRIPTION = "Write a commented starter design. An existing file is never overwritten."
EPILOG = "example:\n  knobmenu new thermostat.toml\n  knobmenu new thermostat.json"


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "file", help="the file to write, TOML or JSON according to its extension; it must not exist yet")


def run(options: argparse.Namespace) -> int:
    """Write the file; return the exit code."""
    from knobmenu.files.starter import write_starter

    write_starter(options.file)
    print(f"Wrote {options.file}. Try it: knobmenu try {options.file}")
    return 0
