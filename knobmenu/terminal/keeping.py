"""Files that a prompt names: traces, tests, chains and pictures."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from knobmenu.errors import TraceError
from knobmenu.events import Event
from knobmenu.trace import parse_trace


def keep(name: str, text: str) -> tuple[str, str]:
    """Write a text to a new file; one that is there stays as it is.

    Args:
        name: The file.
        text: What is written.

    Returns:
        A sentence that says what became of it, and its ink.
    """
    # Without its folders, so that a sentence in a narrow terminal still says what became of it.
    short = Path(name).name
    try:
        with Path(name).expanduser().open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        return f"{short} is there already and stays as it is; choose another name", "wrong"
    except OSError as error:
        return f"{short} cannot be written: {error.strerror}", "wrong"
    return f"{short} is written", "good"


def taken(name: str) -> str:
    """Say that a file is there already; nothing if it is not."""
    path = Path(name.strip()).expanduser()
    return f"{path.name} is there already and stays as it is; choose another name" if path.exists() else ""


def opened(name: str) -> tuple[tuple[Event, ...], str]:
    """Read a trace from a file.

    Args:
        name: The file.

    Returns:
        Its events, and what is wrong in it; there are no events where something is.
    """
    try:
        return parse_trace(Path(name.strip()).expanduser().read_text(encoding="utf-8")), ""
    except OSError as error:
        return (), f"{name.strip()} cannot be read: {error.strerror}"
    except UnicodeDecodeError:
        return (), f"{name.strip()} cannot be read: it is no text in UTF-8"
    except TraceError as error:
        return (), f"{name.strip()}: {error}"


def free_path(stem: str, ending: str, folder: Path) -> Path:
    """Return a path in a folder where no file is yet, such as ``kiln-2.trace``."""
    return next(path for path in _paths(stem, ending, folder) if not path.exists())


def _paths(stem: str, ending: str, folder: Path) -> Iterator[Path]:
    yield folder / f"{stem}{ending}"
    number = 2
    while True:
        yield folder / f"{stem}-{number}{ending}"
        number += 1
