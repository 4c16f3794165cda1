"""Every key of the app, from its own table: a key without a check here fails."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from textual import events
from textual.command import CommandList
from textual.widgets import Input

from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, LongPress, Press, Turn, Wait
from knobmenu.files.recordings import begin_recording
from knobmenu.files.sessions import KeptSession
from knobmenu.machine.state import Mode
from knobmenu.picture.palettes import PALETTES
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from knobmenu.terminal.bench.screen import BenchScreen
from knobmenu.terminal.desk.layout import PANES
from knobmenu.terminal.desk.screen import DeskScreen
from knobmenu.terminal.input.keymap import ALL, Key
from knobmenu.terminal.prompts.help import Help
from knobmenu.terminal.prompts.palette import CommandPalette
from knobmenu.terminal.prompts.prompt import Prompt
from tests.terminal.clock import Clock
from tests.terminal.desk import Hand, at_desk

Check = Callable[[Hand, str, Clock], Awaitable[None]]

CHECKS: dict[str, Check] = {}
"""For each thing that keys do, what must become of it; each begins at the desk with the kiln just switched on."""

ELSEWHERE = {
    "simulated_encoder": "test_simulated_encoder.py",
    "suspend": "test_ends.py",
    "present": "test_presentation.py",
}
"""What is checked in a file of its own."""


def checks(does: str) -> Callable[[Check], Check]:
    """Enter a check for one thing that keys do."""

    def entered(check: Check) -> Check:
        CHECKS[does] = check
        return check

    return entered


@pytest.mark.parametrize("does", [key.does for key in ALL])
def test_every_key_has_a_check(does: str) -> None:
    assert (does in CHECKS) is not (does in ELSEWHERE)
    assert all((Path(__file__).parent / name).exists() for name in ELSEWHERE.values())


def test_no_check_is_of_a_key_that_is_gone() -> None:
    assert {*CHECKS, *ELSEWHERE} <= {key.does for key in ALL}


@pytest.mark.parametrize(
    ("key", "name"),
    [pytest.param(key, name, id=f"{key.does}-{name}") for key in ALL if key.does not in ELSEWHERE for name in key.keys],
)
async def test_a_key_does_what_its_words_say(
    kiln_file: Path, other_kiln: Design, clock: Clock, key: Key, name: str
) -> None:
    # Two variants where that is what the key is about.
    designs: list[Design | Path] = [kiln_file, other_kiln] if key.does == "variant" else [kiln_file]
    async with at_desk(designs, (120, 40)) as hand:
        clock.later(1000)
        await CHECKS[key.does](hand, name, clock)


# The knob.


def turned(hand: Hand) -> list[int]:
    """Return how far the device was turned, turn by turn."""
    return [event.detents for event in hand.desk.session.list_events() if isinstance(event, Turn)]


def holder(hand: Hand) -> str:
    """Return who holds the knob down."""
    return hand.desk.session.hand.by


def on_top(hand: Hand) -> type[object]:
    """Return what kind of screen is on top."""
    return type(hand.app.screen)


async def press(hand: Hand, clock: Clock, *names: str) -> None:
    """Type keys as a person would, a while after one another."""
    for name in names:
        clock.later(400)
        await hand.key(name)


@checks("turn_clockwise")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name, name)
    assert turned(hand) == [1, 1]
    assert "30°, detent 2 of 24" in hand.shows("knob")
    assert "42 %" in hand.screen()[1]


@checks("turn_back")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert turned(hand) == [-1]
    assert "345°, detent 23 of 24" in hand.shows("knob")
    assert "39 %" in hand.screen()[1]


@checks("spin_clockwise")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    """So quickly that the kiln's acceleration is felt: one detent alone, then four that count ten times."""
    await press(hand, clock, name)
    assert turned(hand) == [1] * 5
    assert "81 %" in hand.screen()[1]


@checks("spin_back")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert turned(hand) == [-1] * 5
    assert " 0 %" in hand.screen()[1]


@checks("press")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert hand.desk.session.list_events() == (Press(1460),)
    assert "pressed" in hand.shows("knob")
    assert hand.desk.session.parts[0].state.mode is Mode.BROWSING


@checks("long_press")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "space", name)
    assert holder(hand) == "measured"
    clock.later(hand.desk.session.measured_ms)
    await hand.key("f")
    assert [type(event) for event in hand.desk.session.list_events()][:2] == [Press, LongPress]
    assert holder(hand) == "nobody"
    assert hand.desk.session.parts[0].state.mode is Mode.HOME


