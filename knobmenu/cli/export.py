"""``knobmenu export``: write a design in a form that others read."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from knobmenu.cli.outputs import add_overwrite
from knobmenu.cli.parsing import CAUTION, Parser, add_file

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

HELP = "write a specification of a design"
DESCRIPTION = "Write a design in a form for other programs."
EPILOG = f"""\
forms:
  spec    one JSON document that describes everything the device does and shows; its standard is docs/reference/spec.md
  design  the design file in TOML that a spec was made from

DESIGN may also be a spec. Inconsistencies with the design embedded in it are reported.

examples:
  knobmenu export radio.toml --to spec -o radio.spec.json
  knobmenu export radio.spec.json --to design

{CAUTION}"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "design", metavar="DESIGN", help="a design file, or a spec")
    parser.add_argument("--to", required=True, choices=("spec", "design"), help="what to write")
    add_file(parser, "-o", "--output", help="the file to write, instead of standard output")
    add_overwrite(parser)


def run(options: argparse.Namespace) -> int:
    """Write the export; return the exit code."""
    from knobmenu.cli.outputs import write_file
    from knobmenu.cli.streams import print_document
    from knobmenu.design.whole import strip_simulation

    design = _load_design(options.design)
    text = _export_text(design, options.to)
    if options.to != "design" and strip_simulation(design) is not design:
        print("The simulation of the surroundings is left out: it is not part of the device.", file=sys.stderr)
    if options.output is None:
        print_document(text)
        return 0
    write_file(options.output, text, options.overwrite, (options.design,))
    hazards = sum(bool(part.hazard) for part in (*design.settings, *design.actions))
    if hazards:
        print(f"It contains {hazards} caution{'s' * (hazards > 1)}.", file=sys.stderr)
    return 0


def _load_design(path: str) -> Design:
    """Load a design from a design file or from a spec."""
    from knobmenu.export.reading import is_spec, read_spec
    from knobmenu.export.spec import MOST_BYTES
    from knobmenu.files.disk import read_design
    from knobmenu.files.opening import read_bytes

    # Read once, since a pipe cannot be read twice.
    content = read_bytes(path, "a design file or a spec", MOST_BYTES)
    return read_spec(content, path) if is_spec(content) else read_design(content, path)


def _export_text(design: Design, form: str) -> str:
    from knobmenu.export.spec import write_spec
    from knobmenu.files.toml import dumps

    return write_spec(design) if form == "spec" else dumps(design)
