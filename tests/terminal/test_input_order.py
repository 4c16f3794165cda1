"""Keys that come without a pause, as on a slow line: they do what the same keys do one at a time."""

from __future__ import annotations

import asyncio
import random
from collections.abc import Sequence
from pathlib import Path
from time import time

import attrs
import pytest
from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen, Screen
from textual.widgets import Input, Static

from knobmenu.bench.simulated import NamedChain
from knobmenu.design.home import Idle
from knobmenu.design.whole import Design
from knobmenu.files import save
from knobmenu.terminal.backend.app import TerminalApp
from knobmenu.terminal.backend.bursts import join_typed
from tests.sampling import sampled
from tests.terminal.desk import Hand, at_desk
from tests.terminal.settling import settle
from tests.terminal.test_bench_screen import QUICK

Keys = tuple[str, ...]

APART_S = 0.1
"""How far apart the keys were struck, however they arrive. [s]"""

PROMPTS = ("n", "w", "s", "t", "x", "i")
ANSWERS = ("2 press -1", "3", "two words", "räume", "x.svg", "a.trace", "", " ")
EDITS = ("backspace", "left", "right", "home", "end", "delete", "ctrl+u", "up")
FOUND = ("note on", "look", "size", "nothing like it", "save the events so far as a trace")
HELP = ("question_mark", "f1")
TURNS = ("right", "left", "up", "down", "pageup", "comma", "full_stop", "enter", "space", "1", "2", "c", "z", "home")


def typed(text: str) -> Keys:
    """Give the keys that write a text."""
    return tuple("space" if character == " " else character for character in text)


def piece(chance: random.Random) -> Keys:
    """Make up what somebody may do next, wherever they are."""
    edits = tuple(chance.choices(EDITS, k=chance.choice((0, 0, 1, 2))))
    match chance.randrange(6):
        case 0 | 1:
            ends = chance.choice((("enter",), ("escape",), ("enter", "escape"), ()))
            return (chance.choice(PROMPTS), *edits, *typed(chance.choice(ANSWERS)), *edits, *ends)
        case 2:
            return (chance.choice(HELP), *chance.choices(("down", "x", "end"), k=2), chance.choice(("escape", "enter")))
        case 3:
            ends = chance.choice((("enter",), ("down", "enter"), ("escape",)))
            return (chance.choice(("colon", "ctrl+p")), *typed(chance.choice(FOUND)), *ends)
        case 4:
            return ("e", *chance.choices(("up", "down", "right", "left", "comma", "n"), k=4), "escape")
    return tuple(chance.choices(TURNS, k=chance.randrange(1, 6)))


def burst(seed: int) -> Keys:
    """Make up what somebody does without looking."""
    chance = random.Random(seed)
    return tuple(key for _ in range(chance.randrange(2, 8)) for key in piece(chance))


def struck(keys: Sequence[str]) -> list[events.Key]:
    """Make the events of keys."""
    shown = {"space": " ", "enter": "\r", "question_mark": "?", "colon": ":", "comma": ",", "full_stop": "."}
    shown |= {"backspace": "\x7f"}
    began_s = time() - APART_S * len(keys)
    made = []
    for number, key in enumerate(keys):
        event = events.Key(key, shown.get(key, key if len(key) == 1 else None))
        event.time = began_s + APART_S * number
        made.append(event)
    return made


def state(hand: Hand) -> dict[str, object]:
    """Return what came of it all."""
    desk, front = hand.desk, hand.app.screen
    lines = [line.value for line in front.query(Input)] if hand.app.is_running else []
    bench = desk.bench.trial if desk.bench is not None else None
    return {
        "running": hand.app.is_running,
        "front": [type(screen).__name__ for screen in hand.app.screen_stack],
        "written": lines,
        "events": [attrs.evolve(event, at_ms=0) for event in desk.session.list_events()],
        "moment": (desk.session.history.number, desk.session.history.last, desk.session.history.branches),
        "notes": [(note.number, note.text) for note in desk.session.notes],
        "shown": (desk.panes, desk.palette.name, desk.least),
        "chain": desk.chain,
        "bench": None if bench is None else (bench.chain, bench.number, bench.seed),
        "files": sorted(path.name for path in Path().iterdir()),
    }


async def outcome(file: Path, keys: Sequence[str], pause: bool) -> dict[str, object]:
    """Type keys, all at once or one at a time, and return what came of them."""
    before = {path.name for path in Path().iterdir()}
    async with at_desk([file]) as hand:
        hand.desk.chain = NamedChain(QUICK, "quick")
        # Device time stands still, as it would go further with pauses.
        await hand.key("f")
        if pause:
            for event in struck(keys):
                hand.app.post_message(event)
                await rest(hand)
        else:
            for message in join_typed(struck(keys)):
                hand.app.post_message(message)
        await rest(hand)
        found = state(hand)
    for path in Path().iterdir():
        if path.name not in before:
            path.unlink()
    return found


