"""A press that is told badly still begins once and ends."""

from hypothesis import assume, given
from hypothesis import strategies as st

from knobmenu.session import hand as holding
from knobmenu.session.hand import Hand, Holder


def test_only_the_source_that_pressed_lets_go() -> None:
    hand = holding.press(Hand(), "key", 100, "space")
    assert holding.release(hand, "key", "enter") == hand
    assert holding.release(hand, "mouse") == hand
    assert holding.release(hand, "key", "space") == Hand()


def test_a_second_press_meanwhile_changes_nothing() -> None:
    hand = holding.press(Hand(), "mouse", 100)
    assert holding.press(hand, "key", 200, "space") == hand


def test_a_release_without_a_press_changes_nothing() -> None:
    assert holding.release(Hand(), "key", "space") == Hand()


def test_losing_the_focus_lets_keys_and_mouse_go_but_not_a_hold_that_stays() -> None:
    assert not holding.release_on_blur(holding.press(Hand(), "key", 0, "space")).down
    assert not holding.release_on_blur(holding.press(Hand(), "mouse", 0)).down
    assert holding.release_on_blur(holding.press(Hand(), "sticky", 0)).down
    assert holding.release_on_blur(holding.press(Hand(), "measured", 0)).down


def test_a_lost_release_is_made_up_at_last() -> None:
    hand = holding.press(Hand(), "key", 1000, "space")
    assert holding.release_stuck(hand, 1000 + holding.STUCK_MS - 1) == hand
    assert holding.release_stuck(hand, 1000 + holding.STUCK_MS) == Hand()


_SOURCES: list[Holder] = ["key", "mouse", "sticky", "measured"]


@given(st.lists(st.tuples(st.booleans(), st.sampled_from(_SOURCES), st.integers(0, 5000)), max_size=40))
def test_presses_and_releases_alternate_whatever_comes(told: list[tuple[bool, Holder, int]]) -> None:
    """Whatever is told, the knob's level changes only from up to down and back, and the holder is one that pressed."""
    hand, held = Hand(), 0
    pressed_by: list[Holder] = []
    for down, by, at_ms in told:
        before = hand
        hand = holding.press(hand, by, at_ms) if down else holding.release(hand, by)
        if hand.down and not before.down:
            pressed_by.append(by)
        if hand.down:
            assert hand.by == pressed_by[-1]
            held += 1
        if before.down and hand.down:
            assert hand == before
    assume(held)
