"""The page on checks lists every kind of finding as the check itself has it."""

from __future__ import annotations

import re
from pathlib import Path

from knobmenu.analysis.check.findings import RULES

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "check.md"


def test_the_page_lists_every_kind_of_finding() -> None:
    rows = re.findall(
        r"^\| `([a-z-]+)` \| (error|warning|note) \| (.*) \| (.*) \|$", PAGE.read_text(encoding="utf-8"), re.M
    )

    assert rows == [(rule.key, rule.severity.value, rule.title, rule.why) for rule in RULES.values()]
