"""Reading of the moderator's notes on a recording; `knobmenu.files.sittings.append_note` writes them."""

from __future__ import annotations

import os
from pathlib import Path

from knobmenu.errors import DesignError
from knobmenu.files.opening import StrPath, read_bytes
from knobmenu.files.sittings import get_notes_path
from knobmenu.session.moderator import ModeratorNotes, decode_notes

LARGEST = 16 * 1024 * 1024
"""The largest file of notes that is read. [bytes]"""


def read_notes(recording: StrPath) -> ModeratorNotes:
    """Read the moderators' notes on a recording, if there are any.

    Unreadable notes are listed as problems, so that they never prevent the use of a recording.

    Args:
        recording: The recording.
    """
    try:
        path = get_notes_path(recording)
    except ValueError:  # not the name of a file
        return ModeratorNotes()
    if path == Path(recording) or not os.path.lexists(path):
        return ModeratorNotes()
    try:
        content = read_bytes(path, "a moderator's notes", LARGEST)
    except DesignError as error:
        return ModeratorNotes(problems=(str(error),))
    return decode_notes(content.decode("utf-8", "replace").split("\n"), os.fspath(path))
