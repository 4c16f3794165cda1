"""``knobmenu serve``: serve a design or a study to participants who have a browser but no terminal."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from knobmenu.cli.parsing import Parser, add_file

HELP = "serve a design or a study as a web page, with a link for each participant"
DESCRIPTION = "Serve the device and its knob as a web page, with a one-time link for each participant."
EPILOG = """\
Each link admits one participant, once; after a reload or a lost connection the same browser is admitted again.
A design's sessions are recorded in the folder DESIGN.sessions, a study's sittings in STUDY.sittings (see knobmenu
replay, watch, report). A sitting that was cut off continues where it stopped. Ctrl-C ends the server.

By default the page is served to this machine only. For a reviewer elsewhere, forward the port:
ssh -L 8000:127.0.0.1:8000 HOST.
The connection is not encrypted: with --host, everyone on that network can read it.

examples:
  knobmenu serve radio.toml
  knobmenu serve radio.toml --links 2
  knobmenu serve lamp-study.toml --links 8
"""

LOOPBACK = "127.0.0.1"


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "file", help="a design file, or a study (see knobmenu study)")
    parser.add_argument(
        "--links", metavar="N", type=_parse_links, default=1, help="how many participants get a link (1)"
    )
    parser.add_argument(
        "--host", type=_parse_host, default=LOOPBACK, help=f"the address to serve at ({LOOPBACK}: this machine only)"
    )
    parser.add_argument("--port", metavar="N", type=_parse_port, default=8000, help="the port to serve at (8000)")
    add_file(parser, "--recordings", metavar="FOLDER", help="where the sessions are recorded (DESIGN.sessions)")


def run(options: argparse.Namespace) -> int:
    """Serve until interrupted; return the exit code."""
    from importlib.util import find_spec

    from knobmenu.errors import KnobmenuError, printable
    from knobmenu.web.guard import Site

    if find_spec("textual_serve") is None:
        raise KnobmenuError("serve needs textual-serve. Install it with: pip install 'knobmenu[serve]'")
    offer = _read_offer(options)
    from knobmenu.cli.streams import print_if_open
    from knobmenu.web.server import ReviewServer, serve

    server = ReviewServer(Site(options.host, options.port), offer.title, offer.command, len(offer.participants))
    if not _is_loopback(options.host):
        warning = f"Serving at {options.host}, not to this machine only, and not encrypted"
        print(f"{warning}: everyone on that network can read what is sent.", file=sys.stderr)

    def announce() -> None:
        print(f"Serving {printable(offer.title)}; recording to {printable(str(offer.folder))}. Ctrl-C ends the server.")
        for name, url in zip(offer.participants, server.urls, strict=True):
            print(f"{name}: {url}", flush=True)

    def take_leave(pages: int) -> None:
        closed = {0: "no page was open", 1: "the one open page was closed"}.get(
            pages, f"{pages} open pages were closed"
        )
        print_if_open(f"The server has ended; {closed}.")

    try:
        return serve(server, announce, take_leave)
    except OSError as error:
        raise _explain_failure(options, error) from None


def _explain_failure(options: argparse.Namespace, error: OSError) -> Exception:
    """Explain why the server cannot use an address."""
    import errno
    import socket

    from knobmenu.errors import KnobmenuError, mismatch, printable

    advice = "give the one by which the reviewers reach it"
    if isinstance(error, socket.gaierror):
        got = f"{printable(options.host)}, which is not known"
        return KnobmenuError(f"--host: {mismatch('an address of this machine', got, advice)}")
    match error.errno:
        case errno.EADDRINUSE:
            option, expected, got, advice = "--port", "a free port", f"{options.port}, which is in use", "give another"
        case errno.EACCES | errno.EPERM:
            got = f"{options.port}, which is not allowed"
            option, expected, advice = "--port", "a port that you may serve at", "give one from 1024 on"
        case errno.EADDRNOTAVAIL:
            option, expected, got = "--host", "an address of this machine", printable(options.host)
        case _:
            return error
    return KnobmenuError(f"{option}: {mismatch(expected, got, advice)}")


class _Offer(NamedTuple):
    """What is served: its title, the command, the folder of the recordings, and the participants."""

    title: str
    command: Callable[[int], Sequence[str]]
    folder: Path
    participants: tuple[str, ...]


def _read_offer(options: argparse.Namespace) -> _Offer:
    """Read a design or a study, and choose the command for its participants."""
    from knobmenu.files import load
    from knobmenu.files.output import make_folder
    from knobmenu.files.studies import is_study
    from knobmenu.web.commands import try_design

    if is_study(options.file):
        return _read_study_offer(options)
    design = load(options.file)
    folder = Path(options.recordings or Path(options.file).with_suffix(".sessions"))
    make_folder(folder)
    people = tuple(f"participant {number}" for number in range(1, options.links + 1))
    return _Offer(design.name, try_design(options.file, folder), folder, people)


def _read_study_offer(options: argparse.Namespace) -> _Offer:
    from knobmenu.cli.sittings import walk_free_codes
    from knobmenu.errors import FileError
    from knobmenu.files.sittings import create_folder, get_sittings_folder
    from knobmenu.files.studies import load_study
    from knobmenu.review.study_form import read_study
    from knobmenu.web.commands import run_sitting

    setup = load_study(options.file, read_study)
    if options.recordings is not None:
        expected = f"the sittings of a study in {get_sittings_folder(options.file)}"
        raise FileError(options.file, expected, "--recordings", "Leave it out.")
    create_folder(options.file)
    codes = tuple(islice(walk_free_codes(options.file), options.links))
    return _Offer(setup.study.name, run_sitting(options.file, codes), get_sittings_folder(options.file), codes)


def _parse_links(word: str) -> int:
    return _parse_integer(word, 100)


def _parse_port(word: str) -> int:
    return _parse_integer(word, 65_535)


def _parse_integer(word: str, most: int) -> int:
    if not (word.isascii() and word.isdigit() and 1 <= int(word[:9]) <= most):
        raise argparse.ArgumentTypeError(f"expected a whole number from 1 to {most}, got {word[:60]!r}")
    return int(word)


def _parse_host(word: str) -> str:
    """Parse an address or a name, and normalize it like browsers do, since their requests are compared with it."""
    import ipaddress
    import re

    expected = f"expected one address, got {word[:60]!r}. Give the address by which the reviewers reach this machine."
    try:
        address = ipaddress.ip_address(word)
    except ValueError:
        name = word.lower()
        # IETF, RFC 1123, 2.1: letters, digits and hyphens; the last part of a name is not a number.
        if len(name) > 253 or not re.fullmatch(
            r"(?:[a-z0-9][a-z0-9-]{0,62}\.)*(?![0-9]+$)[a-z0-9][a-z0-9-]{0,62}", name
        ):
            raise argparse.ArgumentTypeError(expected) from None
        return name
    if address.is_unspecified or address.is_multicast or "%" in word:
        raise argparse.ArgumentTypeError(expected)
    return address.compressed


def _is_loopback(host: str) -> bool:
    """Return whether only this machine can reach an address."""
    import ipaddress

    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
