"""Files that a prompt names: traces, tests, chains and pictures. Refusals are sentences for the prompt."""

from __future__ import annotations

import os
from collections.abc import Callable
from itertools import count
from pathlib import Path

from knobmenu.errors import DesignError, FileError, TraceError, printable
from knobmenu.events import Event
from knobmenu.files import output
from knobmenu.files.pictures import encode_picture, find_picture_problem
from knobmenu.files.traces import load_trace


def keep(name: str, content: Callable[[Path], str | bytes]) -> str:
    """Write a new file; an existing one is not changed.

    Args:
        name: The file.
        content: Makes the content; not called if the file cannot be written.

    Returns:
        Why the file was not written; empty on success.
    """
    try:
        path = output.expand(name.strip())
        output.refuse_new(path)
        output.create(path, content(path))
    except FileError as error:
        return _format_refusal(name, error)
    return ""


def keep_picture(name: str, svg: str) -> str:
    """Write a new picture in the format of its name; an existing file is not changed.

    Args:
        name: The file.
        svg: The picture.

    Returns:
        Why the file was not written; empty on success.
    """
    return find_picture_problem(name) or keep(name, lambda path: encode_picture(str(path), svg))


def read_trace(name: str) -> tuple[tuple[Event, ...], str]:
    """Read a trace from a file.

    Args:
        name: The file.

    Returns:
        The events, and an empty string; or no events, and what is wrong.
    """
    try:
        return load_trace(output.expand(name.strip())), ""
    except FileError as error:
        return (), _format_refusal(name, error)
    except DesignError as error:
        return (), str(error.problems[0]._replace(file=shorten_name(name)))
    except TraceError as error:
        return (), printable(f"{shorten_name(name)}: {error}")


def find_free_path(stem: str, ending: str, folder: Path) -> Path:
    """Find a path in a folder that does not exist yet, such as ``kiln-2.trace``."""
    names = (f"{stem}{'' if number == 1 else f'-{number}'}{ending}" for number in count(1))
    return next(folder / name for name in names if not os.path.lexists(folder / name))


def shorten_name(name: str) -> str:
    """Shorten a file name to its last part, so that messages fit a narrow terminal."""
    short = printable(os.path.basename(name.strip()) or name.strip())
    return short if len(short) <= 40 else f"{short[:39]}…"


def _format_refusal(name: str, error: FileError) -> str:
    """Format why a name cannot be used, short enough for a narrow terminal."""
    return printable(f"{shorten_name(name)}: expected {error.expected}, got {error.got}. {error.advice}")
