"""Traces on disk."""

from __future__ import annotations

from knobmenu.codec.recognition import recognize_text, refuse_document
from knobmenu.events import Event
from knobmenu.files.opening import StrPath, read_text
from knobmenu.trace import parse_trace


def load_trace(path: StrPath) -> tuple[Event, ...]:
    """Read the events of a trace from a file.

    Raises:
        DesignError: The file cannot be read, or is a document of another kind; the message names the command for it.
        TraceError: The text is not a trace; the message states the word and its position, but not the file.
    """
    text = read_text(path, "a trace")
    refuse_document(recognize_text(text), "a trace", str(path))
    return parse_trace(text)
