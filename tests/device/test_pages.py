"""Moments that are not used are packed, and are the same when they are used again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.device.pages import Cause, Pages
from knobmenu.events import Press, Turn, Wait

Sums = tuple[int, ...]


def summed(moment: Sums, cause: Cause) -> Sums:
    """Add to each variant what its event turned."""
    return tuple(
        total + (event.detents if isinstance(event, Turn) else 0) for total, event in zip(moment, cause, strict=True)
    )


events = st.one_of(
    st.none(),
    st.builds(Turn, st.integers(0, 2**32 - 1), st.integers(1, 10_000), st.integers(1, 1000)),
    st.builds(Press, st.integers(0, 2**32 - 1)),
    st.builds(Wait, st.integers(0, 2**32 - 1)),
)


@given(
    causes=st.lists(st.one_of(st.none(), st.tuples(events, events)), max_size=60),
    live=st.integers(1, 3),
    page=st.integers(1, 8),
    data=st.data(),
)
def test_a_moment_that_was_packed_is_as_it_was_when_it_was_new(
    causes: list[Cause | None], live: int, page: int, data: st.DataObject
) -> None:
    moments: list[Sums] = [(0, 0)]
    pages = Pages(moments[0], summed, live, page)
    for number, cause in enumerate(causes):
        moments.append((number, -number) if cause is None else summed(moments[-1], cause))
        pages.add(moments[-1], cause)
        used = data.draw(st.integers(0, number + 1))
        assert pages[used] == moments[used]
    assert len(pages) == len(moments)
    for number in data.draw(st.permutations(range(len(moments)))):
        assert pages[number] == moments[number]


def test_a_page_that_is_used_stays_as_it_is() -> None:
    first: Sums = (0,)
    pages = Pages(first, summed, 1, 4)
    moments = [first]
    for number in range(40):
        moments.append(summed(moments[-1], (Turn(number, 1),)))
        pages.add(moments[-1], (Turn(number, 1),))
    assert pages[40] is moments[40]
    assert pages[36] is moments[36]
    again = pages[7]
    assert again is not moments[7]
    assert again == moments[7]
    assert pages[7] is again
    assert pages[40] is moments[40], "the page that is written is never packed"


def test_there_is_no_moment_after_the_newest() -> None:
    with pytest.raises(IndexError, match="moment 1: expected 0 to 0"):
        Pages[Sums]((0,), summed)[1]
