"""One variable says how much the slow suites run."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.sampling import parse_whole

TESTS = Path(__file__).parent


@pytest.mark.parametrize(("text", "expected"), [("", False), ("0", False), ("1", True)])
def test_slow_suites_run_whole_only_when_asked(text: str, expected: bool) -> None:
    assert parse_whole(text) is expected


def test_a_value_that_could_mean_either_is_refused() -> None:
    with pytest.raises(ValueError, match="expected 1 or 0, got 'yes'"):
        parse_whole("yes")


def test_the_variable_is_read_in_one_place() -> None:
    readers = [
        path.name
        for path in sorted(TESTS.rglob("*.py"))
        if "KNOBMENU_WHOLE" in path.read_text(encoding="utf-8") and "environ" in path.read_text(encoding="utf-8")
    ]

    assert [
        name for name in readers if name not in ("sampling.py", "test_sampling.py", "mutation.py", "whole.py")
    ] == []  # the last two set it
