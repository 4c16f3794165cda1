"""Questions over the desk, and the page of keys."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rich.cells import cell_len
from textual import events
from textual.widgets import Input, Label

from knobmenu.design.whole import Design
from knobmenu.events import Turn
from knobmenu.terminal.backend.parser import ReleasesReported
from knobmenu.terminal.desk.commands import CLICKS, EXACT
from knobmenu.terminal.desk.layout import LEAST
from knobmenu.terminal.desk.screen import DeskScreen
from knobmenu.terminal.input.keymap import ALL
from knobmenu.terminal.prompts.help import CAUTION, Help, make_help
from knobmenu.terminal.prompts.prompt import Prompt
from tests.terminal.clock import Clock
from tests.terminal.desk import Hand, at_desk


def on_top(hand: Hand) -> type[object]:
    """Return what kind of screen is on top."""
    return type(hand.app.screen)


def wrong(hand: Hand) -> str:
    """Return what a question says is wrong in its answer."""
    shown = hand.app.screen.query_one(".wrong", Label)
    return str(shown.render()) if shown.display else ""


def said(text: str) -> str:
    """Give a text's words without the breaks of its lines."""
    return " ".join(text.split())


def turns(hand: Hand) -> list[int]:
    """Return the turns that came; time may have passed as well, on a slow machine."""
    return [event.detents for event in hand.desk.session.list_events() if isinstance(event, Turn)]


def test_the_page_of_keys_has_every_key_once_and_the_caution() -> None:
    lines = make_help(CLICKS).plain.splitlines()
    text = said(make_help(CLICKS).plain)
    for key in ALL:
        assert text.count(key.words) == 1, key
        assert any(line.startswith(f"  {key.shown} ") for line in lines), key
    assert CAUTION in text
    assert CLICKS in text


@pytest.mark.parametrize("pressing", [CLICKS, EXACT])
def test_the_page_of_keys_fits_the_smallest_terminal_in_two_columns(pressing: str) -> None:
    """Its frame and the bar at its side take five columns."""
    lines = make_help(pressing).plain.splitlines()
    assert max(map(cell_len, lines)) <= LEAST.columns - 5
    listed = [line for line in lines if line.startswith("  ")]
    assert {line[9:10] for line in listed} == {" "}
    assert " " not in {line[10:11] for line in listed}


@pytest.mark.parametrize(("reported", "words"), [(True, EXACT), (False, CLICKS)])
async def test_the_page_of_keys_says_how_the_knob_is_pressed_here(kiln: Design, reported: bool, words: str) -> None:
    async with at_desk([kiln]) as hand:
        hand.app.post_message(ReleasesReported(reported))
        await hand.settle()
        await hand.key("question_mark")
        assert words in said(str(hand.app.screen.query_one("Static").render()))


@pytest.mark.parametrize("key", ["escape", "q", "space", "enter", "f1", "question_mark"])
async def test_the_page_of_keys_is_left_without_leaving_the_app(kiln: Design, key: str) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("f1")
        assert on_top(hand) is Help
        await hand.key(key)
        assert hand.app.screen is hand.desk
        assert hand.app.is_running
        assert hand.desk.session.list_events() == ()


async def test_the_page_of_keys_scrolls_where_it_is_longer_than_the_terminal(kiln: Design) -> None:
    async with at_desk([kiln], (80, 24)) as hand:
        await hand.key("question_mark")
        page = hand.app.screen.query_one("VerticalScroll")
        assert page.max_scroll_y > 0
        await hand.key("end")
        await hand.until(lambda: page.scroll_y == page.max_scroll_y)


