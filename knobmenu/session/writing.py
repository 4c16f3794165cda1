"""The session so far as text: a trace for ``knobmenu play``, or a test."""

from __future__ import annotations

import os
import re
from pathlib import Path

from knobmenu.device.device import Device
from knobmenu.session.timeline import Timeline
from knobmenu.trace import format_trace, parse_trace


def compose_trace(timeline: Timeline, variant: int = 0) -> str:
    """Compose a trace of the events that led to the present moment; notes become comments at their places."""
    lines = [f"# {timeline.designs[variant].name}"]
    written = format_trace(timeline.list_events(variant)).splitlines()
    notes: dict[int, list[str]] = {}
    for note in timeline.notes:
        notes.setdefault(note.number, []).append(note.text)
    position = 0
    for number in timeline.walk_path():
        if timeline.history[number].parts[variant].event is not None:
            lines.append(written[position])
            position += 1
        lines += [f"# {text}" for text in notes.get(number, ())]
    return "\n".join(lines) + "\n"


def compose_test(timeline: Timeline, design: Path, test: Path, variant: int = 0) -> str:
    """Compose a test that the same events lead to the same display.

    Args:
        timeline: The session so far.
        design: The design's file.
        test: The file of the test, which locates the design relative to itself.
        variant: The index of the variant.
    """
    trace = compose_trace(timeline, variant)
    device = Device(timeline.designs[variant])
    device.tell_all(parse_trace(trace))
    name = timeline.designs[variant].name
    rows = "".join(f"        {row!r},\n" for row in device.screen.rows)
    return (
        f'"""What was done on {_escape_docstring(name)} at the desk, kept as a test."""\n\n'
        "from pathlib import Path\n\n"
        "from knobmenu import Device, load, parse_trace\n\n"
        f"DESIGN = {_format_path(test, design)}\n\n"
        f"TRACE = {_quote(trace)}\n\n\n"
        f"def test_{_make_identifier(name)}_shows_what_it_showed() -> None:\n"
        "    device = Device(load(DESIGN))\n"
        "    device.tell_all(parse_trace(TRACE))\n"
        f"    assert device.screen.rows == (\n{rows}    )\n"
    )


def _format_path(test: Path, design: Path) -> str:
    """Format a design's path as an expression in the file of a test."""
    try:
        way = os.path.relpath(design.resolve(), test.resolve().parent)
    except ValueError:
        # On Windows, no relative path leads from one drive to another.
        return f"Path({str(design.resolve())!r})"
    return f"Path(__file__).parent / {Path(way).as_posix()!r}"


def _quote(text: str) -> str:
    """Format a text of several lines as a Python literal."""
    body = text.replace("\\", "\\\\").replace('"""', '\\"\\"\\"')
    return f'"""\\\n{body}"""'


def _escape_docstring(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', "'")


def _make_identifier(name: str) -> str:
    return re.sub(r"\W+", "_", name.lower(), flags=re.ASCII).strip("_") or "device"
