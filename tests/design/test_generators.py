"""The bounds of scales, and of the rules that make them."""

from __future__ import annotations

from itertools import pairwise

import pytest

from knobmenu.design.generators import Generator, GeneratorKind, generate_values
from knobmenu.design.settings import Scale
from knobmenu.errors import DesignError

MOST = 10_000
"""The most values that a rule may make, as its error says."""


@pytest.mark.parametrize("step", [1, 7])
def test_a_grid_may_have_as_many_values_as_its_error_allows(step: int) -> None:
    generator = Generator(kind="grid", low=0, high=(MOST - 1) * step, step=step)
    assert len(generate_values(generator)) == MOST

    with pytest.raises(DesignError, match=f"at most {MOST} values"):
        Generator(kind="grid", low=0, high=MOST * step, step=step)


@pytest.mark.parametrize("parts", [3, 12, 24])
def test_doublings_finer_than_the_last_place_give_each_whole_number_once(parts: int) -> None:
    """Against the powers of two themselves, each rounded to a whole number: only those of whole octaves are exact."""
    exact = [2 ** (index / parts) for index in range(6 * parts + 1)]

    made = generate_values(Generator(kind="doublings", low=1, high=64, parts=parts))

    assert list(made) == sorted({round(value) for value in exact})


@pytest.mark.parametrize("kind", ["1-2-5", "E24", "f-numbers", "doublings", "grid"])
def test_a_rule_keeps_to_its_ends_and_ascends(kind: GeneratorKind) -> None:
    values = generate_values(Generator(kind=kind, low=11, high=150))

    assert all(11 <= value <= 150 for value in values)
    assert all(lower < higher for lower, higher in pairwise(values))


@pytest.mark.parametrize("values", [(1, 1), (2, 1)])
def test_a_list_that_does_not_ascend_is_refused(values: tuple[int, int]) -> None:
    with pytest.raises(DesignError, match=rf"values\[1\].*expected more than {values[0]}, the value before it"):
        Scale(key="s", label="S", values=values, initial=values[0])