async def test_keys_written_into_a_question_neither_turn_nor_press(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("n")
        await hand.write("quit: l h 1 q ?")
        assert hand.desk.session.list_events() == ()
        assert [note.text for note in hand.desk.session.notes] == ["quit: l h 1 q ?"]
        assert hand.app.is_running


async def test_what_is_typed_before_a_question_is_there_is_written_into_it(kiln: Design) -> None:
    """On a slow line the keys of a whole note may come at once; none of them may do what it does at the desk."""
    async with at_desk([kiln]) as hand:
        await hand.key("right", "n", *"quit", "space", *"too?", "enter")
        assert [note.text for note in hand.desk.session.notes] == ["quit too?"]
        await hand.key("n", "x", "escape")
        await hand.key("question_mark", "q")
        assert hand.app.screen is hand.desk
        assert hand.app.is_running
        assert turns(hand) == [1]
        assert len(hand.desk.session.notes) == 1


async def test_what_is_typed_behind_an_answer_is_for_the_desk(kiln: Design) -> None:
    """All at once, as on a slow line, and with the question open already."""
    keys = [*"n ok", "enter", "right", "right", "left", "n", *"two", "enter", "right"]
    async with at_desk([kiln]) as hand:
        for name in keys:
            character = {"enter": "\r", " ": " "}.get(name, name if len(name) == 1 else None)
            hand.app.post_message(events.Key("space" if name == " " else name, character))
        await hand.until(lambda: len(turns(hand)) == 4)
        assert [note.text for note in hand.desk.session.notes] == ["ok", "two"]
        assert [note.number for note in hand.desk.session.notes] == [0, 3]
        assert on_top(hand) is DeskScreen
    async with at_desk([kiln]) as hand:
        await hand.key("n")
        for name in ("a", "enter", "right", "right"):
            hand.app.post_message(events.Key(name, name if len(name) == 1 else None))
        await hand.until(lambda: len(turns(hand)) == 2)
        assert [note.text for note in hand.desk.session.notes] == ["a"]


@pytest.mark.parametrize("key", ["n", "w", "s", "t", "i", "x"])
async def test_a_question_that_is_left_does_nothing(kiln_file: Path, key: str) -> None:
    async with at_desk([kiln_file]) as hand:
        await hand.key(key)
        assert on_top(hand) is Prompt
        await hand.key("escape")
        assert hand.app.screen is hand.desk
        assert sorted(path.name for path in Path().iterdir()) == ["kiln.toml"]
        assert hand.desk.session.history.last == 0


@pytest.mark.parametrize("key", ["n", "w", "s", "t", "i", "x"])
async def test_an_empty_answer_does_nothing(kiln_file: Path, key: str) -> None:
    async with at_desk([kiln_file]) as hand:
        await hand.key(key)
        await hand.write(" ")
        assert hand.app.screen is hand.desk
        assert sorted(path.name for path in Path().iterdir()) == ["kiln.toml"]
        assert not hand.desk.session.notes


async def test_a_note_is_about_the_moment_at_which_it_was_begun(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln], (120, 40)) as hand:
        clock.later(400)
        await hand.key("right", "n")
        clock.later(3000)
        hand.desk.session.pass_time(clock.now_ms)
        await hand.write("too fine")
        assert hand.desk.session.history.last == 2
        (noted,) = [line for line in hand.shows("events").splitlines() if "✎" in line]
        assert "turn +1" in noted
        assert "0.40  too fine" in hand.shows("notes")


async def test_device_time_goes_on_while_a_question_is_open_and_the_wheel_stands_still(kiln: Design) -> None:
    from textual import events

    async with at_desk([kiln]) as hand:
        await hand.key("n")
        await hand.pilot._post_mouse_events([events.MouseScrollUp], offset=(5, 5), button=0)
        await hand.settle()
        assert hand.desk.session.list_events() == ()
        assert hand.desk.session.live


@pytest.mark.parametrize("key", ["s", "t", "x"])
async def test_a_file_that_is_there_is_not_written_over_and_another_name_is_offered(kiln_file: Path, key: str) -> None:
    async with at_desk([kiln_file]) as hand:
        await hand.key(key, "enter")
        (written,) = [path for path in Path().iterdir() if path.name != "kiln.toml"]
        kept = written.read_text(encoding="utf-8")
        await hand.key("right", key)
        offered = hand.app.screen.query_one(Input).value
        assert re.fullmatch(rf"{written.stem}-2\{written.suffix}", offered)
        await hand.write(written.name)
        assert "an existing file" in wrong(hand)
        assert written.read_text(encoding="utf-8") == kept


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("nowhere/x.trace", "no file of this name"),
        ("wrong.trace", '"turm"'),
        ("bytes.trace", "expected text in UTF-8"),
        ("kiln.toml", "kiln.toml"),
    ],
)
async def test_a_trace_that_cannot_be_played_is_said(kiln_file: Path, name: str, says: str) -> None:
    Path("wrong.trace").write_text("turm 3", encoding="utf-8")
    Path("bytes.trace").write_bytes(b"\xff\xfe")
    async with at_desk([kiln_file]) as hand:
        await hand.key("right", "i")
        await hand.write(name)
        assert says in wrong(hand)
        await hand.key("escape")
        assert hand.app.screen is hand.desk
        assert turns(hand) == [1]


