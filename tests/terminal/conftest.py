"""What the tests of the terminal share."""

import pytest

from tests.kiln import kiln, kiln_file, other_kiln
from tests.terminal.clock import Clock

__all__ = ["clock", "kiln", "kiln_file", "other_kiln"]


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The time of keys and mouse, moved by hand."""
    clock = Clock()
    monkeypatch.setattr("textual.message._time", clock)
    return clock
