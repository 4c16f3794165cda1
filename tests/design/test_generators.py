"""The bounds of scales, and of the rules that make them."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

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


WHOLE: dict[GeneratorKind, int] = {
    "1-2-5": 1,
    **dict.fromkeys(("E3", "E6", "E12", "E24", "f-numbers"), 10),
    **dict.fromkeys(("E48", "E96", "E192", "third-octaves"), 100),
}
"""The least value of each list at which all of its values are whole: as many units as its mantissas have digits."""


@pytest.mark.parametrize(("kind", "least"), WHOLE.items())
def test_a_list_begins_where_all_of_its_values_are_whole_and_is_refused_below(kind: GeneratorKind, least: int) -> None:
    assert generate_values(Generator(kind=kind, low=least, high=100 * least))[0] == least

    with pytest.raises(DesignError, match=f"at least {least}, so that every value of {kind} is a whole number"):
        Generator(kind=kind, low=least - 1, high=100 * least)


@pytest.mark.parametrize(("kind", "least"), [*WHOLE.items(), ("airband", 117_900)])
@given(data=st.data())
def test_a_narrower_range_leaves_values_out_and_makes_no_others(
    kind: GeneratorKind, least: int, data: st.DataObject
) -> None:
    most = 1000 if kind == "airband" else 99 * least
    wide = generate_values(Generator(kind=kind, low=least, high=least + most))
    low = data.draw(st.integers(least, wide[-2]))
    high = data.draw(st.integers(next(value for value in wide if value > low), least + most))
    kept = tuple(value for value in wide if low <= value <= high)

    if len(kept) > 1:
        assert generate_values(Generator(kind=kind, low=low, high=high)) == kept
    else:
        with pytest.raises(DesignError, match=f"at least two values of {kind}"):
            Generator(kind=kind, low=low, high=high)
