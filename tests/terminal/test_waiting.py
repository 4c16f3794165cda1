"""What is struck while a press lasts is done afterwards or refused in words; nothing is dropped."""

from __future__ import annotations

import pytest

from knobmenu.design.whole import Design
from knobmenu.events import LongPress, Press
from knobmenu.terminal.input.turning import PRESSES
from tests.terminal.clock import Clock
from tests.terminal.desk import Hand, at_desk


def presses(hand: Hand) -> list[str]:
    return [type(event).__name__ for event in hand.desk.session.list_events() if isinstance(event, Press | LongPress)]


async def over(hand: Hand, clock: Clock) -> None:
    """Let the press end, and what waited for it be done."""
    for _ in range(4):
        clock.later(1000)
        hand.desk.session.pass_time(clock.now_ms)
        hand.desk.changed()
        await hand.settle()


@pytest.mark.parametrize("key", ["space", "l", "d"])
async def test_a_press_during_a_simulated_press_is_done_after_it(kiln: Design, clock: Clock, key: str) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("l", key)
        assert hand.desk.session.hand.by == "measured"
        await over(hand, clock)
        expected = {"space": ["Press"], "l": ["LongPress"], "d": ["Press", "Press"]}[key]
        assert presses(hand) == ["LongPress", *expected]


async def test_going_back_during_a_simulated_press_waits_for_it(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("right", "l", "comma")
        await over(hand, clock)
        assert hand.desk.session.history.in_past
        await hand.key("end")
        assert presses(hand) == ["LongPress"]


@pytest.mark.parametrize("key", ["space", "l", "d"])
async def test_a_press_of_a_knob_that_is_held_is_refused_in_words(kiln: Design, clock: Clock, key: str) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("h", key)
        assert "held down already" in hand.shows("header")
        clock.later(100)
        await hand.key("h")
        await over(hand, clock)
        assert presses(hand) == ["Press"]


def test_every_press_waits() -> None:
    assert {"press", "long_press", "hold", "double_press"} == PRESSES


@pytest.mark.parametrize("words", ["reload", "undo", "screenshot", "long press", "redo", "double press"])
async def test_the_palette_finds_what_people_look_for(kiln: Design, words: str) -> None:
    from textual.fuzzy import Matcher

    async with at_desk([kiln]) as hand:
        offered = [command.title for command in hand.app.get_system_commands(hand.app.screen)]
        assert any(words in title.lower() for title in offered)
        assert any(Matcher(words).match(title) > 0 for title in offered)
