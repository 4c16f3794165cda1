"""Files that a prompt names: traces, tests, chains and pictures. A refusal is a sentence for the prompt."""

from __future__ import annotations

import os
from itertools import count
from pathlib import Path

from knobmenu.errors import DesignError, FileError, TraceError, printable
from knobmenu.events import Event
from knobmenu.files import output
from knobmenu.files.opening import read_text
from knobmenu.trace import parse_trace


def keep(name: str, content: str | bytes) -> tuple[str, str]:
    """Write a new file; one that exists stays as it is.

    Args:
        name: The file.
        content: What is written.

    Returns:
        A sentence that says what became of it, and its ink.
    """
    try:
        output.create(output.expand(name.strip()), content)
    except FileError as error:
        return _sentence(name, error), "wrong"
    return f"{_short(name)} is written", "good"


def name_problem(name: str) -> str:
    """Return why no new file can be written under a name; nothing if one can, as far as that can be known."""
    try:
        output.refuse_new(output.expand(name.strip()))
    except FileError as error:
        return _sentence(name, error)
    return ""


def read_trace(name: str) -> tuple[tuple[Event, ...], str]:
    """Read a trace from a file.

    Args:
        name: The file.

    Returns:
        Its events, and what is wrong in it; there are no events where something is.
    """
    try:
        return parse_trace(read_text(output.expand(name.strip()), "a trace")), ""
    except FileError as error:
        return (), _sentence(name, error)
    except DesignError as error:
        return (), str(error.problems[0]._replace(file=_short(name)))
    except TraceError as error:
        return (), printable(f"{_short(name)}: {error}")


def free_path(stem: str, ending: str, folder: Path) -> Path:
    """Return a path in a folder where no file is yet, such as ``kiln-2.trace``."""
    names = (f"{stem}{'' if number == 1 else f'-{number}'}{ending}" for number in count(1))
    return next(folder / name for name in names if not os.path.lexists(folder / name))


def _sentence(name: str, error: FileError) -> str:
    """Say why a name cannot be used, in as few words as a narrow terminal needs."""
    return printable(f"{_short(name)}: expected {error.expected}, got {error.got}. {error.advice}")


def _short(name: str) -> str:
    """Return a name without its folders, so that a sentence in a narrow terminal still says what is wrong."""
    short = printable(os.path.basename(name.strip()) or name.strip())
    return short if len(short) <= 40 else f"{short[:39]}…"
