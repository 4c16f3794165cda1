"""The starter design, with comments."""

from __future__ import annotations

import os
from pathlib import Path

from knobmenu.errors import DesignError, Problem
from knobmenu.files import toml
from knobmenu.files.opening import StrPath


def read_starter() -> str:
    """Read the starter design in TOML, a small invented device with every section explained."""
    return Path(__file__).with_name("starter.toml").read_text(encoding="utf-8")


def write_starter(path: StrPath) -> None:
    """Write the starter design into a new file, in the format of its name.

    Args:
        path: The file; TOML with comments if its name ends in ``.toml``, JSON if it ends in ``.json``.

    Raises:
        DesignError: The name ends in something else.
        FileError: The file exists, or it cannot be written.
    """
    # Late, as in `knobmenu.files.disk`.
    from knobmenu.files import json, output

    file = os.fspath(path)
    match os.path.splitext(file)[1].lower():
        case ".toml":
            output.create(file, read_starter())
        case ".json":
            output.create(file, json.dumps(toml.loads(read_starter())))
        case suffix:
            got = f'a name that ends in "{suffix}"' if suffix else "a name without an ending"
            advice = f"write {os.path.splitext(file)[0]}.toml"
            raise DesignError([Problem("", got, "a name that ends in .toml or .json", advice, file)])
