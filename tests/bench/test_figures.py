"""Numbers as people read them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.figures import format_number, format_percent

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 3, "0"),
        (100.0, 2, "100"),
        (104.0, 2, "104"),
        (99.96, 3, "100"),
        (0.00000123, 3, "0.00000123"),
        (1234567.0, 3, "1234567"),
        (2.0, 2, "2"),
        (-0.0512, 2, "-0.051"),
    ],
)
def test_a_number_has_its_significant_digits_and_no_exponent(value: float, digits: int, text: str) -> None:
    assert format_number(value, digits) == text


@given(st.floats(1e-9, 1e9), st.integers(1, 6))
def test_what_is_written_is_the_value_to_its_digits(value: float, digits: int) -> None:
    text = format_number(value, digits)

    assert "e" not in text
    assert float(text) == pytest.approx(value, rel=0.51 * 10 ** (1 - digits))


def test_a_percentage_is_never_written_with_an_exponent() -> None:
    for rate in (0.0, 1e-7, 0.004, 0.0123, 0.9951, 0.9999, 1.0, 10.4, 123.0):
        assert re.fullmatch(r"[\d.]+ %", format_percent(rate))
    assert format_percent(1.0, 2) == "100 %"


def test_no_format_of_few_digits_writes_a_rate_or_a_figure_that_can_exceed_them() -> None:
    """A format such as ``.2g`` turns 100 into 1e+02: what people read is written by `format_number`."""
    sources = [
        path for part in ("bench", "cli/bench", "terminal/bench") for path in (ROOT / "knobmenu" / part).rglob("*.py")
    ] + [ROOT / "docs" / "afternoon.py"]
    found = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()}"
        for path in sources
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if re.search(r":>?\d*\.[1-3]g\}", line) and "float(" not in line and "closed_v" not in line
    ]

    assert found == []
