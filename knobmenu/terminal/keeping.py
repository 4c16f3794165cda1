"""Files that a prompt names: traces, tests, chains and pictures. A refusal is a sentence for the prompt."""

from __future__ import annotations

import os
from itertools import count
from pathlib import Path

from knobmenu.errors import TraceError
from knobmenu.events import Event
from knobmenu.trace import parse_trace

_FAILURES = (OSError, RuntimeError, ValueError)
"""What a name can do: one that cannot be written, one of a home folder that nobody has, one with a NUL in it."""


def keep(name: str, content: str | bytes) -> tuple[str, str]:
    """Write a new file; one that exists stays as it is.

    Args:
        name: The file.
        content: What is written.

    Returns:
        A sentence that says what became of it, and its ink.
    """
    try:
        with Path(name.strip()).expanduser().open("xb") as file:
            file.write(content if isinstance(content, bytes) else content.encode())
    except FileExistsError:
        return f"{_short(name)} exists already and stays as it is; choose another name", "wrong"
    except _FAILURES as error:
        return f"{_short(name)} cannot be written: {_reason(error)}", "wrong"
    return f"{_short(name)} is written", "good"


def name_problem(name: str) -> str:
    """Return why no new file can be written under a name; nothing if one can, as far as that can be known."""
    try:
        path = Path(name.strip()).expanduser()
        if os.path.lexists(path):
            return f"{_short(name)} exists already and stays as it is; choose another name"
        if not path.parent.is_dir():
            return f"{_short(name)} cannot be written: {path.parent} is not a folder"
        if not os.access(path.parent, os.W_OK):
            return f"{_short(name)} cannot be written: no permission in {path.parent}"
        # A name that is too long is found out by looking for it.
        path.stat()
    except FileNotFoundError:
        return ""
    except _FAILURES as error:
        return f"{_short(name)} cannot be written: {_reason(error)}"
    return ""


def read_trace(name: str) -> tuple[tuple[Event, ...], str]:
    """Read a trace from a file.

    Args:
        name: The file.

    Returns:
        Its events, and what is wrong in it; there are no events where something is.
    """
    try:
        return parse_trace(Path(name.strip()).expanduser().read_text(encoding="utf-8")), ""
    except UnicodeDecodeError:
        return (), f"{_short(name)} cannot be read: it is not text in UTF-8"
    except _FAILURES as error:
        return (), f"{_short(name)} cannot be read: {_reason(error)}"
    except TraceError as error:
        return (), f"{_short(name)}: {error}"


def free_path(stem: str, ending: str, folder: Path) -> Path:
    """Return a path in a folder where no file is yet, such as ``kiln-2.trace``."""
    names = (f"{stem}{'' if number == 1 else f'-{number}'}{ending}" for number in count(1))
    return next(folder / name for name in names if not os.path.lexists(folder / name))


def _short(name: str) -> str:
    """Return a name without its folders, so that a sentence in a narrow terminal still says what is wrong."""
    short = os.path.basename(name.strip()) or name.strip()
    return short if len(short) <= 40 else f"{short[:39]}…"


def _reason(error: Exception) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or str(error)
