"""``knobmenu watch``: what a moderator sees in a second terminal while somebody tries a device."""

from __future__ import annotations

import argparse
import sys
import time

from knobmenu.cli.parsing import Parser, file_name
from knobmenu.cli.streams import clear_screen

_EPILOG = """\
It follows the file that the session is recorded to, and changes nothing. Ctrl-C ends it.

examples:
  knobmenu try radio.toml --present --record session.jsonl     in the participant's terminal
  knobmenu watch session.jsonl                                 in yours
"""

POLL_S = 0.1
"""How often it looks for new records. [s]"""

LAST = 12
"""How many of the last things are shown. [lines]"""


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the command's own parser."""
    parser = commands.add_parser(
        "watch",
        help="watch a session in a second terminal while it is recorded",
        description="Show what happens in a session that is being recorded: screens, events, task, clock and notes.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("recording", metavar="SESSION", type=file_name, help="the file that it is recorded to")
    parser.add_argument("--once", action="store_true", help="show what is there, and end")


def run(options: argparse.Namespace) -> int:
    """Watch the session; return the exit code."""
    from knobmenu.files.recordings import StopFollowing, follow_shown
    from knobmenu.session.playback import Watched, draw_watched, frames, watch

    watched = Watched()
    drawn = watched
    live = sys.stdout.isatty() and not options.once

    def pause() -> None:
        nonlocal drawn
        if options.once:
            raise StopFollowing
        if live and watched is not drawn:
            drawn = watched
            clear_screen()
            print("\n".join(draw_watched(designs, watched, LAST)), flush=True)
        time.sleep(POLL_S)

    designs = []
    header, records = follow_shown(options.recording, pause)
    designs += [recorded.design for recorded in header.designs]
    for frame in frames(header, records):
        watched, said = watch(watched, designs, frame)
        if said and not live and not options.once:
            print(said, flush=True)
    if options.once:
        print("\n".join(draw_watched(designs, watched, LAST)))
    return 0