@checks("hold")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    clock.later(300)
    hand.desk.changed()
    await hand.settle()
    assert "held 0.3 s" in hand.shows("knob")
    assert hand.desk.session.list_events() == ()
    await hand.key(name)
    assert hand.desk.session.list_events() == (Press(1700),)
    await hand.key(name)
    clock.later(700)
    await hand.key(name)
    assert isinstance(hand.desk.session.list_events()[-1], LongPress)


@checks("double_press")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    """The kiln takes no double presses, so it takes two presses."""
    await press(hand, clock, name)
    assert hand.desk.session.list_events() == (Press(1460), Press(1580))
    assert not any(isinstance(event, DoublePress) for event in hand.desk.session.list_events())


@checks("bench")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    """What can be done there is checked in test_bench_screen.py."""
    await press(hand, clock, name)
    assert on_top(hand) is BenchScreen
    await press(hand, clock, "escape")
    assert on_top(hand) is DeskScreen
    await hand.key(name, "escape")
    assert on_top(hand) is DeskScreen


# Time.


@checks("back")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", "right", name)
    assert "41 %" in hand.screen()[1]
    assert "event 1 of 2" in hand.shows("bar")
    assert "in the past" in hand.shows("bar")


@checks("on")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", "right", "comma", "comma", name)
    assert "event 1 of 2" in hand.shows("bar")
    await press(hand, clock, name, name)
    assert "event 2 of 2, live" in hand.shows("bar")
    assert "42 %" in hand.screen()[1]


@checks("power_on")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", "space", "right", name)
    assert "event 0 of 3" in hand.shows("bar")
    assert hand.desk.session.parts[0].state.mode is Mode.HOME
    assert "40 %" in hand.screen()[1]


@checks("newest")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", "right", "right", "home", name)
    assert "event 3 of 3, live" in hand.shows("bar")
    assert "43 %" in hand.screen()[1]


@checks("next_branch")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert "only one branch" in hand.shows("header")
    await press(hand, clock, "right", "right", "comma", "left")
    assert "40 %" in hand.screen()[1]
    assert "branch 2 of 2" in hand.shows("bar")
    await press(hand, clock, name)
    assert "42 %" in hand.screen()[1]
    assert "branch 1 of 2" in hand.shows("bar")
    await press(hand, clock, name)
    assert "40 %" in hand.screen()[1]


@checks("freeze")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert "time frozen" in hand.shows("bar")
    frozen_at = hand.desk.session.at_ms
    clock.later(60_000)
    await hand.key("right")
    assert hand.desk.session.at_ms < frozen_at + 1000
    await press(hand, clock, name)
    assert "live" in hand.shows("bar")


@checks("play_again")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", "space")
    events = hand.desk.session.list_events()
    await press(hand, clock, name)
    assert hand.desk.session.list_events() == events
    assert "branch 2 of 2" in hand.shows("bar")
    assert "played from power-on" in hand.shows("header")


# Panes.


def _checks_pane(pane: str) -> None:
    @checks(f"pane_{pane}")
    async def _(hand: Hand, name: str, clock: Clock) -> None:
        before = [shown for shown in PANES if hand.shows(shown)]
        assert before == list(PANES)
        await press(hand, clock, name)
        assert [shown for shown in PANES if hand.shows(shown)] == [other for other in PANES if other != pane]
        await press(hand, clock, name)
        assert [shown for shown in PANES if hand.shows(shown)] == before


for _pane in PANES:
    _checks_pane(_pane)


@checks("variant")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert "the tree of B" in hand.shows("header")
    assert hand.desk.tree_variant == 1
    await press(hand, clock, name)
    assert "the tree of A" in hand.shows("header")


# Words and files.


@checks("note")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", name)
    await hand.write("slow?")
    noted = next(line for line in hand.shows("events").splitlines() if "✎" in line)
    assert noted.endswith("slow?")
    assert "1.40  slow?" in hand.shows("notes")
    await press(hand, clock, name, "escape")
    assert len(hand.desk.session.notes) == 1


@checks("words")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    await hand.write("2 press wait 500 report inside 300")
    assert [type(event) for event in hand.desk.session.list_events()][:3] == [Turn, Press, Wait]
    assert hand.desk.session.parts[0].state.reports == (300,)
    await press(hand, clock, name)
    await hand.write("prss")
    assert on_top(hand) is Prompt


@checks("save_trace")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", "space", name)
    assert on_top(hand) is Prompt
    assert hand.app.screen.query_one(Input).value == "kiln.trace"
    await hand.key("enter")
    assert "kiln.trace is written" in hand.shows("header")
    assert Path("kiln.trace").exists()


@checks("save_test")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", name, "enter")
    assert "test_kiln.py is written" in hand.shows("header")
    assert Path("test_kiln.py").exists()


