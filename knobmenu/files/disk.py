"""Design files on disk: loaded by their name, saved without losing what people wrote beside the design."""

from __future__ import annotations

import os

from knobmenu.design.whole import Design
from knobmenu.files import toml
from knobmenu.files.opening import LARGEST, StrPath, file_error, read_bytes, read_text, text_of


def load(path: StrPath) -> Design:
    """Read a design from a file.

    Args:
        path: The file; a name that ends in ``.json`` is read as JSON, any other as TOML.

    Raises:
        DesignError: The file cannot be read, or with every problem of the design in it.
    """
    return read_design(read_bytes(path), path)


def read_design(content: bytes, path: StrPath) -> Design:
    """Read a design from what a file holds.

    Args:
        content: All of it.
        path: The file, for its format and for problems.

    Raises:
        DesignError: With every problem of the design.
    """
    file = os.fspath(path)
    if len(content) > LARGEST:
        raise file_error(file, f"a file of more than {LARGEST} bytes", f"at most {LARGEST} bytes")
    text = text_of(content, file)
    if not _is_json(file):
        return toml.loads(text, file)
    # Late: most designs are TOML.
    from knobmenu.files import json

    return json.loads(text, file)


def save(design: Design, path: StrPath) -> None:
    """Write a design into a file, at once or not at all.

    Where there is a TOML file already, its comments, order and layout are kept; only what differs is changed.

    Args:
        design: What to write.
        path: The file; a name that ends in ``.json`` is written as JSON, any other as TOML.

    Raises:
        DesignError: The file is there and does not hold a design: then it is left as it is.
        FileError: The file cannot be written.
    """
    # Late: a design is read far more often than written.
    from knobmenu.files import json, output
    from knobmenu.files.rewriting import update_text

    file = os.fspath(path)
    is_new = not os.path.lexists(file)
    if _is_json(file):
        text = json.dumps(design)
    else:
        text = toml.dumps(design) if is_new else update_text(read_text(file), design, file)
    if is_new:
        output.create(file, text)
    else:
        output.replace(file, text)


def _is_json(file: str) -> bool:
    return file.lower().endswith(".json")
