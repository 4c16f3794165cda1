"""The kind of document in a file, so that a command can name the right command for a file of another kind."""

from __future__ import annotations

from knobmenu.codec.recognition import Document, recognize_text
from knobmenu.errors import DesignError
from knobmenu.files.opening import StrPath, read_text


def recognize_file(path: StrPath) -> Document | None:
    """Return the kind of document in a file, valid or not; None if it is unknown or cannot be read."""
    try:
        return recognize_text(read_text(path))
    except DesignError:
        return None
