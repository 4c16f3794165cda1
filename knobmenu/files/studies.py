"""Studies on disk: the text of a study and the designs that it names, with the line of every problem."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from knobmenu.codec.recognition import Document, recognize, recognize_json, refuse_other
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.files.disk import load
from knobmenu.files.documents import recognize_file
from knobmenu.files.opening import StrPath, make_file_error, read_text
from knobmenu.files.toml import locate, parse

T = TypeVar("T")

OpenDesign = Callable[[str], Design]
"""Opens the design that a study names by a path relative to its own folder."""


def is_study(path: StrPath) -> bool:
    """Return whether a file is a study, valid or not; a file that cannot be read or parsed is not."""
    return recognize_file(path) is Document.STUDY


def load_study(path: StrPath, read: Callable[[dict[str, Any], OpenDesign], T]) -> T:
    """Read a study's file.

    Args:
        path: The file, in TOML.
        read: Makes the study from plain data, such as `knobmenu.review.study_form.read_study`.

    Raises:
        DesignError: The file cannot be read or is not a study; lists all problems with their lines.
    """
    name = str(path)
    text = read_text(path, "a study")
    if not text.strip():
        raise make_file_error(name, "an empty file", "a study", "write a name, variants and tasks")
    if text.lstrip().startswith("{"):
        refuse_other(recognize_json(text), Document.STUDY, name)
    plain = parse(text, name)
    refuse_other(recognize(plain), Document.STUDY, name)
    folder = Path(path).parent
    try:
        return read(plain, lambda file: load(folder / file))
    except DesignError as error:
        raise DesignError(locate(error, text, name)) from None
