"""What was done, as text to keep: a trace for ``knobmenu play``, or a test."""

from __future__ import annotations

import os
import re
from pathlib import Path

from knobmenu.device.device import Device
from knobmenu.session.timeline import Timeline
from knobmenu.trace import format_trace, parse_trace


def as_trace(timeline: Timeline, variant: int = 0) -> str:
    """Write what led here as a trace; notes become remarks at their places."""
    lines = [f"# {timeline.designs[variant].name}"]
    words = format_trace(timeline.events(variant)).splitlines()
    notes: dict[int, list[str]] = {}
    for note in timeline.notes:
        notes.setdefault(note.number, []).append(note.text)
    position = 0
    for number in timeline.path():
        if timeline.history[number].parts[variant].event is not None:
            lines.append(words[position])
            position += 1
        lines += [f"# {text}" for text in notes.get(number, ())]
    return "\n".join(lines) + "\n"


def as_test(timeline: Timeline, design: Path, test: Path, variant: int = 0) -> str:
    """Write what led here as a test: the same events give the same display.

    Args:
        timeline: What was done.
        design: The design's file.
        test: The file that the test is for; it finds the design from its own place, wherever it is run.
        variant: Which variant.
    """
    trace = as_trace(timeline, variant)
    device = Device(timeline.designs[variant])
    device.tell_all(parse_trace(trace))
    name = timeline.designs[variant].name
    rows = "".join(f"        {row!r},\n" for row in device.screen.rows)
    return (
        f'"""What was done on {_in_docstring(name)} at the desk, kept as a test."""\n\n'
        "from pathlib import Path\n\n"
        "from knobmenu import Device, load, parse_trace\n\n"
        f"DESIGN = {_path_from(test, design)}\n\n"
        f"TRACE = {_quote(trace)}\n\n\n"
        f"def test_{_identifier(name)}_shows_what_it_showed() -> None:\n"
        "    device = Device(load(DESIGN))\n"
        "    device.tell_all(parse_trace(TRACE))\n"
        f"    assert device.screen.rows == (\n{rows}    )\n"
    )


def _path_from(test: Path, design: Path) -> str:
    """Write a design's path as a test in another file finds it."""
    try:
        way = os.path.relpath(design.resolve(), test.resolve().parent)
    except ValueError:
        # There is no way from one drive of Windows to another.
        return f"Path({str(design.resolve())!r})"
    return f"Path(__file__).parent / {Path(way).as_posix()!r}"


def _quote(text: str) -> str:
    """Write a text over several lines as Python would read it back."""
    body = text.replace("\\", "\\\\").replace('"""', '\\"\\"\\"')
    return f'"""\\\n{body}"""'


def _in_docstring(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', "'")


def _identifier(name: str) -> str:
    return re.sub(r"\W+", "_", name.lower(), flags=re.ASCII).strip("_") or "device"
