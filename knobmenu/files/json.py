"""Conversion of a design to and from JSON text, with the same plain data as in TOML."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from knobmenu.codec import from_plain, to_plain
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem, quote_value
from knobmenu.files.opening import make_file_error


def loads(text: str, file: str = "") -> Design:
    """Read a design from JSON text.

    Args:
        text: The text.
        file: The name of the file in problems.

    Raises:
        DesignError: The design has problems; lists all of them with their paths. Or the text is not JSON; states the
            first error and its line.
    """
    data = parse(text, file)
    try:
        return from_plain(data)
    except DesignError as error:
        raise DesignError([problem._replace(file=file) for problem in error.problems]) from None


def dumps(design: Design) -> str:
    """Format a design as JSON text, omitting defaults.

    Guarantees: `loads` of it equals the design, and the same design gives the same text.
    """
    return json.dumps(to_plain(design), ensure_ascii=False, indent=2) + "\n"


def parse(text: str, file: str = "") -> Any:
    """Parse JSON text into plain data.

    Raises:
        DesignError: The text is not JSON, or an object in it has a key twice.
    """
    if not text.strip():
        raise make_file_error(file, "an empty file", "a design", "write one with: knobmenu new FILE")
    try:
        return json.loads(text, object_pairs_hook=_build_table)
    except _RepeatedKeyError as error:
        raise make_file_error(
            file, f"the key {quote_value(error.key)} a second time in one object", "each key once"
        ) from None
    except json.JSONDecodeError as error:
        rest = text.split("\n")[error.lineno - 1][error.colno - 1 :].strip()
        found = f"{quote_value(rest, 30)} at column {error.colno}" if rest else "the end of the line"
        raise DesignError(
            [Problem("", found, "JSON", f"{error.msg[0].lower()}{error.msg[1:]}", file, error.lineno)]
        ) from None
    except ValueError:
        raise make_file_error(file, "a number with too many digits", "whole numbers in 32 bits") from None
    except RecursionError:
        raise make_file_error(file, "lists or objects nested too deeply", "the nesting of a design") from None


class _RepeatedKeyError(Exception):
    """An object of a JSON text has this key twice; the parser itself would silently keep the last."""

    def __init__(self, key: str) -> None:
        super().__init__(key)
        self.key = key


def _build_table(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    table: dict[str, Any] = {}
    for key, value in pairs:
        if key in table:
            raise _RepeatedKeyError(key)
        table[key] = value
    return table
