"""Following a document, example by example, gives what it says."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.docs.examples import ROOT, Reading, blocks

DOCUMENTS = [
    document
    for document in (
        ROOT / "README.md",
        *sorted((ROOT / "docs").rglob("*.md")),
        *sorted((ROOT / "demos").rglob("*.md")),
    )
    if any(block.language in ("python", "sh", "console") for block in blocks(document))
]


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_example_of_a_document_does_what_it_says(
    document: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    reading = Reading(tmp_path)
    followed = 0
    for block in blocks(document):
        reading.follow(block)
        followed += 1

    assert followed
    assert os.listdir(tmp_path)
