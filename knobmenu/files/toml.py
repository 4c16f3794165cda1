"""Conversion of a design to and from TOML text.

The standard library's parser reads the text, since it is fast; a second pass finds line numbers only if there is a
problem to report. Modules for writing and reporting are imported late: most runs only read, and succeed.
"""

from __future__ import annotations

import contextlib
import re
import tomllib
from typing import Any

from knobmenu.codec import from_plain, to_plain
from knobmenu.codec.toml_text import DEEPEST_KEY, find_deep_key
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem, quote_value
from knobmenu.files.opening import make_file_error


def loads(text: str, file: str = "") -> Design:
    """Read a design from TOML text.

    Args:
        text: The text.
        file: The name of the file in problems.

    Raises:
        DesignError: The design has problems; lists all of them with their lines. Or the text is not TOML; states the
            first error.
    """
    data = parse(text, file)
    try:
        return from_plain(data)
    except DesignError as error:
        raise DesignError(locate(error, text, file)) from None


def dumps(design: Design) -> str:
    """Format a design as TOML text, omitting defaults.

    Guarantees: `loads` of it equals the design, and the same design gives the same text.
    """
    from knobmenu.files import writing

    return writing.format_document(to_plain(design))


def parse(text: str, file: str = "") -> dict[str, Any]:
    """Parse TOML text into plain data.

    Raises:
        DesignError: The text is not TOML.
    """
    if not text.strip():
        raise make_file_error(file, "an empty file", "a design", "write one with: knobmenu new FILE")
    if line := find_deep_key(text):
        raise make_file_error(file, "a key with too many parts", f"keys of at most {DEEPEST_KEY} parts", line=line)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        if text.lstrip().startswith("{"):
            from knobmenu.codec.recognition import Document, recognize_json, refuse_other

            refuse_other(recognize_json(text), Document.DESIGN, file)
            raise make_file_error(file, "JSON", "TOML", "give the file a name that ends in .json", 1) from None
        raise DesignError([_explain_syntax_error(str(error), text)._replace(file=file)]) from None
    except ValueError:
        raise make_file_error(file, "a number with too many digits", "whole numbers in 32 bits") from None
    except RecursionError:
        raise make_file_error(file, "lists or tables nested too deeply", "the nesting of a design") from None


MOST_LOCATED = 1_000_000
"""The longest text in which the lines of problems are found, since finding them takes much memory. [characters]"""


def locate(error: DesignError, text: str, file: str) -> list[Problem]:
    """Add the file and lines to problems, and sort them by line; a text above `MOST_LOCATED` gets no lines."""
    from knobmenu.files.spans import find_lines

    where: dict[str, int] = {}
    if len(text) <= MOST_LOCATED:
        with contextlib.suppress(RecursionError):
            where = find_lines(text)
    placed = [problem._replace(file=file, line=_find_line(problem.path, where)) for problem in error.problems]
    return sorted(placed, key=lambda problem: problem.line)


def _find_line(path: str, where: dict[str, int]) -> int:
    """Find the line of a path, or of the nearest part that contains it; 0 for the design as a whole."""
    while path and path not in where:
        path = path[: max(path.rfind("."), path.rfind("["), 0)]
    return where.get(path, 0)


_VALUE = "text in quotes, a whole number, true, false, a list or a table"
_KEY = "a key and its value, a header in brackets, or a comment"
_ONCE = "each key and each table once"

_SAID: tuple[tuple[str, str, str], ...] = (
    ("Invalid value", "no value", _VALUE),
    ("Expected '=' after a key", "no equals sign", "key = value"),
    ("Invalid statement|Invalid initial character for a key", "no key", _KEY),
    ("Expected newline or end of document", "more on the line", "the end of the line after a value or a header"),
    ("Cannot declare .* twice", "this table a second time", _ONCE),
    ("Cannot overwrite a value|Duplicate inline table key", "this key a second time", _ONCE),
    ("Cannot mutate immutable namespace", "an addition to a closed table", "a table that is written in one place"),
    ("Unclosed array", "an unfinished list", "a closing bracket ]"),
    ("Unclosed inline table", "an unfinished table", "a closing brace } on the same line"),
    ("Expected ']' at the end|Expected ']]' at the end", "an unfinished header", "a closing bracket ]"),
    ("Unterminated string", "unfinished text", "closing quotes"),
    ("Illegal character|Found invalid character", "a character that is not allowed here", "printable characters"),
    ("Unescaped|Invalid hex|Escaped character", "a backslash with an unknown escape", "\\\\ for a backslash itself"),
    ("Invalid date", "no date", _VALUE),
)
"""For each kind of message of the parser: what was found, and what is expected."""


def _explain_syntax_error(message: str, text: str) -> Problem:
    """Explain a parser's message."""
    place = re.search(r"\(at line (\d+), column (\d+)\)", message)
    rows = text.replace("\r\n", "\n").split("\n")
    if place is None:
        line, column = len(text.rstrip().split("\n")), 0
        rest = "the end of the file"
    else:
        line, column = int(place[1]), int(place[2])
        rest = rows[line - 1][column - 1 :].rstrip() if line <= len(rows) else ""
        rest = f"{quote_value(rest, 30)} at column {column}" if rest else "the end of the line"
    row = rows[line - 1].strip() if line <= len(rows) else ""
    for pattern, found, expected in _SAID:
        if re.match(pattern, message):
            advice = _suggest_remedy(found, row, rows[line - 1][column - 1 :] if place else "")
            if found.startswith("this"):
                return Problem("", f"{found}: {quote_value(row)}", expected, advice, line=line)
            return Problem("", f"{found}: {rest}", expected, advice, line=line)
    return Problem("", rest, "TOML", message.partition(" (at ")[0], line=line)


def _suggest_remedy(found: str, row: str, rest: str) -> str:
    """Suggest a remedy for common mistakes; empty if none fits."""
    word = re.match(r"[^\W\d]\w*", rest)
    if found == "no value" and word:
        if word[0].lower() in ("true", "false", "yes", "no", "on", "off"):
            return "write true or false, in lower case"
        return "put text in quotes"
    if found == "more on the line" and re.search(r"=\s*[+-]?0\d", row):
        return "remove the leading zero"
    if found == "no key" and not rest.strip() and "{" in row:
        return "write the whole { … } on one line"
    if found == "no equals sign" and re.match(r"[\w\"'.-]+\s*:", row):
        return "write = in place of the colon"
    if found == "a character that is not allowed here" and not rest.strip():
        return "close the quotes on the same line"
    if found == "more on the line" and row.count("=") > 1:
        return "write one key on each line"
    return ""
