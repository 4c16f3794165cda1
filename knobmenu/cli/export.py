"""``knobmenu export``: write a design in a form that others read."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from knobmenu.cli.parsing import Parser

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

_EPILOG = """\
forms:
  spec    one JSON document that describes all that the device does and shows; its standard is docs/reference/spec.md
  design  the design file in TOML that a spec was made from

DESIGN may also be a spec. Inconsistencies with the design embedded in it are reported.

examples:
  knobmenu export radio.toml --to spec -o radio.spec.json
  knobmenu export radio.spec.json --to design

A menu limit is not a protective function: heat, mains, hearing and motion need protection that does not depend on it.
"""


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the command's own parser."""
    parser = commands.add_parser(
        "export",
        help="write a specification of a design",
        description="Write a design in a form that others read.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("design", metavar="DESIGN", help="a design file, or a spec")
    parser.add_argument("--to", required=True, choices=("spec", "design"), help="what to write")
    parser.add_argument("-o", "--output", metavar="FILE", help="the file to write, instead of standard output")


def run(options: argparse.Namespace) -> int:
    """Write the export; return the exit code."""
    from knobmenu.errors import DesignError, Problem
    from knobmenu.files.opening import write_text

    design = _design(options.design)
    text = _exported(design, options.to)
    if options.output is None:
        sys.stdout.write(text)
        return 0
    if Path(options.output).resolve() == Path(options.design).resolve():
        raise DesignError([Problem("", "the design itself as the output", "another file", file=options.output)])
    write_text(options.output, text)
    hazards = sum(bool(part.hazard) for part in (*design.settings, *design.actions))
    print(f"Wrote {options.output}." + (f" It carries {hazards} caution{'s' * (hazards > 1)}." if hazards else ""))
    return 0


def _design(path: str) -> Design:
    """Load a design from a design file or from a spec."""
    from knobmenu.export.reading import is_spec, read_spec
    from knobmenu.export.spec import MOST_BYTES
    from knobmenu.files.disk import load

    try:
        with open(path, "rb") as stream:
            content = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError):
        content = b""  # the loader meets the same, and reports it
    return read_spec(content, path) if is_spec(content) else load(path)


def _exported(design: Design, form: str) -> str:
    from knobmenu.export.spec import spec_text
    from knobmenu.files.toml import dumps

    return spec_text(design) if form == "spec" else dumps(design)
