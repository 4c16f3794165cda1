"""What a reader of captures says of a file that it cannot read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from knobmenu.bench.errors import BenchError


def assert_refused(read: Callable[[Path], object], file: Path, line: int, found: str) -> None:
    """Check that a file is refused with one problem, which names its line, what stands there and what was expected."""
    with pytest.raises(BenchError) as refused:
        read(file)

    (problem,) = refused.value.problems
    assert (problem.file, problem.line) == (str(file), line)
    assert found in problem.got
    assert problem.expected
