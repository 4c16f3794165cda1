"""``knobmenu play``: print the screens and effects of a written trace."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.parsing import Parser, add_file

if TYPE_CHECKING:
    from collections.abc import Iterable

    from knobmenu.device.device import Device
    from knobmenu.events import Event

HELP = "print the screens and effects of a written trace"
DESCRIPTION = "Print what a device shows and does when a written trace is played on it."
EPILOG = """\
A trace is words: 3 or -2 turn by detents, press, hold (long press), double, held 3 (turn while held), wait 500 (ms),
report KEY VALUE, at 12480 (the next word's time in ms); # begins a comment. Events are 100 ms apart.

examples:
  knobmenu play radio.toml "3 press -2 hold wait 500"
  knobmenu play radio.toml --file walk.trace
  knobmenu play radio.toml "press wait 60000" --simulate
  echo "press 1 press" | knobmenu play radio.toml - --json
"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "design", metavar="DESIGN", help="a design file")
    parser.add_argument("trace", metavar="TRACE", nargs="?", help="the trace; - reads it from standard input")
    add_file(parser, "--file", help="read the trace from a file")
    parser.add_argument(
        "--simulate",
        action="store_true",
        help="let readouts follow the design's simulation between the events",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object per line")


def run(options: argparse.Namespace) -> int:
    """Play the trace; return the exit code."""
    from knobmenu.device.device import Device
    from knobmenu.files.disk import load

    device = Device(load(options.design))
    events: Iterable[Event] = _trace(options)
    if options.simulate:
        from knobmenu.session.interleaving import interleave_reports

        events = interleave_reports(device.design, events)
    say = _print_json if options.json else _print_text
    say(device)
    for event in events:
        device.tell(event)
        say(device)
    return 0


def _trace(options: argparse.Namespace) -> tuple[Event, ...]:
    from knobmenu.cli.streams import read_input
    from knobmenu.errors import TraceError, printable
    from knobmenu.files.traces import load_trace
    from knobmenu.trace import parse_trace

    if (options.trace is None) == (options.file is None):
        got = "neither TRACE nor --file" if options.trace is None else "both TRACE and --file"
        raise TraceError(f"trace: expected one of TRACE and --file, got {got}")
    if options.file is None:
        return parse_trace(read_input("a trace") if options.trace == "-" else options.trace)
    try:
        return load_trace(options.file)
    except TraceError as error:
        raise TraceError(printable(f"{options.file}: {error}")) from None


def _print_text(device: Device) -> None:
    from knobmenu.session.narration import describe_effect, describe_event, draw_box

    moment = device.present
    print(f"{moment.at_ms:>8} ms  {describe_event(device.design, moment.event)}")
    for effect in moment.effects:
        print(f"{'':>13}{describe_effect(device.design, effect)}")
    for line in draw_box(device.screen):
        print(f"{'':>13}{line}")


def _print_json(device: Device) -> None:
    from knobmenu.cli.streams import print_json
    from knobmenu.session.plain import moment_to_plain

    print_json(moment_to_plain(device.design, device.present, device.screen), indent=None)
