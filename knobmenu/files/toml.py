"""A design to and from TOML text.

The text is read by the standard library's parser, which is the fast one; a second walk for line numbers happens only
where there is something to report. What writes and what reports is loaded late: most runs only read, and succeed.
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
from knobmenu.files.opening import file_error


def loads(text: str, file: str = "") -> Design:
    """Read a design from TOML text.

    Args:
        text: The text.
        file: What problems call it.

    Raises:
        DesignError: With every problem, each with its line; or with the first where the text is no TOML.
    """
    data = parse(text, file)
    try:
        return from_plain(data)
    except DesignError as error:
        raise DesignError(locate(error, text, file)) from None


def dumps(design: Design) -> str:
    """Write a design as TOML text, without what is at its default.

    Guarantees: `loads` of it equals the design, and the same design gives the same text.
    """
    from knobmenu.files import writing

    return writing.document(to_plain(design))


def parse(text: str, file: str = "") -> dict[str, Any]:
    """Parse TOML text into plain data.

    Raises:
        DesignError: It is no TOML.
    """
    if not text.strip():
        raise file_error(file, "an empty file", "a design", "write one with: knobmenu new FILE")
    if line := find_deep_key(text):
        raise file_error(file, "a key with too many parts", f"keys of at most {DEEPEST_KEY} parts", line=line)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        if text.lstrip().startswith("{"):
            from knobmenu.codec.recognition import Document, recognize_json, refuse_other

            refuse_other(recognize_json(text), Document.DESIGN, file)
            raise file_error(file, "JSON", "TOML", "give the file a name that ends in .json", 1) from None
        raise DesignError([_syntax(str(error), text)._replace(file=file)]) from None
    except ValueError:
        raise file_error(file, "a number with too many digits", "whole numbers in 32 bits") from None
    except RecursionError:
        raise file_error(file, "lists or tables nested too deeply", "the nesting of a design") from None


MOST_LOCATED = 1_000_000
"""The longest text in which the lines of problems are found; that takes much memory. [characters]"""


def locate(error: DesignError, text: str, file: str) -> list[Problem]:
    """Give problems their file and lines, in the order of the lines; no lines in a text above `MOST_LOCATED`."""
    from knobmenu.files.spans import lines

    where: dict[str, int] = {}
    if len(text) <= MOST_LOCATED:
        with contextlib.suppress(RecursionError):
            where = lines(text)
    placed = [problem._replace(file=file, line=_line(problem.path, where)) for problem in error.problems]
    return sorted(placed, key=lambda problem: problem.line)


def _line(path: str, where: dict[str, int]) -> int:
    """Find the line of a path, or of the nearest part around it; 0 where the whole is meant."""
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
"""For each kind of message of the parser: what was found, what is allowed."""


def _syntax(message: str, text: str) -> Problem:
    """Say in plain words what a parser's message means."""
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
    for pattern, found, allowed in _SAID:
        if re.match(pattern, message):
            advice = _advice(found, row, rows[line - 1][column - 1 :] if place else "")
            if found.startswith("this"):
                return Problem("", f"{found}: {quote_value(row)}", allowed, advice, line=line)
            return Problem("", f"{found}: {rest}", allowed, advice, line=line)
    return Problem("", rest, "TOML", message.partition(" (at ")[0], line=line)


def _advice(found: str, row: str, rest: str) -> str:
    """Guess what was meant, where that is plain enough."""
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
