"""Design files on disk: loaded in the format of their name, and saved without losing comments and layout."""

from __future__ import annotations

import os

from knobmenu.design.whole import Design
from knobmenu.files import toml
from knobmenu.files.opening import LARGEST, StrPath, decode_text, make_file_error, read_bytes, read_text


def load(path: StrPath) -> Design:
    """Read a design from a file.

    Args:
        path: The file; a name that ends in ``.json`` is read as JSON, any other as TOML.

    Raises:
        DesignError: The file cannot be read, or its design has problems; lists all of them.
    """
    return read_design(read_bytes(path), path)


def read_design(content: bytes, path: StrPath) -> Design:
    """Read a design from the contents of a file.

    Args:
        content: The contents.
        path: The file, which decides the format and is named in problems.

    Raises:
        DesignError: The design has problems; lists all of them.
    """
    file = os.fspath(path)
    if len(content) > LARGEST:
        raise make_file_error(file, f"a file of more than {LARGEST} bytes", f"at most {LARGEST} bytes")
    text = decode_text(content, file)
    if not _is_json(file):
        return toml.loads(text, file)
    # Late: most designs are TOML.
    from knobmenu.files import json

    return json.loads(text, file)


def save(design: Design, path: StrPath) -> None:
    """Write a design to a file, atomically.

    If a TOML file exists already, its comments, order and layout are kept; only differences are changed.

    Args:
        design: The design.
        path: The file; a name that ends in ``.json`` is written as JSON, any other as TOML.

    Raises:
        DesignError: The file exists and does not contain a design; it is not changed.
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
