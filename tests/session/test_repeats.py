"""A key that is held clicks once; one that is tapped clicks each time."""

from knobmenu.session import repeats
from knobmenu.session.repeats import Repeats


def test_the_repeats_of_a_held_key_are_told_from_taps() -> None:
    """Repeat delay 500 ms then 33 ms, 660 then 40 and 375 then 90 (measured in terminals): at most 3 clicks."""
    for delay, gap in ((500, 33), (660, 40), (375, 90)):
        times = [0, *(delay + gap * number for number in range(40))]
        state, clicks = Repeats(), 0
        for at_ms in times:
            state, is_repeat = repeats.follow(state, "space", at_ms)
            clicks += not is_repeat
        assert clicks <= 3


def test_uneven_taps_as_fast_as_a_hand_can_are_all_clicks() -> None:
    state, at_ms = Repeats(), 0
    for gap in (95, 130, 150, 120, 170, 98, 140, 200):
        at_ms += gap
        state, is_repeat = repeats.follow(state, "space", at_ms)
        assert not is_repeat


def test_another_key_between_is_no_repeat() -> None:
    state, _ = repeats.follow(Repeats(), "space", 0)
    state, is_repeat = repeats.follow(state, "enter", 10)
    assert not is_repeat