@checks("open_trace")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    Path("walk.trace").write_text("3 press 1\n", encoding="utf-8")
    await press(hand, clock, "left", name)
    await hand.write("walk.trace")
    assert turned(hand) == [3, 1]
    assert "walk.trace, played from power-on" in hand.shows("header")


@checks("resume")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, "right", "right")
    await press(hand, clock, name)
    assert "every other session of this design is saved" in hand.shows("header")
    kept = hand.desk.recording.kept
    assert kept is not None
    earlier = KeptSession(kept.files)
    session = Session(Timeline(hand.desk.session.designs, begin_recording(earlier, 0, earlier.files)), 0)
    session.turn(-1, 100)
    session.timeline.note("earlier", 200)
    earlier.close()

    await press(hand, clock, name)

    assert "continues" in hand.shows("header")
    assert turned(hand) == [-1]
    assert [note.text for note in hand.desk.session.notes] == ["earlier"]

    await press(hand, clock, name)

    assert turned(hand) == [1, 1], "the session that was left has been kept, too"


@checks("picture")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name, "enter")
    assert "kiln.svg is written" in hand.shows("header")
    assert Path("kiln.svg").read_text(encoding="utf-8").startswith("<svg ")


@checks("reload")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    """The file is not watched where its folder says nothing; so it is replaced unseen, behind the watcher's back."""
    variant = hand.desk.variants[0]
    assert variant.path is not None
    changed = variant.path.with_name("changed.toml")
    changed.write_text(variant.path.read_text(encoding="utf-8").replace('"Kiln"', '"Oven"'), encoding="utf-8")
    variant.path = changed
    await hand.key(name)
    await hand.until(lambda: "Oven" in hand.shows("header"))
    assert "place and values kept" in hand.shows("header")


# The app.


@checks("look")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    for palette in (*PALETTES[1:], PALETTES[0]):
        await press(hand, clock, name)
        assert hand.desk.palette is palette
        assert f"look: {palette.name}" in hand.shows("header")


@checks("form")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    sizes = [hand.desk.box("device-0")]
    for form in ("quadrant", "braille", "spaced", "text"):
        await press(hand, clock, name)
        assert f"drawn as {form}" in hand.shows("header")
        sizes.append(hand.desk.box("device-0"))
    assert sorted(sizes, key=lambda box: -box.columns) == sizes
    await press(hand, clock, name)
    assert hand.desk.box("device-0") == sizes[0]


@checks("blinking")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert "blinks as the device does" in hand.shows("header")
    await press(hand, clock, name)
    assert "nothing blinks" in hand.shows("header")
    assert not hand.desk.blinking


@checks("commands")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert on_top(hand) is CommandPalette


@checks("help")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await press(hand, clock, name)
    assert on_top(hand) is Help
    await press(hand, clock, name)
    assert on_top(hand) is DeskScreen


@checks("leave")
async def _(hand: Hand, name: str, clock: Clock) -> None:
    await hand.key(name)
    assert not hand.app.is_running


async def test_what_a_key_does_is_in_the_command_palette_too(kiln_file: Path) -> None:
    async with at_desk([kiln_file]) as hand:
        offered = {command.title for command in hand.app.get_system_commands(hand.app.screen)}
        assert offered == {key.words.rstrip(".") for key in ALL if key.does != "commands"}
        await hand.key("colon")
        for character in "stop device":
            await hand.pilot.press("space" if character == " " else character)
        found = hand.app.screen.query_one(CommandList)
        await hand.until(lambda: found.option_count == 1)
        await hand.pilot.press("enter")
        await hand.settle()
        assert hand.desk.session.frozen


async def test_a_key_that_is_nobodys_changes_nothing(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        before = hand.desk.session.history.present
        await hand.key("left_shift", "f7", "ä", "tab", "ctrl+t", "ignore")
        assert hand.desk.session.history.present is before
        assert hand.app.screen is hand.desk


async def test_letters_do_the_same_with_shift_or_caps_lock(kiln: Design, clock: Clock) -> None:
    async with at_desk([kiln]) as hand:
        for name, letter in (("upper_h", "H"), ("H", "H")):
            clock.later(1000)
            hand.app.post_message(events.Key(name, letter))
            await hand.settle()
        assert [type(event) for event in hand.desk.session.list_events()] == [LongPress]
        hand.app.post_message(events.Key("upper_e", "E"))
        await hand.settle()
        assert on_top(hand) is BenchScreen
        hand.app.post_message(events.Key("upper_q", "Q"))
        await hand.settle()
        assert on_top(hand) is DeskScreen


async def test_a_held_key_of_a_command_does_it_once(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("c")
        await hand.key("c", "c", "c", repeat=True)
        assert hand.desk.palette is PALETTES[1]
