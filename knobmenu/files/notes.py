"""The moderator's notes beside a recording, read; `knobmenu.files.sittings.append_note` writes them."""

from __future__ import annotations

import os
from pathlib import Path

from knobmenu.errors import DesignError
from knobmenu.files.opening import StrPath, read_bytes
from knobmenu.files.sittings import notes_path
from knobmenu.session.moderator import ModeratorNotes, decode_notes

LARGEST = 16 * 1024 * 1024
"""The largest file of notes that is read. [bytes]"""


def read_notes(recording: StrPath) -> ModeratorNotes:
    """Read what moderators wrote about a recording; nothing where nobody wrote anything.

    Whatever cannot be read is among the problems: notes never keep a recording from being used.

    Args:
        recording: The recording.
    """
    try:
        path = notes_path(recording)
    except ValueError:  # not the name of a file
        return ModeratorNotes()
    if path == Path(recording) or not os.path.lexists(path):
        return ModeratorNotes()
    try:
        content = read_bytes(path, "a moderator's notes", LARGEST)
    except DesignError as error:
        return ModeratorNotes(problems=(str(error),))
    return decode_notes(content.decode("utf-8", "replace").split("\n"), os.fspath(path))
