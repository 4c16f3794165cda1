"""A press that is told badly still begins once and ends."""

from hypothesis import given
from hypothesis import strategies as st

from knobmenu.terminal import held
from knobmenu.terminal.held import Hand, Repeats, Source


def test_only_the_source_that_pressed_lets_go() -> None:
    hand = held.pressed(Hand(), "key", 100, "space")
    assert held.released(hand, "key", "enter") == hand
    assert held.released(hand, "mouse") == hand
    assert held.released(hand, "key", "space") == Hand()


def test_a_second_press_meanwhile_changes_nothing() -> None:
    hand = held.pressed(Hand(), "mouse", 100)
    assert held.pressed(hand, "key", 200, "space") == hand


def test_a_release_without_a_press_changes_nothing() -> None:
    assert held.released(Hand(), "key", "space") == Hand()


def test_losing_the_focus_lets_keys_and_mouse_go_but_not_a_hold_that_stays() -> None:
    assert not held.blurred(held.pressed(Hand(), "key", 0, "space")).down
    assert not held.blurred(held.pressed(Hand(), "mouse", 0)).down
    assert held.blurred(held.pressed(Hand(), "sticky", 0)).down
    assert held.blurred(held.pressed(Hand(), "measured", 0)).down


def test_a_lost_release_is_made_up_at_last() -> None:
    hand = held.pressed(Hand(), "key", 1000, "space")
    assert held.unstuck(hand, 1000 + held.STUCK_MS - 1) == hand
    assert held.unstuck(hand, 1000 + held.STUCK_MS) == Hand()


_SOURCES: list[Source] = ["key", "mouse", "sticky", "measured"]


@given(st.lists(st.tuples(st.booleans(), st.sampled_from(_SOURCES), st.integers(0, 5000)), max_size=40))
def test_presses_and_releases_alternate_whatever_comes(told: list[tuple[bool, Source, int]]) -> None:
    """Whatever is told, the knob's level changes only from up to down and back, and the holder is one that pressed."""
    hand = Hand()
    pressed_by: list[Source] = []
    for down, by, at_ms in told:
        before = hand
        hand = held.pressed(hand, by, at_ms) if down else held.released(hand, by)
        if hand.down and not before.down:
            pressed_by.append(by)
        if hand.down:
            assert hand.by == pressed_by[-1]
        if before.down and hand.down:
            assert hand == before


def test_the_repeats_of_a_held_key_are_told_from_taps() -> None:
    """Repeat delay 500 ms then 33 ms, 660 then 40 and 375 then 90 (measured in terminals): at most 3 clicks."""
    for delay, gap in ((500, 33), (660, 40), (375, 90)):
        times = [0, *(delay + gap * number for number in range(40))]
        state, clicks = Repeats(), 0
        for at_ms in times:
            state, is_repeat = held.repeats(state, "space", at_ms)
            clicks += not is_repeat
        assert clicks <= 3


def test_uneven_taps_as_fast_as_a_hand_can_are_all_clicks() -> None:
    state, at_ms = Repeats(), 0
    for gap in (95, 130, 150, 120, 170, 98, 140, 200):
        at_ms += gap
        state, is_repeat = held.repeats(state, "space", at_ms)
        assert not is_repeat


def test_another_key_between_is_no_repeat() -> None:
    state, _ = held.repeats(Repeats(), "space", 0)
    state, is_repeat = held.repeats(state, "enter", 10)
    assert not is_repeat
