"""``knobmenu serve``: put a design before reviewers who have a browser and no terminal."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from knobmenu.cli.parsing import Parser, file_name

_EPILOG = """\
Each link opens once, for one participant; after a reload or a lost connection the same browser is let in again.
Every session is recorded in the folder DESIGN.sessions (see knobmenu replay, watch). Ctrl-C ends the server.

The page is served to this machine alone. For a reviewer elsewhere, forward the port: ssh -L 8000:127.0.0.1:8000 HOST.
The connection is not encrypted: with --host, everybody in that network can read it.

examples:
  knobmenu serve radio.toml
  knobmenu serve radio.toml --links 8
"""

LOOPBACK = "127.0.0.1"


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the command's own parser."""
    parser = commands.add_parser(
        "serve",
        help="let reviewers try a design in a web page, each by a link of their own",
        description="Serve the device and its knob as a web page, with a one-time link for each participant.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("design", metavar="DESIGN", type=file_name, help="the design file")
    parser.add_argument("--links", metavar="N", type=_links, default=1, help="how many participants get a link (1)")
    parser.add_argument(
        "--host", type=_host, default=LOOPBACK, help=f"the address to serve at ({LOOPBACK}: this machine alone)"
    )
    parser.add_argument("--port", metavar="N", type=_port, default=8000, help="the port to serve at (8000)")
    parser.add_argument(
        "--recordings", metavar="FOLDER", type=file_name, help="where the sessions are recorded (DESIGN.sessions)"
    )


def run(options: argparse.Namespace) -> int:
    """Serve until interrupted; return the exit code."""
    from importlib.util import find_spec

    from knobmenu.errors import KnobmenuError, printable
    from knobmenu.files import load
    from knobmenu.web.commands import try_design
    from knobmenu.web.guard import Site

    if find_spec("textual_serve") is None:
        raise KnobmenuError("serve needs textual-serve. Install it with: pip install 'knobmenu[serve]'")
    from knobmenu.web.server import ReviewServer, serve

    design = load(options.design)
    folder = Path(options.recordings or f"{Path(options.design).with_suffix('')}.sessions")
    folder.mkdir(exist_ok=True)
    site = Site(options.host, options.port)
    server = ReviewServer(site, design.name, try_design(options.design, folder), options.links)
    if options.host != LOOPBACK:
        print("The connection is not encrypted: everybody in this network can read it.", file=sys.stderr)

    def announce() -> None:
        print(f"Serving {printable(design.name)}; recording to {printable(str(folder))}. Ctrl-C ends the server.")
        for number, url in enumerate(server.urls, 1):
            print(f"participant {number}: {url}", flush=True)

    serve(server, announce)
    return 0


def _links(word: str) -> int:
    return _whole(word, 100)


def _port(word: str) -> int:
    return _whole(word, 65_535)


def _whole(word: str, most: int) -> int:
    if not (word.isascii() and word.isdigit() and 1 <= int(word[:9]) <= most):
        raise argparse.ArgumentTypeError(f"expected a whole number from 1 to {most}, got {word[:60]!r}")
    return int(word)


def _host(word: str) -> str:
    if word in ("", "0.0.0.0", "::", "*"):
        raise argparse.ArgumentTypeError(
            f"expected one address, got {word!r}. Give the address by which the reviewers reach this machine."
        )
    return word
