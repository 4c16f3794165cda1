"""Anything up to a megabyte is accepted or refused in under 2 s and 300 MiB, each in a process of its own."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from knobmenu.errors import MOST_LISTED, DesignError
from knobmenu.files.toml import loads
from tests.fuzz.large import LARGE, LEGAL, unknown_keys


@pytest.mark.parametrize("make", LARGE, ids=lambda make: make.__name__)
def test_a_file_that_asks_for_much_is_answered_within_bounds(make: Callable[[], str]) -> None:
    assert len(make()) <= 1_000_000
    command = [sys.executable, "-m", "tests.fuzz.large", make.__name__]
    done = subprocess.run(
        command, cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False, timeout=60
    )

    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("make", LEGAL, ids=lambda make: make.__name__)
def test_a_large_design_that_is_legal_is_accepted(make: Callable[[], str]) -> None:
    assert loads(make()).name == "Large"


def test_of_very_many_problems_the_first_are_listed_and_the_rest_counted() -> None:
    with pytest.raises(DesignError) as refused:
        loads(unknown_keys())

    lines = str(refused.value).splitlines()
    assert len(lines) == MOST_LISTED + 1
    assert lines[-1] == f"… and {len(refused.value.problems) - MOST_LISTED} more problems"
    assert len(refused.value.problems) > 100_000
