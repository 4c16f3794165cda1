"""Read a spec: return its design, or report everything that cannot be read or contradicts the design.

The design part is authoritative. Everything else is built from it again and compared, so that a document that was
changed in only one place is refused.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import attrs

from knobmenu.codec import from_plain
from knobmenu.errors import DesignError, Problem, nearest, quote_value
from knobmenu.export.parts import Plain
from knobmenu.export.spec import FORMAT, MOST_BYTES, VERSION, build_spec

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

DEEPEST = 100
"""How deep objects and lists may nest in a document; a design needs less than half of it."""


def read_spec(content: bytes, file: str = "") -> Design:
    """Read a spec.

    Args:
        content: The document, JSON in UTF-8.
        file: The document's name, for messages.

    Returns:
        The design from which the document was made.

    Raises:
        DesignError: The document is not a spec, has a version that cannot be read, has unknown fields, or contradicts
            itself; each problem with its path in the document.
    """
    try:
        return _read(_parse_document(content))
    except DesignError as error:
        raise DesignError(problem._replace(file=file) for problem in error.problems) from None


_SAYS_SO = re.compile(rb'"format"\s*:\s*"%s"' % FORMAT.encode())


def is_spec(content: bytes) -> bool:
    """Return whether content declares itself a spec, of any version, valid or not."""
    return content.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{" and _SAYS_SO.search(content) is not None


def _read(document: Plain) -> Design:
    newer = _check_version(document)
    part = document.get("design")
    if not isinstance(part, dict):
        found = quote_value(part) if "design" in document else "nothing"
        raise _make_error("design", found, "the design as its author wrote it", "export it again from the design file")
    try:
        design = from_plain(part)
    except DesignError as error:
        raise DesignError(
            problem._replace(path=f"design.{problem.path}".rstrip("."), line=0) for problem in error.problems
        ) from None
    expected = {name: value for name, value in build_spec(design).items() if name not in _HEAD}
    compared = {name: document[name] for name in document if name not in _HEAD}
    if problems := list(_find_differences(compared, expected, "", newer)):
        raise DesignError(problems)
    return design


_HEAD = ("format", "version", "design")
"""Fields that are not compared: the first two have their own rules, and the rest is compared with the last."""


def _make_error(path: str, found: str, expected: str, advice: str = "", line: int = 0) -> DesignError:
    return DesignError([Problem(path, found, expected, advice, line=line)])


def _check_version(document: Plain) -> bool:
    """Refuse other formats and versions; return whether the document has a later minor version."""
    if document.get("format") != FORMAT:
        found = quote_value(document["format"]) if "format" in document else "nothing"
        raise _make_error("format", found, f'"{FORMAT}"', "name a document that was exported as a spec")
    version = document.get("version")
    whole = isinstance(version, dict) and all(type(version.get(name)) is int for name in ("major", "minor"))
    if not isinstance(version, dict) or not whole or min(version["major"], version["minor"]) < 0:
        found = quote_value(version) if "version" in document else "nothing"
        raise _make_error("version", found, f'{{"major": {VERSION[0]}, "minor": {VERSION[1]}}}')
    if version["major"] != VERSION[0]:
        advice = "read it with a later knobmenu" if version["major"] > VERSION[0] else "export it again"
        raise _make_error("version.major", quote_value(version["major"]), str(VERSION[0]), advice)
    newer = bool(version["minor"] > VERSION[1])
    extra = [name for name in version if name not in ("major", "minor")]
    if extra and not newer:
        raise DesignError(_report_unknown(_join_field("version", name), name, ("major", "minor")) for name in extra)
    return newer


def _find_differences(found: Any, expected: Any, path: str, newer: bool) -> Iterator[Problem]:
    """Compare a part of a document with what follows from its design.

    Args:
        found: The part of the document.
        expected: The same part as built from the design.
        path: Its path.
        newer: Whether the document has a later minor version, so that unknown fields are ignored.
    """
    if repr(found) == repr(expected):  # fast for nearly all of a document, and distinguishes true from 1
        return
    if isinstance(expected, dict) and isinstance(found, dict):
        for name, value in expected.items():
            inner = _join_field(path, name)
            if name in found:
                yield from _find_differences(found[name], value, inner, newer)
            else:
                yield Problem(inner, "nothing", f"{_describe(value)}, which follows from the design part")
        if not newer:
            for name in found:
                if name not in expected:
                    yield _report_unknown(_join_field(path, name), name, expected)
    elif isinstance(expected, list) and isinstance(found, list) and len(expected) == len(found):
        for number, (item, value) in enumerate(zip(found, expected, strict=True)):
            yield from _find_differences(item, value, f"{path}[{number}]", newer)
    elif type(found) is not type(expected) or found != expected:
        yield Problem(path, _describe(found), f"{_describe(expected)}, which follows from the design part")


def _report_unknown(path: str, name: str, known: Any) -> Problem:
    advice = nearest(name, known) or f"version {VERSION[0]}.{VERSION[1]} has no such field"
    return Problem(path, f"a field {quote_value(name)}", "no other field here", advice)


def _describe(value: Any) -> str:
    """Describe a JSON value briefly."""
    if value is None:
        return "null"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    return "an object" if isinstance(value, dict) else quote_value(value)


# From bytes to JSON's own types.


def _parse_document(content: bytes) -> Plain:
    if len(content) > MOST_BYTES:
        raise _make_error("", f"a document of {len(content)} bytes", f"at most {MOST_BYTES} bytes")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        found = f"the byte 0x{content[error.start]:02X}, which is not UTF-8"
        raise _make_error("", found, "JSON text in UTF-8", "save it as UTF-8", line) from None
    _check_depth(text)
    try:
        document = json.loads(
            text,
            object_pairs_hook=_build_object,
            parse_constant=_NotWhole,
            parse_float=_NotWhole,
            parse_int=_parse_whole,
        )
    except json.JSONDecodeError as error:
        found = f"text that is not JSON in column {error.colno}: {error.msg[:1].lower()}{error.msg[1:]}"
        raise _make_error("", found, "JSON text", line=error.lineno) from None
    if problems := list(_find_unreadable(document, "")):
        raise DesignError(problems)
    if not isinstance(document, dict):
        raise _make_error("", _describe(document), "a JSON object, as an exported spec is")
    return document


_NESTING = re.compile(r'"(?:[^"\\]|\\.)*"?|[\[\]{}]', re.DOTALL)
"""A text, which is skipped, or a bracket."""


def _check_depth(text: str) -> None:
    """Refuse nesting that could exhaust the stack."""
    depth = 0
    for match in _NESTING.finditer(text):
        character = match[0]
        if character in "]}":
            depth -= 1
        elif character in "[{":
            depth += 1
            if depth > DEEPEST:
                line = text.count("\n", 0, match.start()) + 1
                raise _make_error("", f"objects and lists {depth} deep", f"at most {DEEPEST} deep", line=line)


@attrs.frozen
class _NotWhole:
    """A number that no spec contains, as it was written; its path is known only after the whole document is read."""

    text: str


class _Repeating(dict[str, Any]):
    """An object in which fields occur more than once."""

    repeated: tuple[str, ...] = ()


def _build_object(pairs: list[tuple[str, Any]]) -> Plain:
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    repeating = _Repeating(found)
    counts = Counter(name for name, _ in pairs)
    repeating.repeated = tuple(name for name, count in counts.items() if count > 1)
    return repeating


_LONGEST_WHOLE = len(str(-(2**64)))
"""Numbers of this many characters or more are not parsed; the design part checks the ranges. [characters]"""


def _parse_whole(text: str) -> int | _NotWhole:
    return int(text) if len(text) < _LONGEST_WHOLE else _NotWhole(text)


def _find_unreadable(value: Any, path: str) -> Iterator[Problem]:
    """Find what no spec can contain: numbers that are not whole or are very long, and repeated fields."""
    if isinstance(value, _NotWhole):
        if len(value.text) < _LONGEST_WHOLE or not value.text.lstrip("-").isdigit():
            yield Problem(path, quote_value(value.text).strip('"'), "whole numbers, without point or exponent")
        else:
            yield Problem(path, f"a number of {len(value.text)} digits", "32-bit integers")
    elif isinstance(value, dict):
        if isinstance(value, _Repeating):
            for name in value.repeated:
                yield Problem(_join_field(path, name), "this field more than once in one object", "each field once")
        for name, part in value.items():
            yield from _find_unreadable(part, _join_field(path, name))
    elif isinstance(value, list):
        for number, part in enumerate(value):
            yield from _find_unreadable(part, f"{path}[{number}]")


_PLAIN_NAME = re.compile(r"[\w-]+")


def _join_field(path: str, name: str) -> str:
    """Return the path of a field; quote a name that would be ambiguous in a path."""
    inner = name if len(name) <= 60 and _PLAIN_NAME.fullmatch(name) else quote_value(name)
    return f"{path}.{inner}" if path else inner
