"""Update of a TOML text to a changed design, keeping the comments, the order and the layout of the rest.

The text is edited in place: differences between the old and the new design are removed, inserted or replaced, and the
result is read again to verify it. If the layout of a text does not allow this, the design is formatted again and the
comments are carried over to their places; those without a place go to the top.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from knobmenu.codec import to_plain
from knobmenu.codec.forms import BARE, Plain, join_key
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.files import toml, writing
from knobmenu.files.spans import Span, find_comments, find_spans


def update_text(text: str, design: Design, file: str = "") -> str:
    """Update an existing TOML text to a design.

    Args:
        text: The text of a design, usually of an earlier version of this one.
        design: The design.
        file: The name of the file in problems.

    Returns:
        A text that `loads` to the design, with every comment except those on removed parts.

    Raises:
        DesignError: The text does not contain a design.
    """
    old = to_plain(toml.loads(text, file))
    new = to_plain(design)
    plain_lines = text.replace("\r\n", "\n")
    edited = _edit(plain_lines, old, new, design)
    return edited.replace("\n", "\r\n") if "\r\n" in text else edited


class _CannotEditError(Exception):
    """The layout of the text does not allow editing in place."""


def _edit(text: str, old: dict[str, Plain], new: dict[str, Plain], design: Design) -> str:
    try:
        result = _Edit(text).apply(old, new)
        if toml.loads(result) == design:
            return result
    except (_CannotEditError, DesignError):
        pass
    return _rewrite(text, design)


class _Edit:
    """One update of a text: positions refer to the old text, since all edits are applied together."""

    def __init__(self, text: str) -> None:
        self.text = text if text.endswith("\n") else text + "\n"
        self.spans = find_spans(self.text)
        self.headers = sorted((span.start, path) for path, span in self.spans.items() if span.header)
        self.edits: list[tuple[int, int, str]] = []

    def apply(self, old: dict[str, Plain], new: dict[str, Plain]) -> str:
        self._edit_table("", old, new)
        text, limit = self.text, len(self.text)
        for start, end, written in sorted(self.edits, key=lambda edit: edit[:2], reverse=True):
            if end > limit:
                raise _CannotEditError
            text, limit = text[:start] + written + text[end:], start
        return text

    def _edit_table(self, path: str, old: dict[str, Plain], new: dict[str, Plain]) -> None:
        for name in old.keys() - new.keys():
            self._remove(join_key(path, name))
        before = ""
        for name, value in new.items():
            place = join_key(path, name)
            if name not in old and place not in self.spans:
                self._insert(path, before, name, value)
            elif name not in old or old[name] != value or repr(old[name]) != repr(value):
                self._edit_value(place, old.get(name), value)
            before = name

    def _edit_value(self, path: str, old: Plain, new: Plain) -> None:
        span = self._get_span(path)
        inline = not span.header and self.text[span.value] == "{" and not self._is_parent(path)
        if isinstance(new, dict) and isinstance(old, dict) and not (inline and old.keys() != new.keys()):
            self._edit_table(path, old, new)
        elif span.header or self._is_parent(path):
            raise _CannotEditError
        elif isinstance(new, list) and isinstance(old, list):
            self._edit_list(path, old, new)
        else:
            self._replace(span, writing.format_inline(new))

    def _is_parent(self, path: str) -> bool:
        """Return whether a path has no value of its own, but results from a header or a dotted key below it."""
        span = self.spans[path]
        return span.value == span.end or any(
            inner.start == span.start for other, inner in self.spans.items() if other.startswith(f"{path}.")
        )

    def _get_span(self, path: str) -> Span:
        if path not in self.spans:
            raise _CannotEditError
        return self.spans[path]

    def _replace(self, span: Span, written: str) -> None:
        self.edits.append((span.value, span.end, written))

    def _edit_list(self, path: str, old: list[Plain], new: list[Plain]) -> None:
        span = self.spans[path]
        items = [self.spans.get(f"{path}[{index}]") for index in range(len(old))]
        whole = self.text[span.value : span.end]
        places = [item for item in items if item is not None]
        if len(places) < len(items) or any(item.header for item in places):
            raise _CannotEditError
        if self._is_stacked(span, places):
            self._edit_stacked_list(places, old, new)
        elif "#" in whole:
            raise _CannotEditError
        elif len(old) == len(new):
            for item, before, after in zip(places, old, new, strict=True):
                if repr(before) != repr(after):
                    self._replace(item, writing.format_inline(after))
        else:
            name = path.rpartition(".")[2]
            written = (
                writing.format_line(name, new).partition(" = ")[2] if BARE.match(name) else writing.format_inline(new)
            )
            self._replace(span, written if "\n" in whole or "[" not in path else writing.format_inline(new))

    def _is_stacked(self, span: Span, places: list[Span]) -> bool:
        """Return whether each item of a list, and each bracket, is on lines of its own."""
        ends = [span.value + 1, *(item.end for item in places)]
        starts = [*(item.start for item in places), span.end - 1]
        return all("\n" in self.text[end:start] for end, start in zip(ends, starts, strict=True))

    def _edit_stacked_list(self, places: list[Span], old: list[Plain], new: list[Plain]) -> None:
        """Rearrange the lines of a list, each with the comments above and behind it."""
        if not places:
            raise _CannotEditError
        first = self.text.rfind("\n", 0, places[0].start)
        while self.text[self.text.rfind("\n", 0, first) + 1 : first].lstrip().startswith("#"):
            first = self.text.rfind("\n", 0, first)
        starts = [first + 1, *(self._find_line_end(item.end) for item in places)]
        indent = re.match(r"[ \t]*", self.text[self._find_line_start(places[0].start) :])
        margin = indent.group() if indent else ""
        free = {index: repr(item) for index, item in enumerate(old)}
        taken: list[int | None] = []
        for item in new:
            index = next((index for index, written in free.items() if written == repr(item)), None)
            taken.append(index)
            if index is not None:
                del free[index]
        lines = []
        for position, (index, item) in enumerate(zip(taken, new, strict=True)):
            written = writing.format_inline(item)
            if index is None and position in free:
                del free[position]
                index = position
            elif index is not None:
                written = self.text[places[index].start : places[index].end]
            if index is None:
                lines.append(f"{margin}{written},\n")
                continue
            start, end, span = starts[index], starts[index + 1], places[index]
            rest = self.text[span.end : end]
            lines.append(
                self.text[start : span.start] + written + ("" if rest.lstrip().startswith(",") else ",") + rest
            )
        self.edits.append((starts[0], starts[-1], "".join(lines)))

    def _remove(self, path: str) -> None:
        span = self._get_span(path)
        inside = [
            (start, other)
            for start, other in self.headers
            if other == path or other.startswith((f"{path}.", f"{path}["))
        ]
        if inside:
            for start, _ in inside:
                self.edits.append((self._find_block_start(start), self._find_block_end(start), ""))
            return
        if self._is_parent(path) or self._find_line_start(span.start) + len(self._get_margin(span)) != span.start:
            raise _CannotEditError
        self.edits.append((self._find_line_start(span.start), self._find_line_end(span.end), ""))

    def _get_margin(self, span: Span) -> str:
        text = self.text[self._find_line_start(span.start) : span.start]
        return text if not text.strip() else ""

    def _insert(self, path: str, before: str, name: str, value: Plain) -> None:
        """Insert a new part: under a header of its own, or as a line below the last one of its table."""
        if path == "" and name in writing.TABLE_LISTS:
            for part in value:
                self._put_section(None, "\n".join(writing.format_item(name, part)))
            return
        if path in writing.SECTIONS or (path == "" and isinstance(value, dict)):
            if path == "" and name in writing.SECTIONS:
                for key, part in value.items():
                    self._put_section(None, "\n".join(writing.format_section((name, key), part)))
            else:
                self._put_section(join_key(path, before) if before else None, self._format_section(path, name, value))
            return
        if path and not self._get_span(path).header:
            raise _CannotEditError
        limit = next((start for start, _ in self.headers if not path or start > self.spans[path].start), len(self.text))
        first = self.spans[path].end if path else 0
        ends = [span.end for span in self.spans.values() if first <= span.start < limit and span.end <= limit]
        at = self._find_line_end(max(ends)) if ends else self._find_line_end(first) if path else 0
        self.edits.append((at, at, writing.format_line(name, value) + "\n"))

    def _format_section(self, path: str, name: str, value: Plain) -> str:
        return "\n".join(writing.format_section((path, name) if path else (name,), value))

    def _put_section(self, after: str | None, written: str) -> None:
        if after is None or after not in self.spans or not self.spans[after].header:
            self.edits.append((len(self.text), len(self.text), f"\n{written}\n"))
            return
        blocks = [start for start, path in self.headers if path == after or path.startswith(f"{after}.")]
        at = self._find_block_end(max(blocks))
        self.edits.append((at, at, f"\n{written}\n" if at == len(self.text) else f"{written}\n\n"))

    def _find_block_start(self, header: int) -> int:
        """Return the start of the comment directly above a header, or of the header itself."""
        start = self._find_line_start(header)
        while start and self.text[self._find_line_start(start - 1) : start].lstrip().startswith("#"):
            start = self._find_line_start(start - 1)
        return start

    def _find_block_end(self, header: int) -> int:
        following = next((start for start, _ in self.headers if start > header), None)
        return len(self.text) if following is None else self._find_block_start(following)

    def _find_line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def _find_line_end(self, at: int) -> int:
        return self.text.index("\n", at) + 1


def _rewrite(text: str, design: Design) -> str:
    """Format a design again, and carry over the comments of an older text."""
    fresh = toml.dumps(design)
    rows = fresh.split("\n")
    above: dict[int, list[str]] = {}
    behind: dict[int, str] = {}
    lost: list[str] = []
    where = {path: fresh.count("\n", 0, span.start) for path, span in find_spans(fresh).items()}
    for comment, path, trailing in _walk_comments(text):
        row = where.get(path)
        if row is None:
            lost.append(comment)
        elif trailing and row not in behind and not rows[row].rstrip().endswith("["):
            behind[row] = comment
        else:
            above.setdefault(row, []).append(comment)
    written = [*lost, *([""] if lost else [])]
    for number, row_text in enumerate(rows):
        written += above.get(number, [])
        written.append(f"{row_text}  {behind[number]}" if number in behind else row_text)
    return "\n".join(written)


def _walk_comments(text: str) -> Iterator[tuple[str, str, bool]]:
    """Walk the comments of a text, each with the path of its subject and whether it is on the same line."""
    starts = sorted((span.start, path) for path, span in find_spans(text).items() if "[" not in path)
    ends = {text.count("\n", 0, span.end): path for path, span in find_spans(text).items() if "[" not in path}
    for start, end in find_comments(text):
        row_start = text.rfind("\n", 0, start) + 1
        trailing = bool(text[row_start:start].strip())
        if trailing:
            path = ends.get(text.count("\n", 0, start), "?")
        else:
            path = next((path for place, path in starts if place > start), "?")
        yield text[start:end].rstrip(), path, trailing
