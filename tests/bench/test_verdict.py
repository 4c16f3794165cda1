"""The intervals of a verdict rest on published numbers."""

import pytest
from scipy import stats

from knobmenu.bench import verdict


def test_the_table_of_students_t_is_that_of_scipy() -> None:
    """Two-sided 95 percent, against the library scipy from the registry."""
    table = verdict._T_975

    assert len(table) == 30
    assert table == pytest.approx([stats.t.ppf(0.975, degrees) for degrees in range(1, 31)], abs=6e-4)
