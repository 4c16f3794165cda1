"""One self-contained HTML file: a verdict, tables and pictures."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

_STYLE = """
:root { color-scheme: light; }
body { font: 15px/1.5 "DejaVu Sans", "Liberation Sans", Arial, sans-serif; color: #1d2433; background: #fff;
  max-width: 60rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; margin: 0 0 .25rem; } h2 { font-size: 1.1rem; margin: 2.2rem 0 .5rem; }
p.verdict { font-size: 1.1rem; margin: .5rem 0 1rem; } p.remark, caption { color: #5c6577; text-align: left; }
table { border-collapse: collapse; width: 100%; font-size: 13px; } th { text-align: left; font-weight: 600; }
th, td { padding: .28rem .6rem .28rem 0; border-bottom: 1px solid #dfe3ea; vertical-align: top; }
td:first-child { width: 30%; }
td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
code { font: 12px/1.4 "DejaVu Sans Mono", "Liberation Mono", monospace; overflow-wrap: anywhere; }
svg { max-width: 100%; height: auto; } details { margin: .3rem 0; } summary { cursor: pointer; }
@media print { body { margin: 0; max-width: none; } details { break-inside: avoid; } }
"""


def write_page(title: str, verdict: Iterable[str], parts: Iterable[str]) -> str:
    """Write a page.

    Args:
        title: Plain text.
        verdict: Sentences of plain text at the top.
        parts: Parts of the page, as HTML.
    """
    return "\n".join(
        [
            "<!doctype html>",
            '<html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>",
            f"<h1>{escape(title)}</h1>",
            *(f'<p class="verdict">{escape(sentence)}</p>' for sentence in verdict),
            *parts,
            "</body></html>",
            "",
        ]
    )


def write_heading(words: str, remark: str = "") -> str:
    """Write a heading, and a remark below it."""
    return f"<h2>{escape(words)}</h2>" + (f'<p class="remark">{escape(remark)}</p>' if remark else "")


def write_table(columns: Iterable[str], rows: Iterable[Iterable[object]], numeric: Iterable[int] = ()) -> str:
    """Write a table.

    Args:
        columns: The headings of its columns.
        rows: Cells of any type; they are written as plain text.
        numeric: Positions of the columns that are right-aligned.
    """
    right = set(numeric)

    def write_cell(tag: str, index: int, words: object) -> str:
        return f"<{tag}{' class=n' if index in right else ''}>{escape(str(words))}</{tag}>"

    head = "".join(write_cell("th", index, words) for index, words in enumerate(columns))
    body = "\n".join(
        "<tr>" + "".join(write_cell("td", index, words) for index, words in enumerate(row)) + "</tr>" for row in rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>"
