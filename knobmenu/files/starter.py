"""The commented design that somebody begins with."""

from __future__ import annotations

from importlib.resources import files

from knobmenu.files.opening import StrPath, create_text


def starter_text() -> str:
    """Give the starter design, a small invented device with every section explained."""
    return files("knobmenu.files").joinpath("starter.toml").read_text(encoding="utf-8")


def write_starter(path: StrPath) -> None:
    """Write the starter design into a new file.

    Raises:
        DesignError: There is something of that name already, which is left as it is; or it cannot be written.
    """
    create_text(path, starter_text())
