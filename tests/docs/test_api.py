"""The API reference, built from the docstrings, lists every public name."""

from __future__ import annotations

import re
from pathlib import Path

import knobmenu
from docs.api import build


def test_the_reference_lists_and_explains_every_public_name(tmp_path: Path) -> None:
    text = build(tmp_path).read_text(encoding="utf-8")
    listed = set(re.findall(r'<section id="(\w+)">', text))

    assert set(knobmenu.__all__) <= listed
