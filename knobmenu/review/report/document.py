"""A report as a sequence of parts, written as one HTML file or as Markdown with separate pictures."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterator, Sequence
from html import escape
from typing import assert_never

import attrs

from knobmenu.analysis.page import write_heading, write_page, write_table
from knobmenu.review.report.replays import Replay
from knobmenu.review.report.results import Table


@attrs.frozen
class Heading:
    """The heading of a section."""

    text: str
    remark: str = ""


@attrs.frozen
class Paragraph:
    """One or more sentences."""

    text: str


@attrs.frozen
class Picture:
    """A plot."""

    name: str
    """The name of its file, without the extension."""
    title: str
    svg: str
    """A whole SVG document."""


Part = Heading | Paragraph | Table | Picture | Replay


@attrs.frozen
class Document:
    """A report."""

    title: str
    verdict: tuple[str, ...]
    parts: tuple[Part, ...]


# HTML.

_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""The page loads nothing, whatever it contains."""

_STYLE = """
table { margin: .5rem 0 1rem; } figure { margin: 1rem 0; break-inside: avoid; }
figcaption { color: #5c6577; font-size: 13px; }
figure img { max-width: 100%; height: auto; } .verdict:nth-of-type(n + 3) { font-size: 1rem; margin: .3rem 0; }
td:first-child { width: auto; } h2, h3 { break-after: avoid; } tr { break-inside: avoid; }
@media print { .replay img { filter: invert(1) grayscale(1); } }
"""


def write_html(document: Document) -> str:
    """Format a report as one self-contained HTML file."""
    parts = [f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}"><style>{_STYLE}</style>']
    written = write_page(document.title, document.verdict, map(_write_part_html, document.parts))
    return written.replace("</head>", f"{''.join(parts)}</head>", 1)


def _write_part_html(part: Part) -> str:
    match part:
        case Heading(text, remark):
            return write_heading(text, remark)
        case Paragraph(text):
            return f"<p>{escape(text)}</p>"
        case Table(columns, rows, numeric):
            return write_table(columns, rows, numeric)
        case Picture(name, title, svg):
            return f"<figure>{_inline_svg(svg, name, title)}<figcaption>{escape(title)}</figcaption></figure>"
        case Replay():
            data = b64encode(part.picture.encode()).decode()
            who = escape(f"{part.occurrence.person.code}: {_format_events(part.events)}")
            return (
                f'<figure class="replay"><img alt="{who}" src="data:image/svg+xml;base64,{data}">'
                f"<figcaption>{who}<br><code>{escape(part.command)}</code></figcaption></figure>"
            )
        case _:
            assert_never(part)


def _inline_svg(svg: str, name: str, title: str) -> str:
    """Convert an SVG document to a part of a page, with ids that are unique there."""
    start = svg[svg.index("<svg") :]
    start = re.sub(r'\b(id="|url\(#|href="#)', lambda found: f"{found.group(1)}{name}-", start)
    return start.replace("<svg", f'<svg role="img" aria-label="{escape(title)}"', 1)


# Markdown.

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~])")


def write_markdown(document: Document, folder: str) -> tuple[str, dict[str, str]]:
    """Format a report as Markdown.

    Args:
        document: The report.
        folder: The path to the folder of the pictures, as it appears in the Markdown.

    Returns:
        The text, and the pictures by the names of their files.
    """
    pictures: dict[str, str] = {}
    lines = [
        f"# {_escape_markdown(document.title)}",
        "",
        *(f"- {_escape_markdown(sentence)}" for sentence in document.verdict),
        "",
    ]
    for part in document.parts:
        lines += [*_write_part_markdown(part, folder, pictures), ""]
    return "\n".join(lines), pictures


def _write_part_markdown(part: Part, folder: str, pictures: dict[str, str]) -> Iterator[str]:
    match part:
        case Heading(text, remark):
            yield f"## {_escape_markdown(text)}"
            if remark:
                yield ""
                yield _escape_markdown(remark)
        case Paragraph(text):
            yield _escape_markdown(text)
        case Table(columns, rows, numeric):
            yield _format_row(columns)
            yield _format_row(["---:" if place in numeric else "---" for place in range(len(columns))], plain=False)
            yield from map(_format_row, rows)
        case Picture(name, title, svg):
            pictures[f"{name}.svg"] = svg
            yield f"![{_escape_markdown(title)}](<{folder}/{name}.svg>)"
        case Replay():
            name = f"replay-{len(pictures) + 1}.svg"
            pictures[name] = part.picture
            caption = _escape_markdown(f"{part.occurrence.person.code}: {_format_events(part.events)}")
            yield f"![replay of {_escape_markdown(part.occurrence.person.code)}](<{folder}/{name}>)"
            yield ""
            yield caption
            yield ""
            yield f"    {part.command}"
        case _:
            assert_never(part)


def _format_row(cells: Sequence[str], plain: bool = True) -> str:
    return "| " + " | ".join(_escape_markdown(cell) if plain else cell for cell in cells) + " |"


def _escape_markdown(text: str) -> str:
    """Escape the characters of a text that Markdown would interpret."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


_MOST_EVENTS = 12


def _format_events(events: Sequence[str]) -> str:
    """List the events of a replay; of a long one, the first."""
    more = f", … {len(events) - _MOST_EVENTS} more" if len(events) > _MOST_EVENTS else ""
    return ", ".join(events[:_MOST_EVENTS]) + more