async def test_words_that_are_wrong_can_be_mended_where_they_stand(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("w")
        await hand.write("2 pres hold")
        assert 'got "pres"' in wrong(hand)
        assert hand.app.screen.query_one(Input).value == "2 pres hold"
        assert hand.desk.session.list_events() == ()
        await hand.write("2 press hold")
        assert hand.app.screen is hand.desk
        assert len(hand.desk.session.list_events()) == 3


async def test_words_that_the_device_cannot_take_are_said(kiln: Design) -> None:
    async with at_desk([kiln], (200, 50)) as hand:
        await hand.key("w")
        await hand.write("report nothing 3")
        assert "unknown readout" in hand.shows("header")


async def test_a_file_that_cannot_be_written_is_said(kiln_file: Path) -> None:
    async with at_desk([kiln_file], (120, 40)) as hand:
        await hand.key("s")
        await hand.write("nowhere/kiln.trace")
        assert "got a folder that does not exist" in wrong(hand)


async def assert_refused(hand: Hand, key: str, name: str) -> None:
    """Answer the prompt that a key opens, and check that it refuses the name and keeps it."""
    await hand.key(key)
    hand.app.screen.query_one(Input).value = name
    await hand.key("enter")
    assert "expected" in wrong(hand)
    assert hand.app.screen.query_one(Input).value == name


@pytest.mark.parametrize("key", ["s", "t", "x", "i"])
@pytest.mark.parametrize("name", ["~nosuch/x.svg", f"{'n' * 300}.svg", "a\0b.svg"], ids=["nobody", "long", "nul"])
async def test_a_name_that_cannot_be_is_refused_in_the_prompt_which_keeps_it(
    kiln_file: Path, key: str, name: str
) -> None:
    async with at_desk([kiln_file], (120, 40)) as hand:
        await assert_refused(hand, key, name)


@pytest.mark.parametrize("key", ["s", "t", "x", "i"])
async def test_a_deleted_working_folder_is_refused_in_the_prompt_which_keeps_the_name(
    kiln_file: Path, key: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = kiln_file.parent / "gone"
    folder.mkdir()
    name = {"s": "a.trace", "t": "test_a.py", "x": "a.svg", "i": "a.trace"}[key]
    async with at_desk([kiln_file], (120, 40)) as hand:
        monkeypatch.chdir(folder)
        folder.rmdir()
        await assert_refused(hand, key, name)
        await hand.key("escape")
        assert on_top(hand) is not Prompt
        monkeypatch.chdir(kiln_file.parent)


async def test_a_picture_of_another_format_is_refused_in_the_prompt(kiln_file: Path) -> None:
    async with at_desk([kiln_file], (120, 40)) as hand:
        await hand.key("x")
        await hand.write("kiln.jpg")
        assert "expected a name that ends in .svg or .png" in wrong(hand)
        await hand.write("kiln.png")
        await hand.settle()
        assert kiln_file.with_name("kiln.png").read_bytes().startswith(b"\x89PNG")


async def test_a_test_of_the_demo_needs_a_file_first(kiln: Design) -> None:
    async with at_desk([kiln], (120, 40)) as hand:
        await hand.key("t")
        assert "knobmenu new" in hand.shows("header")
        assert hand.app.screen is hand.desk


async def test_a_saved_trace_is_loaded_again_to_the_same_place(kiln_file: Path) -> None:
    async with at_desk([kiln_file]) as hand:
        await hand.key("right", "right", "space", "right")
        shown, events = hand.screen(), hand.desk.session.list_events()
        await hand.key("s", "enter", "home", "left", "left", "i")
        await hand.write("kiln.trace")
        assert hand.screen() == shown
        assert hand.desk.session.list_events() == events
