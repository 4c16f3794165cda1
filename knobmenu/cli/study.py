"""``knobmenu study``: a participant's sitting in the terminal."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.try_ import LOOKS, can_draw
from knobmenu.errors import FileError

if TYPE_CHECKING:
    from knobmenu.cli.sittings import OpenSitting
    from knobmenu.review.study import Study

HELP = "run a participant's sitting: consent, practice, tasks and questions"
DESCRIPTION = "Run one participant's sitting of a study in the terminal, or continue one that was interrupted."
EPILOG = """\
Participants have a code, never a name. Each sitting is recorded to its own file, such as lamp.sittings/p07.jsonl for
p07 and lamp.toml. With the same code, an interrupted sitting continues where it stopped.

examples:
  knobmenu study lamp.toml                          in the participant's terminal
  knobmenu study lamp.toml --participant p07        the same, with a given code
  knobmenu watch lamp.sittings/p07.jsonl            in yours
  knobmenu study lamp.toml --list                   list the sittings
"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "study", metavar="STUDY", help="the study's file (see docs/reference/study.md)")
    parser.add_argument("--participant", metavar="CODE", help="the participant's code; by default the app asks for it")
    parser.add_argument("--look", choices=LOOKS, help="the colours; by default what suits the terminal")
    parser.add_argument("--no-blink", action="store_true", help="stop all blinking")
    # For knobmenu serve: draw without a terminal.
    parser.add_argument("--served", action="store_true", help=argparse.SUPPRESS)
    parser.add_argument("--list", action="store_true", help="list the sittings and exit")


def run(options: argparse.Namespace) -> int:
    """Run a sitting; return the exit code."""
    from knobmenu.cli.sittings import format_overview, open_sitting
    from knobmenu.files.sittings import list_sittings
    from knobmenu.files.studies import load_study
    from knobmenu.review.study_form import read_study

    setup = load_study(options.study, read_study)
    if options.list:
        print("\n".join(format_overview(setup.study, tuple(list_sittings(options.study)))))
        return 0
    if not options.served and not can_draw(os.environ, sys.stdin.isatty(), sys.stdout.isatty()):
        raise FileError(options.study, "a terminal for the participant", "none", "Run it in a terminal.")
    code = options.participant or _ask_code(setup.study, options.study)

    from knobmenu.picture.palettes import get_palette
    from knobmenu.terminal.backend.ends import run as run_app
    from knobmenu.terminal.clock import now_ms
    from knobmenu.terminal.sitting.screen import SittingApp

    def open_or_continue() -> OpenSitting:
        return open_sitting(setup, options.study, code, now_ms())

    look = get_palette(options.look.replace("-", " ")) if options.look else None
    return run_app(SittingApp(open_or_continue(), open_or_continue, look, blinking=not options.no_blink))


def _ask_code(study: Study, path: str) -> str:
    """Ask the moderator for the participant's code."""
    from knobmenu.cli.sittings import find_free_code, list_interrupted

    free = find_free_code(path)
    print(f"{study.name}\nThe participant's code, never a name; Enter takes {free}.")
    if interrupted := list_interrupted(study, path):
        print(f"Interrupted, continued by the same code: {', '.join(interrupted)}.")
    return input("code: ").strip() or free