async def rest(hand: Hand) -> None:
    """Let a key do all that it does, also what it searches for in the background."""
    if not hand.app.is_running:
        return
    await hand.settle()
    while any(worker.group.startswith("--") and not worker.is_finished for worker in hand.app.workers):
        await asyncio.sleep(0.005)
    await hand.settle()


@pytest.fixture
def still_file(kiln: Design, kiln_file: Path) -> Path:
    """The kiln, which does nothing by itself."""
    save(attrs.evolve(kiln, idle=Idle(), save_after_ms=0), kiln_file)
    return kiln_file


async def test_what_waits_for_a_simulated_press_comes_before_what_is_typed_after_the_press(still_file: Path) -> None:
    """A press that is simulated takes its time, here a long one; its end is not seen before the next key comes."""
    async with at_desk([still_file]) as hand:
        await hand.key("right", "right", "right")
        press, back, on = struck(("l", "comma", "full_stop"))
        on.time += 5
        for event in (press, back, on):
            hand.app.post_message(event)
        await hand.settle()

        assert hand.desk.session.history.number == hand.desk.session.history.last


@pytest.mark.parametrize("seed", range(sampled(400, 12)))
async def test_keys_at_once_do_what_they_do_one_at_a_time(still_file: Path, seed: int) -> None:
    keys = burst(seed)

    assert await outcome(still_file, keys, pause=False) == await outcome(still_file, keys, pause=True), keys


class Busy(ModalScreen[None]):
    """A screen that works on each key for a while, and is closed by anybody while it does."""

    def compose(self) -> ComposeResult:
        yield Input()

    async def on_key(self, event: events.Key) -> None:
        await asyncio.sleep(0.01)
        if event.key == "enter" and self.is_current:
            self.dismiss(None)
        elif event.key == "f2" and self.app.screen.query(Input):
            self.app.screen.query_one(Input).remove()


class Closing(TerminalApp[None]):
    """An app whose screens come and go while keys are under way to them."""

    def __init__(self) -> None:
        super().__init__(None)
        self.struck: list[str] = []

    def on_key(self, event: events.Key) -> None:
        if event.key == "f3":
            self.push_screen(Busy())
        elif event.key == "f4":
            self.set_timer(0.005, self._close)
        elif event.key.startswith("g"):
            self.struck.append(event.key)

    def _close(self) -> None:
        while len(self.screen_stack) > 1:
            self.pop_screen()


@pytest.mark.parametrize("seed", range(sampled(100, 10)))
async def test_no_key_waits_for_a_screen_that_is_gone(seed: int) -> None:
    """Screens and widgets are removed by a key, behind a key that is still under way, and by a timer."""
    chance = random.Random(seed)
    keys = chance.choices(("f3", "f4", "f2", "enter", "a", "escape", "tab"), k=40)
    app = Closing()
    async with app.run_test() as pilot:
        for event in join_typed(struck(keys)):
            app.post_message(event)
            if chance.random() < 0.3:
                await asyncio.sleep(chance.random() * 0.01)
        await settle(pilot)
        app._close()
        await pilot.pause(0)
        for event in struck(("g", "g")):
            app.post_message(event)
        await settle(pilot)

        assert app.struck == ["g", "g"], keys


class Endless(Screen[None]):
    """A screen whose search never ends."""

    async def search_ends(self) -> None:
        await asyncio.Event().wait()


async def test_a_key_does_not_wait_for_ever_for_a_search(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("knobmenu.terminal.backend.queue.LONGEST_SEARCH_S", 0.05)
    app = Closing()
    async with app.run_test() as pilot:
        await app.push_screen(Endless())
        for event in struck(("g", "enter", "g")):
            app.post_message(event)
        await settle(pilot)

        assert app.struck == ["g", "g"]


async def test_a_key_behind_a_click_comes_after_it() -> None:
    """The click goes through the queue of the widget below the mouse; the key goes to the screen itself."""
    happened: list[str] = []

    class Clicked(Screen[None]):
        def compose(self) -> ComposeResult:
            yield Static("here")

        def on_mouse_down(self) -> None:
            happened.append("click")

        def on_key(self, event: events.Key) -> None:
            happened.append(event.key)

    app = Closing()
    async with app.run_test() as pilot:
        await app.push_screen(Clicked())
        await settle(pilot)
        place = {"x": 1, "y": 1, "delta_x": 0, "delta_y": 0, "shift": False, "meta": False, "ctrl": False}
        for _ in range(5):
            app.post_message(events.MouseDown(None, button=1, **place))  # type: ignore[arg-type]
            app.post_message(events.Key("a", "a"))
        await settle(pilot)

        assert happened == ["click", "a"] * 5
