"""Files that a prompt names: traces, tests, chains and pictures. A refusal is a sentence for the prompt."""

from __future__ import annotations

import os
from collections.abc import Callable
from itertools import count
from pathlib import Path

from knobmenu.errors import DesignError, FileError, TraceError, printable
from knobmenu.events import Event
from knobmenu.files import output
from knobmenu.files.pictures import picture_bytes, picture_problem
from knobmenu.files.traces import load_trace


def keep(name: str, content: Callable[[Path], str | bytes]) -> str:
    """Write a new file; one that exists stays as it is.

    Args:
        name: The file.
        content: Makes what is written there; not called where no file can be written.

    Returns:
        Why it is not written, and nothing has changed; empty where it is.
    """
    try:
        path = output.expand(name.strip())
        output.refuse_new(path)
        output.create(path, content(path))
    except FileError as error:
        return _sentence(name, error)
    return ""


def keep_picture(name: str, svg: str) -> str:
    """Write a new picture in the format of its name; a file that exists stays as it is.

    Args:
        name: The file.
        svg: The picture.

    Returns:
        Why it is not written, and nothing has changed; empty where it is.
    """
    return picture_problem(name) or keep(name, lambda path: picture_bytes(str(path), svg))


def read_trace(name: str) -> tuple[tuple[Event, ...], str]:
    """Read a trace from a file.

    Args:
        name: The file.

    Returns:
        Its events, and what is wrong in it; there are no events where something is.
    """
    try:
        return load_trace(output.expand(name.strip())), ""
    except FileError as error:
        return (), _sentence(name, error)
    except DesignError as error:
        return (), str(error.problems[0]._replace(file=short_name(name)))
    except TraceError as error:
        return (), printable(f"{short_name(name)}: {error}")


def free_path(stem: str, ending: str, folder: Path) -> Path:
    """Return a path in a folder where no file is yet, such as ``kiln-2.trace``."""
    names = (f"{stem}{'' if number == 1 else f'-{number}'}{ending}" for number in count(1))
    return next(folder / name for name in names if not os.path.lexists(folder / name))


def short_name(name: str) -> str:
    """Return a name without its folders, so that a sentence in a narrow terminal still says what is wrong."""
    short = printable(os.path.basename(name.strip()) or name.strip())
    return short if len(short) <= 40 else f"{short[:39]}…"


def _sentence(name: str, error: FileError) -> str:
    """Say why a name cannot be used, in as few words as a narrow terminal needs."""
    return printable(f"{short_name(name)}: expected {error.expected}, got {error.got}. {error.advice}")
