"""The design that a newcomer begins with has nothing to be warned of."""

from __future__ import annotations

from knobmenu.analysis.check import check_design
from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads


def test_the_starter_has_no_finding() -> None:
    assert check_design(loads(read_starter())).findings == ()
