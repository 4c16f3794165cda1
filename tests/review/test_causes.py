"""What follows from leaving the way at one place counts there, once; whatever else happened is kept."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from knobmenu.machine.state import Mode
from knobmenu.review.causes import find_causes
from knobmenu.review.departures import MEANINGS, Departure, Kind

MENU = (Mode.BROWSING, "main")


def departure(kind: Kind, begun_ms: int, ended_ms: int, key: str = "x", expected: str = "tone") -> Departure:
    return Departure(kind, MENU, key, expected, begun_ms, ended_ms, gestures=1)


def causes(*departures: Departure) -> list[tuple[Kind, list[Kind]]]:
    return [(one.departure.kind, [other.kind for other in one.following]) for one in find_causes(departures)]


def test_leaving_a_list_after_a_wrong_turn_in_it_is_explained_by_that() -> None:
    found = list(find_causes([departure("wrong-turn", 0, 1000), departure("left", 2000, 5000)]))

    assert [(one.departure.kind, one.seconds, one.gestures) for one in found] == [("wrong-turn", 4.0, 2)]


def test_turning_past_the_right_entry_before_a_wrong_turn_is_explained_by_that() -> None:
    assert causes(departure("passed-entry", 0, 500), departure("wrong-turn", 600, 900)) == [
        ("wrong-turn", ["passed-entry"])
    ]


def test_a_slip_within_a_detour_is_a_part_of_it() -> None:
    assert causes(departure("left", 0, 9000), departure("overshoot", 100, 300, expected="")) == [("left", [])]


def test_what_another_entry_was_wanted_for_has_another_cause() -> None:
    found = causes(departure("wrong-turn", 0, 1000), departure("left", 2000, 5000, expected="light"))

    assert found == [("wrong-turn", []), ("left", [])]


departures = st.lists(
    st.builds(
        lambda kind, begun, lasted, key: departure(kind, begun, begun + lasted, key),
        st.sampled_from(sorted(MEANINGS)),
        st.integers(0, 20),
        st.integers(0, 20),
        st.sampled_from("xyz"),
    ),
    max_size=6,
    unique_by=lambda one: (one.kind, one.begun_ms, one.ended_ms, one.key),
)


@given(departures)
def test_causes_hold_each_departure_once_or_enclose_it(given_departures: list[Departure]) -> None:
    found = list(find_causes(given_departures))
    kept = [one for cause in found for one in (cause.departure, *cause.following)]

    assert len(kept) == len({id(one) for one in kept})
    for one in given_departures:
        assert any(
            one is other or (other.begun_ms <= one.begun_ms and one.ended_ms <= other.ended_ms) for other in kept
        )
