"""Which kind of document a file holds, to lead a file given to the wrong command to the right one."""

from __future__ import annotations

from knobmenu.codec.recognition import Document, recognize_text
from knobmenu.errors import DesignError
from knobmenu.files.opening import StrPath, read_text


def recognize_file(path: StrPath) -> Document | None:
    """Return what kind of document a file holds, sound or not; None if it is none of them or cannot be read."""
    try:
        return recognize_text(read_text(path))
    except DesignError:
        return None
