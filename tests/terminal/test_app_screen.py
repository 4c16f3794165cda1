"""The screen of the app: sizes, resizing, places for the mouse, two variants, and its calm."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events

from knobmenu.design.whole import Design
from knobmenu.events import LongPress, Press, Turn
from knobmenu.terminal.desk.layout import PANES
from tests.pictures import ROOT
from tests.terminal.clock import Clock
from tests.terminal.desk import Hand, at_desk

SIZES = ((60, 18), (80, 24), (120, 40), (200, 50), (250, 70))


def rows(hand: Hand) -> list[str]:
    """Read the whole terminal."""
    return [strip.text for strip in hand.app.screen._compositor.render_strips()]


async def resized(hand: Hand, columns: int, lines: int) -> None:
    await hand.pilot.resize_terminal(columns, lines)
    await hand.settle()


# Sizes.


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_the_app_fills_any_terminal(kiln: Design, size: tuple[int, int]) -> None:
    async with at_desk([kiln], size) as hand:
        await hand.key("right", "space")
        assert len(rows(hand)) == size[1]
        assert all(len(row) == size[0] for row in rows(hand))
        assert "Kiln" in rows(hand)[0]
        assert "quit" in rows(hand)[-1]
        assert hand.shows("events")


@pytest.mark.parametrize("size", [(59, 18), (60, 17), (30, 8), (10, 3)], ids=str)
async def test_a_terminal_that_is_too_small_is_told_so_and_nothing_is_lost(kiln: Design, size: tuple[int, int]) -> None:
    async with at_desk([kiln], (80, 24)) as hand:
        await hand.key("right")
        await resized(hand, *size)
        words = " ".join(hand.shows("small").split())
        assert f"This terminal is {size[0]} by {size[1]}; at least 60 by 18 are needed." in words
        assert not hand.shows("device-0")
        await hand.key("right")
        await resized(hand, 80, 24)
        assert [event.detents for event in hand.desk.session.list_events() if isinstance(event, Turn)] == [1, 1]
        assert hand.shows("device-0")


async def test_what_is_shown_stays_through_any_resizing(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln]) as hand:
        for key in ("right", "space", "right", "comma", "left"):
            clock.later(400)
            await hand.key(key)
        before = hand.desk.session.history.present
        screen = hand.screen()
        for columns, lines in ((250, 70), (61, 19), (120, 40), (40, 10), (80, 24), (90, 20), (80, 24)):
            await resized(hand, columns, lines)
            assert hand.desk.session.history.present is before
            assert len(rows(hand)) == lines
        assert hand.screen() == screen


async def test_a_hold_lasts_through_resizing(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("h")
        await resized(hand, 120, 40)
        clock.later(700)
        await hand.key("h")
        assert [type(event) for event in hand.desk.session.list_events()] == [LongPress]


@pytest.mark.parametrize("demo", sorted((ROOT / "demos").glob("*.toml")), ids=lambda path: path.stem)
async def test_every_demo_can_be_tried(demo: Path, clock: Clock) -> None:
    async with at_desk([demo], (120, 40)) as hand:
        for key in ("right", "space", "right", "l", "space", "left", "pageup", "space"):
            clock.later(700)
            await hand.key(key)
        assert hand.shows("device-0")
        assert len(hand.desk.session.list_events()) >= 8


async def test_every_stroke_of_the_key_for_the_form_draws_the_display_differently(kiln: Design) -> None:
    async with at_desk([kiln], (80, 24)) as hand:
        seen = [hand.desk.box("device-0")]
        for _ in range(3):
            await hand.key("z")
            seen.append(hand.desk.box("device-0"))
        assert len(set(seen[:3])) == 3
        assert seen[3] == seen[0]


# The mouse.


async def clicked(hand: Hand, x: int, y: int) -> None:
    await hand.pilot.mouse_down(offset=(x, y))
    await hand.pilot.mouse_up(offset=(x, y))
    await hand.settle()


async def test_a_click_into_the_bar_of_steps_goes_there(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln]) as hand:
        for _ in range(10):
            clock.later(400)
            await hand.key("right")
        x, y = hand.at("bar", 1, 0)
        await clicked(hand, x, y)
        assert "event 0 of 10" in hand.shows("bar")
        width = hand.shows("bar").index("─  ") if "─  " in hand.shows("bar") else 0
        await clicked(hand, x + width - 1, y)
        assert "event 10 of 10, live" in hand.shows("bar")
        await clicked(hand, x + (width - 1) // 2, y)
        assert "event 5 of 10" in hand.shows("bar")
        await clicked(hand, 78, y)
        assert "event 5 of 10" in hand.shows("bar")


async def test_a_click_beside_the_knob_does_nothing(kiln: Design) -> None:
    async with at_desk([kiln], (120, 40)) as hand:
        for name in ("device-0", "events", "place", "cost", "menu", "notes", "header", "footer"):
            await clicked(hand, *hand.at(name, 2, 0))
        assert hand.desk.session.list_events() == ()
        assert not hand.desk.session.hand.down


async def test_a_release_that_got_lost_is_made_up_when_the_window_loses_its_focus(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        box = hand.desk.box("knob")
        await hand.pilot.mouse_down(offset=(box.x + box.columns // 2, box.y + 4))
        assert hand.desk.session.hand.by == "mouse"
        hand.app.post_message(events.AppBlur())
        await hand.settle()
        assert [type(event) for event in hand.desk.session.list_events()] == [Press]
        await hand.pilot.mouse_up(offset=(3, 3))
        assert [type(event) for event in hand.desk.session.list_events()] == [Press]


async def test_the_wheel_turns_everywhere_and_other_buttons_do_not(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln]) as hand:
        for name in ("knob", "device-0", "events", "bar"):
            clock.later(400)
            await hand.pilot._post_mouse_events([events.MouseScrollUp], offset=hand.at(name, 3, 0), button=0)
        clock.later(400)
        await hand.pilot._post_mouse_events([events.MouseScrollDown], offset=hand.at("place", 3, 0), button=0)
        await hand.settle()
        turns = [event for event in hand.desk.session.list_events() if isinstance(event, Turn)]
        assert [turn.detents for turn in turns] == [1, 1, 1, 1, -1]


# Two variants.


async def test_one_knob_drives_both_variants_and_what_differs_is_marked(
    kiln: Design, other_kiln: Design, clock: Clock
) -> None:
    async with at_desk([kiln, other_kiln], (120, 40)) as hand:
        assert "A = same" in hand.shows("device-0")
        assert "B = same" in hand.shows("device-1")
        assert "≠" not in hand.shows("device-0") + hand.shows("device-1")
        clock.later(400)
        await hand.key("right")
        assert ("41 %" in hand.screen(0)[1], "39 %" in hand.screen(1)[1]) == (True, True)
        for device in ("device-0", "device-1"):
            assert "≠ 1 of 2 rows" in hand.shows(device)
            marked = [line for line in hand.shows(device).splitlines() if line.endswith("≠")]
            assert len(marked) == 1
        assert "A warm 41 %" in hand.shows("events")
        assert "A 41 %  B 39 %" in hand.shows("place")
        assert "A Kiln   B Kiln B" in hand.shows("header")
        assert hand.shows("cost").count("1 detent") == 2


async def test_what_is_saved_is_the_variant_whose_tree_is_shown(
    kiln: Design, other_kiln: Design, clock: Clock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with at_desk([kiln, other_kiln], (120, 40)) as hand:
        clock.later(400)
        await hand.key("right", "v")
        assert "Warm" in hand.shows("menu")
        await hand.key("s", "enter")
        assert Path("demo.trace").read_text(encoding="utf-8").startswith("# Kiln B\n")


# Panes.


async def test_a_pane_that_is_fetched_into_a_small_terminal_takes_the_place_of_another(kiln: Design) -> None:
    async with at_desk([kiln], (80, 24)) as hand:
        assert not hand.shows("menu")
        await hand.key("4")
        assert hand.shows("menu")
        seen = [pane for pane in PANES if hand.shows(pane)]
        assert len(seen) >= 2
        await hand.key("4")
        assert not hand.shows("menu")


async def test_all_panes_can_be_put_away_and_come_back(kiln: Design) -> None:
    async with at_desk([kiln], (120, 40)) as hand:
        await hand.key("1", "2", "3", "4", "5")
        assert not any(hand.shows(pane) for pane in PANES)
        assert hand.shows("device-0")
        await hand.key("right", "1", "2", "3", "4", "5")
        assert all(hand.shows(pane) for pane in PANES)


# The past.


async def test_a_turn_in_the_past_begins_a_line_and_loses_nothing(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln], (120, 40)) as hand:
        for key in ("right", "right", "right"):
            clock.later(400)
            await hand.key(key)
        await hand.key("comma", "comma")
        clock.later(400)
        await hand.key("left")
        assert "event 2 of 2, branch 2 of 2, live" in hand.shows("bar")
        assert "40 %" in hand.screen()[1]
        await hand.key("o")
        assert "event 3 of 3, branch 1 of 2" in hand.shows("bar")
        assert "43 %" in hand.screen()[1]


async def test_steps_stand_still_while_one_goes_back_and_on(kiln: Design, clock: Clock) -> None:
    """Nothing jumps: of the list of steps only the mark moves."""
    async with at_desk([kiln], (80, 24)) as hand:
        for _ in range(4):
            clock.later(400)
            await hand.key("right")

        def unmarked() -> str:
            return hand.shows("events").replace("▸", " ")

        before = unmarked()
        for key in ("comma", "comma", "comma", "full_stop"):
            await hand.key(key)
            assert unmarked() == before


# Calm.


async def test_what_was_said_stays_a_while_and_goes_with_the_next_key(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("b")
        said = hand.shows("header")
        clock.later(3000)
        await hand.key("right")
        assert hand.shows("header") == said
        clock.later(3000)
        await hand.settle()
        assert hand.shows("header") == said
        await hand.key("right")
        assert "? shows the keys" in hand.shows("header")


async def test_blinking_can_be_stopped(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln], (120, 40), blinking=True) as hand:
        for _ in range(2):
            clock.later(400)
            await hand.key("space")
        seen = set()
        for _ in range(3):
            hand.desk._blink()
            await hand.settle()
            seen.add(hand.shows("device-0"))
        assert len(seen) == 2
        await hand.key("b")
        still = hand.shows("device-0")
        for _ in range(3):
            hand.desk._blink()
            await hand.settle()
            assert hand.shows("device-0") == still
