"""Every link in the documents leads somewhere, down to the heading."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCUMENTS = sorted(
    path for path in [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"), *(ROOT / "demos").rglob("*.md")]
)
LINK = re.compile(r"\]\((?P<path>[^)#\s]*)(?:#(?P<heading>[^)\s]+))?\)")


@cache
def anchors(path: Path) -> frozenset[str]:
    """Return the anchors of a document's headings, as code hosts form them (common practice)."""
    text = re.sub(r"^```.*?^```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    headings = re.findall(r"^#+ +(.+)$", text, flags=re.MULTILINE)
    return frozenset(re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings)


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_of_a_document_leads_somewhere(path: Path) -> None:
    broken = []
    for link in LINK.finditer(path.read_text(encoding="utf-8")):
        if "://" in link["path"]:
            continue
        target = path.parent / link["path"] if link["path"] else path
        if not target.exists() or (link["heading"] and link["heading"] not in anchors(target)):
            broken.append(link[0])

    assert broken == []
