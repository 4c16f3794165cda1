"""A design to and from JSON text: the same plain data as in TOML, for programs to exchange."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from knobmenu.codec import from_plain, to_plain
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem, quote_value
from knobmenu.files.opening import file_error


def loads(text: str, file: str = "") -> Design:
    """Read a design from JSON text.

    Args:
        text: The text.
        file: What problems call it.

    Raises:
        DesignError: With every problem, each with its path; or with the first and its line where it is not JSON.
    """
    data = parse(text, file)
    try:
        return from_plain(data)
    except DesignError as error:
        raise DesignError([problem._replace(file=file) for problem in error.problems]) from None


def dumps(design: Design) -> str:
    """Write a design as JSON text, without what is at its default.

    Guarantees: `loads` of it equals the design, and the same design gives the same text.
    """
    return json.dumps(to_plain(design), ensure_ascii=False, indent=2) + "\n"


def parse(text: str, file: str = "") -> Any:
    """Parse JSON text into plain data.

    Raises:
        DesignError: It is not JSON, or an object in it has a key twice.
    """
    if not text.strip():
        raise file_error(file, "an empty file", "a design", "write one with: knobmenu new FILE")
    try:
        return json.loads(text, object_pairs_hook=_table)
    except _RepeatedKeyError as error:
        raise file_error(
            file, f"the key {quote_value(error.key)} a second time in one object", "each key once"
        ) from None
    except json.JSONDecodeError as error:
        rest = text.split("\n")[error.lineno - 1][error.colno - 1 :].strip()
        found = f"{quote_value(rest, 30)} at column {error.colno}" if rest else "the end of the line"
        raise DesignError(
            [Problem("", found, "JSON", f"{error.msg[0].lower()}{error.msg[1:]}", file, error.lineno)]
        ) from None
    except ValueError:
        raise file_error(file, "a number with too many digits", "whole numbers in 32 bits") from None
    except RecursionError:
        raise file_error(file, "lists or objects nested too deeply", "the nesting of a design") from None


class _RepeatedKeyError(Exception):
    """An object of a JSON text has this key twice; the parser itself would keep the last and say nothing."""

    def __init__(self, key: str) -> None:
        super().__init__(key)
        self.key = key


def _table(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    table: dict[str, Any] = {}
    for key, value in pairs:
        if key in table:
            raise _RepeatedKeyError(key)
        table[key] = value
    return table
