"""Design files on disk: loaded by their name, saved without losing what people wrote beside the design."""

from __future__ import annotations

import os

from knobmenu.design.whole import Design
from knobmenu.files import json, toml
from knobmenu.files.opening import StrPath, create_text, read_text, write_text
from knobmenu.files.rewriting import updated


def load(path: StrPath) -> Design:
    """Read a design from a file.

    Args:
        path: The file; a name that ends in ``.json`` is read as JSON, any other as TOML.

    Raises:
        DesignError: The file cannot be read, or with every problem of the design in it.
    """
    file = os.fspath(path)
    text = read_text(file)
    return json.loads(text, file) if _is_json(file) else toml.loads(text, file)


def save(design: Design, path: StrPath) -> None:
    """Write a design into a file, at once or not at all.

    Where there is a TOML file already, its comments, order and layout are kept; only what differs is changed.

    Args:
        design: What to write.
        path: The file; a name that ends in ``.json`` is written as JSON, any other as TOML.

    Raises:
        DesignError: The file cannot be written, or is there and holds no design: then it is left as it is.
    """
    file = os.fspath(path)
    is_new = not os.path.lexists(file)
    if _is_json(file):
        text = json.dumps(design)
    else:
        text = toml.dumps(design) if is_new else updated(read_text(file), design, file)
    if is_new:
        create_text(file, text)
    else:
        write_text(file, text)


def _is_json(file: str) -> bool:
    return file.lower().endswith(".json")
