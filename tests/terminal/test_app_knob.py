"""Turning, pressing and holding, by keys and by mouse."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from math import cos, pi, sin

import pytest
from textual import events

from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Turn
from knobmenu.picture.knob import KNOB_WORDS
from knobmenu.terminal.backend.parser import ReleasesReported
from tests.terminal.desk import Hand, at_desk


def kinds(hand: Hand) -> list[type[Event]]:
    return [type(event) for event in hand.desk.session.list_events()]


def detents(hand: Hand) -> list[int]:
    return [event.detents for event in hand.desk.session.list_events() if isinstance(event, Turn)]


@asynccontextmanager
async def at_telling_desk(design: Design) -> AsyncIterator[Hand]:
    """Sit down at a desk whose terminal reports when a key is released."""
    async with at_desk([design]) as hand:
        hand.app.post_message(ReleasesReported(True))
        await hand.settle()
        yield hand


@pytest.mark.parametrize(
    ("key", "turned"),
    [("right", [1]), ("up", [1]), ("left", [-1]), ("down", [-1]), ("pageup", [1] * 5), ("pagedown", [-1] * 5)],
)
async def test_a_key_turns_the_knob(kiln: Design, key: str, turned: list[int]) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key(key)
        assert detents(hand) == turned
        assert f"detent {sum(turned) % 24} of 24" in hand.shows("knob")


@pytest.mark.parametrize("key", ["space", "enter"])
async def test_a_key_presses_the_knob(kiln: Design, key: str) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key(key)
        assert kinds(hand) == [Press]
        assert "browsing main" in hand.shows("events")


async def test_a_held_arrow_turns_on(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("right")
        await hand.key("right", "right", repeat=True)
        assert detents(hand) == [1, 1, 1]


async def test_a_held_press_key_is_no_stream_of_clicks(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key(*["space"] * 50)
        assert kinds(hand) == [Press]
        assert "l is a long press" in hand.shows("header")


async def test_a_key_holds_exactly_where_releases_are_told(kiln: Design) -> None:
    async with at_telling_desk(kiln) as hand:
        assert "press: exact" in hand.shows("header")
        await hand.key("space")
        await hand.key("space", "space", repeat=True)
        assert hand.desk.session.hand.down
        assert kinds(hand) == []
        await hand.up("space")
        assert kinds(hand) == [Press]


async def test_a_key_held_on_is_a_long_press_once(kiln: Design) -> None:
    async with at_telling_desk(kiln) as hand:
        await hand.key("space")
        await hand.until(lambda: kinds(hand) == [LongPress])
        assert "held 0." in hand.shows("knob")
        await hand.up("space")
        assert kinds(hand) == [LongPress]


async def test_releases_that_are_stray_or_lost_do_no_harm(kiln: Design) -> None:
    async with at_telling_desk(kiln) as hand:
        await hand.up("space")
        await hand.key("space")
        await hand.up("enter")
        assert kinds(hand) == []
        hand.app.post_message(events.AppBlur())
        await hand.settle()
        assert not hand.desk.session.hand.down
        assert kinds(hand) == [Press]


async def test_l_presses_long_everywhere(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("space", "l")
        assert "pressed" in hand.shows("knob")
        await hand.until(lambda: not hand.desk.session.hand.down)
        assert kinds(hand) == [Press, LongPress]


async def test_h_holds_until_the_next_h_and_losing_the_focus_does_not_let_go(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("h")
        hand.app.post_message(events.AppBlur())
        await hand.settle()
        assert hand.desk.session.hand.down
        await hand.key("h")
        assert kinds(hand) == [Press]


async def test_turning_while_held_is_told_where_the_knob_tells_it(kiln: Design) -> None:
    import attrs

    async with at_desk([attrs.evolve(kiln, knob=attrs.evolve(kiln.knob, turns_while_held=True))]) as hand:
        await hand.key("h", "right", "h")
        assert kinds(hand) == [HeldTurn]


async def test_d_presses_twice(kiln: Design, other_kiln: Design) -> None:
    async with at_desk([other_kiln]) as hand:
        await hand.key("d")
        await hand.until(lambda: kinds(hand) == [DoublePress])


async def test_the_wheel_turns_over_the_knob_and_elsewhere(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        for name in ("knob", "device-0"):
            await hand.pilot._post_mouse_events([events.MouseScrollUp], offset=hand.at(name, 5, 4), button=0)
        await hand.pilot._post_mouse_events([events.MouseScrollDown], offset=hand.at("knob", 5, 4), button=0)
        await hand.settle()
        assert detents(hand) == [1, 1, -1]


async def test_the_mouse_button_on_the_knob_is_an_exact_hold(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.pilot.mouse_down(offset=hand.at("knob", 13, 4))
        assert hand.desk.session.hand.by == "mouse"
        await hand.pilot.mouse_up(offset=hand.at("knob", 13, 4))
        await hand.settle()
        assert kinds(hand) == [Press]
        await hand.pilot.mouse_down(offset=hand.at("knob", 13, 4))
        await hand.pilot.pause(0.6)
        await hand.pilot.mouse_up(offset=hand.at("device-0", 3, 3))
        await hand.settle()
        assert kinds(hand) == [Press, LongPress]
        assert not hand.desk.session.hand.down


def rim(hand: Hand, turn: float) -> tuple[int, int]:
    """Return the place on the knob's rim that is a part of a turn clockwise from the top."""
    box = hand.desk.box("knob")
    rows = box.rows - KNOB_WORDS
    across, down = sin(2 * pi * turn), -cos(2 * pi * turn)
    return box.x + int(box.columns / 2 + rows * 0.95 * across), box.y + int(rows / 2 + rows / 2 * 0.95 * down)


@pytest.mark.parametrize("clockwise", [1, -1])
async def test_dragging_around_the_rim_turns_it(kiln: Design, clockwise: int) -> None:
    """A quarter of the way round is six of twenty-four detents, to a cell of the terminal."""
    async with at_desk([kiln]) as hand:
        await hand.pilot.mouse_down(offset=rim(hand, 0))
        for step in range(1, 9):
            await hand.pilot.hover(offset=rim(hand, clockwise * step / 32))
        await hand.pilot.mouse_up(offset=rim(hand, clockwise / 4))
        await hand.settle()
        assert abs(sum(detents(hand)) - 6 * clockwise) <= 1
        assert Press not in kinds(hand)
