"""The bench's screen worked by keys and mouse, alone and from the desk."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path

import attrs
import pytest
from textual import events
from textual.app import App
from textual.pilot import Pilot
from textual.widgets import Label

from knobmenu.bench.chain import Chain, Judging, Turning
from knobmenu.bench.chain_file import load, write_toml
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.judging import Answer, judge_chain
from knobmenu.bench.reader import Reader
from knobmenu.bench.scope import View
from knobmenu.bench.simulated import NamedChain
from knobmenu.cli.main import main
from knobmenu.design.whole import Design
from knobmenu.files.kept import list_kept
from knobmenu.picture.palettes import DARK, LIGHT
from knobmenu.terminal.bench import screen
from knobmenu.terminal.bench.app import BenchApp
from knobmenu.terminal.bench.keys import BENCH_BY_KEY, BENCH_KEYS
from knobmenu.terminal.bench.screen import BenchScreen, keep_chain
from knobmenu.terminal.prompts.help import Help
from knobmenu.terminal.prompts.prompt import Prompt
from tests.terminal.desk import Hand, at_desk
from tests.terminal.person import Person

QUICK = Chain(
    turning=Turning(detents=4),
    contact=PRESETS["clean"],
    reader=Reader(kind="interrupt"),
    judging=Judging(seeds=2),
)
"""A chain that is judged in no time."""


class Bench(Person[App[object]]):
    """Somebody at the bench."""

    def __init__(self, app: App[object], pilot: Pilot[object], bench: BenchScreen) -> None:
        super().__init__(app, pilot)
        self.bench = bench

    async def judged(self) -> None:
        """Wait until everything is found out about the chain as it is."""
        for _ in range(1000):
            if self.bench.trial.is_judged:
                break
            await self.pilot.pause(0.01)
        await self.settle()

    @property
    def chain(self) -> Chain:
        """The chain as it is."""
        return self.bench.trial.chain

    def shows(self, name: str) -> str:
        """Read what one thing shows."""
        return self.bench.shown(name)

    async def choose(self, path: str) -> None:
        """Choose a knob by the keys."""
        paths = [one.path for one in self.bench.trial.parameters]
        way = paths.index(path) - self.bench.trial.number
        await self.key(*["down" if way > 0 else "up"] * abs(way))


@asynccontextmanager
async def at_bench(chain: Chain = QUICK, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Bench]:
    """Sit down at the bench."""
    app = BenchApp(NamedChain(chain, "mine.toml"), DARK)
    async with app.run_test(size=size) as pilot:
        hand = Bench(app, pilot, app.bench)  # type: ignore[arg-type]
        await hand.settle()
        await hand.judged()
        yield hand


Check = Callable[[Bench, str], Awaitable[None]]
CHECKS: dict[str, Check] = {}
"""For each thing that keys do, what must become of it."""


def checks(does: str) -> Callable[[Check], Check]:
    """Enter a check for one thing that keys do."""

    def entered(check: Check) -> Check:
        CHECKS[does] = check
        return check

    return entered


@pytest.mark.parametrize(
    ("does", "name"), [pytest.param(key.does, name, id=f"{key.does}-{name}") for key in BENCH_KEYS for name in key.keys]
)
async def test_a_key_does_what_its_words_say(
    does: str, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with at_bench() as hand:
        await CHECKS[does](hand, name)


@checks("choose_after")
async def _(hand: Bench, name: str) -> None:
    await hand.key(name, name)
    assert "→ pulses a turn" in hand.shows("knobs")
    await hand.key(*[name] * 50)
    assert "→ error rate" in hand.shows("knobs")


@checks("choose_before")
async def _(hand: Bench, name: str) -> None:
    await hand.key("down", "down", name)
    assert "→ speed" in hand.shows("knobs")
    await hand.key(name, name, name)
    assert "→ motion" in hand.shows("knobs")


@checks("more")
async def _(hand: Bench, name: str) -> None:
    await hand.choose("filter.pull_up_ohm")
    await hand.key(name, name)
    assert hand.chain.filter.pull_up_ohm == 15_000
    assert "pull-up: 15 kΩ" in hand.shows("head")
    assert "(changed)" in hand.shows("head")


def to_pull_up(value_ohm: float) -> Check:
    """Return a check that a key changes the pull-up, 10 kΩ, to another value."""

    async def check(hand: Bench, name: str) -> None:
        await hand.choose("filter.pull_up_ohm")
        await hand.key(name)
        assert hand.chain.filter.pull_up_ohm == value_ohm

    return check


checks("less")(to_pull_up(8_200))
checks("much_more")(to_pull_up(27_000))
checks("much_less")(to_pull_up(3_900))


@checks("back")
async def _(hand: Bench, name: str) -> None:
    await hand.key("down", "right", "right", name)
    assert hand.chain.turning.turns_per_s == 1.5
    await hand.key(name, name)
    assert hand.chain is hand.bench.trial.chains[0]
    assert "nothing to undo" in hand.shows("head")


@checks("on")
async def _(hand: Bench, name: str) -> None:
    await hand.key("down", "right", "right", "comma", "comma", name)
    assert hand.chain.turning.turns_per_s == 1.5


def to_view(is_right: Callable[[View, View], bool], *keys: str) -> Check:
    """Return a check that a key, after others, shows another part of the run; it is given both parts in turn."""

    async def check(hand: Bench, name: str) -> None:
        before = hand.bench.trial.seen
        await hand.key(*keys, name)
        after = hand.bench.trial.seen
        assert before is not None
        assert after is not None
        assert is_right(before, after), (before, after)

    return check


checks("closer")(to_view(lambda before, after: after.length_s == pytest.approx(before.length_s / 2)))
checks("wider")(to_view(lambda before, after: after.length_s == pytest.approx(before.length_s * 2)))
checks("earlier")(to_view(lambda before, after: after.begin_s < before.begin_s))
checks("later")(to_view(lambda before, after: after.begin_s > before.begin_s, "plus"))


@checks("first")
async def _(hand: Bench, name: str) -> None:
    before = hand.shows("waves")
    await hand.key("plus", "greater_than_sign", name)
    assert hand.shows("waves") == before


@checks("apply_remedy")
async def _(hand: Bench, name: str) -> None:
    before = hand.chain
    await hand.judged()
    await hand.key(name)
    plan = hand.bench.trial.found.plan
    assert plan is not None
    assert hand.chain is (plan.proposals[0].chain if plan.proposals else before)


@checks("draw")
async def _(hand: Bench, name: str) -> None:
    first, verdict, table = hand.bench.trial.found.run, hand.bench.trial.found.verdict, hand.shows("table")
    await hand.key(name)
    for _ in range(200):
        if hand.bench.trial.found.run is not first:
            break
        await hand.pilot.pause(0.01)
    assert hand.bench.trial.found.run is not first
    await hand.settle()
    assert "run 2" in hand.shows("waves")
    # Another draw says nothing new about all runs together.
    assert hand.shows("table") == table
    assert hand.bench.trial.found.verdict is verdict


@checks("save_chain")
async def _(hand: Bench, name: str) -> None:
    await hand.key("down", "right", name)
    await hand.write("kept.toml")
    assert " kept.toml   kept.toml is written" in hand.shows("head")
    assert load(Path("kept.toml")) == hand.chain
    kept = Path("kept.toml").read_text(encoding="utf-8")
    await hand.key("right", name)
    assert "kept.toml (changed)" in hand.shows("head")
    await hand.write("kept.toml")
    assert "an existing file" in str(hand.app.screen.query_one(".wrong", Label).render())
    assert Path("kept.toml").read_text(encoding="utf-8") == kept
    await hand.pilot.press("escape")
    await hand.key(name)
    await hand.pilot.press("enter")
    await hand.settle()
    assert load(Path("kept-2.toml")) == hand.chain
    assert sorted(path.name for path in Path().iterdir()) == ["kept-2.toml", "kept.toml"]
    await hand.key("comma")
    assert "kept-2.toml (changed)" in hand.shows("head")


@checks("resume")
async def _(hand: Bench, name: str) -> None:
    await hand.key(name)
    assert "every earlier chain is saved" in hand.shows("head")
    changed = attrs.evolve(QUICK, turning=attrs.evolve(QUICK.turning, turns_per_s=1.5))
    earlier = keep_chain(QUICK, [""])
    earlier.take(write_toml(changed))
    await hand.key(name)
    assert "every earlier chain is saved" in hand.shows("head"), "it is on another bench now"
    earlier.close()

    await hand.key(name)

    assert hand.chain == changed
    assert "the chain of" in hand.shows("head")
    await hand.key(name)
    assert "every earlier chain is saved" in hand.shows("head"), "it is this one now"
    await hand.key("comma")
    assert hand.chain == QUICK


@checks("picture")
async def _(hand: Bench, name: str) -> None:
    await hand.key(name)
    await hand.pilot.press("enter")
    await hand.settle()
    drawn = Path("mine.svg").read_text(encoding="utf-8")
    assert drawn.startswith("<svg")
    assert "contact" in drawn


@checks("look")
async def _(hand: Bench, name: str) -> None:
    await hand.key(name)
    assert "look: light" in hand.shows("head")
    assert hand.app.theme == "light"


@checks("commands")
async def _(hand: Bench, name: str) -> None:
    await hand.key(name)
    await hand.pilot.pause(0.1)
    assert hand.app.screen is not hand.bench
    await hand.pilot.press(*"another", "enter")
    await hand.pilot.pause(0.3)
    await hand.settle()
    assert hand.bench.trial.seed == 2


@checks("help")
async def _(hand: Bench, name: str) -> None:
    await hand.key(name)
    assert isinstance(hand.app.screen, Help)
    await hand.pilot.press("escape")
    assert not isinstance(hand.app.screen, Help)


@checks("leave")
async def _(hand: Bench, name: str) -> None:
    await hand.key("down", "right", name)
    assert "not saved: s saves it, the same key leaves" in hand.shows("head")
    await hand.key(name)
    await hand.pilot.pause(0.1)
    left = hand.app.return_value
    assert left is not None
    assert left.changed  # type: ignore[attr-defined]
    assert left.named.chain.turning.turns_per_s == 1.5  # type: ignore[attr-defined]


def test_every_key_has_a_check_and_no_check_is_of_a_key_that_is_gone() -> None:
    assert {key.does for key in BENCH_KEYS} == set(CHECKS)
    assert len(BENCH_BY_KEY) == sum(len(key.keys) for key in BENCH_KEYS)


async def test_the_wheel_turns_and_a_click_chooses() -> None:
    async with at_bench() as hand:
        await hand.pilot._post_mouse_events([events.MouseDown], offset=(5, 3), button=1)
        await hand.settle()
        assert "→ speed" in hand.shows("knobs")
        await hand.pilot._post_mouse_events([events.MouseScrollUp], offset=(60, 10), button=0)
        await hand.settle()
        assert hand.chain.turning.turns_per_s == 1.5
        await hand.pilot._post_mouse_events([events.MouseScrollDown], offset=(5, 5), button=0)
        await hand.settle()
        assert hand.chain.turning.turns_per_s == 1.0
        await hand.pilot._post_mouse_events([events.MouseDown], offset=(60, 10), button=1)
        await hand.settle()
        assert "→ speed" in hand.shows("knobs")


async def test_a_step_that_cannot_be_is_refused_with_its_reason_and_nothing_is_judged_anew() -> None:
    async with at_bench() as hand:
        verdict = hand.bench.trial.found.verdict
        await hand.choose("decoder.kind")
        await hand.key("right")
        assert "table is the last value offered" in hand.shows("head")
        assert hand.bench.trial.found.verdict is verdict
        assert hand.bench.trial.found.fresh == len(hand.bench.trial.found.rows)


async def test_everything_is_found_out_about_the_newest_chain_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Answers about a chain that was turned further meanwhile are dropped, and no two are asked for at once."""
    asked: list[Chain] = []
    at_once = threading.Semaphore(1)

    def slowly(chain: Chain, seed: int, report: Callable[[str], None]) -> Iterator[Answer]:
        asked.append(chain)
        for step in judge_chain(chain, seed, report):
            assert at_once.acquire(blocking=False)
            time.sleep(0.005)
            at_once.release()
            yield step

    monkeypatch.setattr(screen, "judge_chain", slowly)
    async with at_bench() as hand:
        await hand.key("down")
        for _ in range(5):
            await hand.key("right")
        await hand.key("left")
        newest = hand.chain
        await hand.judged()
        found = hand.bench.trial.found
        assert asked[-1] is newest
        assert found.verdict is not None
        assert found.verdict.chain is newest
        assert found.chain is newest
        assert found.fresh == len(found.rows)
        assert "before" not in hand.shows("advice") + hand.shows("waves")


async def test_keys_are_heard_while_something_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    busy, done = threading.Event(), threading.Event()

    def endless(chain: Chain, seed: int, report: Callable[[str], None]) -> Iterator[Answer]:
        yield next(judge_chain(chain, seed, report))
        report("thinking")
        busy.set()
        while not done.is_set():
            time.sleep(0.002)
            report("thinking")

    async with at_bench() as hand:
        monkeypatch.setattr(screen, "judge_chain", endless)
        await hand.key("down", "right")
        assert await asyncio.to_thread(busy.wait, 5)
        await hand.pilot.pause(0.3)
        assert "(thinking)" in hand.shows("advice")
        assert "before: " in hand.shows("advice")
        await hand.key("down", "right")
        assert "pulses a turn: 24" in hand.shows("head")
        done.set()


async def test_a_chain_that_takes_too_many_samples_says_so_and_the_next_one_is_judged_again() -> None:
    endless = attrs.evolve(
        QUICK,
        turning=Turning(kind="recorded", recorded_ms=(0.0, 1e8), recorded_detents=(0.0, 20_000.0)),
        reader=Reader(period_ms=0.001, debounce="equal", samples=1000),
    )
    app = BenchApp(NamedChain(endless, "mine.toml"), DARK)
    async with app.run_test(size=(80, 24)) as pilot:
        hand = Bench(app, pilot, app.bench)  # type: ignore[arg-type]
        for _ in range(300):
            if hand.bench.trial.found.fault:
                break
            await pilot.pause(0.01)
        await hand.settle()
        assert "samples" in hand.bench.trial.found.fault
        await hand.choose("reader.kind")
        await hand.key("right", "right")
        assert hand.chain.reader.kind == "interrupt"
        await hand.judged()
        assert hand.bench.trial.found.fault == ""
        assert "yes: right up to" in hand.shows("advice")


async def test_the_window_may_change_its_size_and_may_be_too_small() -> None:
    async with at_bench() as hand:
        await hand.pilot.resize_terminal(60, 18)
        await hand.settle()
        assert "at least 80 by 22 are needed" in hand.shows("small")
        await hand.key("down")
        await hand.pilot.resize_terminal(120, 40)
        await hand.settle()
        assert "→ speed" in hand.shows("knobs")
        assert "speed: The speed of the waveforms" in hand.shows("about")


async def test_keys_typed_ahead_reach_the_question_and_the_bench(tmp_path: Path, kiln: Design) -> None:
    async with at_desk([kiln], chain=NamedChain(QUICK, "mine.toml")) as hand:
        for name in ("e", "down", "right"):
            hand.app.post_message(events.Key(name, name if len(name) == 1 else None))
        await hand.pilot.pause(0.3)
        await hand.settle()
        assert hand.desk.bench is not None
        assert hand.desk.bench.trial.chain.turning.turns_per_s == 1.5
        hand.app.post_message(events.Key("s", "s"))
        hand.app.post_message(events.Key("escape", None))
        await hand.settle()
        assert not isinstance(hand.app.screen, Prompt)


async def test_a_name_that_is_typed_at_once_is_written_over_what_was_suggested(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with at_bench() as hand:
        for number in range(3):
            await hand.key("s", *f"kept{number}.toml", "enter")
            await hand.pilot.pause(0.1)
        assert sorted(path.name for path in tmp_path.iterdir()) == ["kept0.toml", "kept1.toml", "kept2.toml"]


async def test_editing_keys_among_letters_that_come_at_once_keep_their_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with at_bench() as hand:
        await hand.key("s")
        await hand.pilot.pause(0.1)
        keys = ("ctrl+u", *"abx", "backspace", "home", *"k-", "end", *"c.toml", "enter")
        for name in keys:
            hand.app.post_message(events.Key(name, name if len(name) == 1 else None))
        await hand.pilot.pause(0.2)
        assert [path.name for path in tmp_path.iterdir()] == ["k-abc.toml"]


async def came(hand: Hand) -> BenchScreen:
    for _ in range(100):
        if isinstance(hand.app.screen, BenchScreen):
            break
        await hand.pilot.pause(0.02)
    assert hand.desk.bench is hand.app.screen
    assert hand.desk.bench is not None
    return hand.desk.bench


async def test_e_goes_to_the_bench_and_the_simulated_encoder_takes_what_was_turned_there(kiln: Design) -> None:
    async with at_desk([kiln], chain=NamedChain(QUICK, "mine.toml")) as hand:
        await hand.key("e")
        bench = await came(hand)
        assert "mine.toml" in bench.shown("head")
        await hand.key("down", "right", "c", "q")
        await hand.settle()
        assert hand.app.screen is hand.desk
        assert hand.desk.bench is None
        assert hand.desk.palette is LIGHT
        assert hand.desk.simulated is not None
        assert hand.desk.simulated.named.chain.turning.turns_per_s == 1.5
        assert "the simulated encoder is mine.toml now" in hand.shows("header")


async def test_the_chain_of_the_bench_is_kept_for_when_the_simulated_encoder_is_used(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("e")
        bench = await came(hand)
        await hand.key("down", "right", "e")
        await hand.settle()
        assert hand.app.screen is hand.desk
        assert "simulated (k)" not in hand.shows("header")
        assert "k uses a simulated encoder with this chain" in hand.shows("header")
        await hand.key("k")
        assert hand.desk.simulated is not None
        assert hand.desk.simulated.named.chain is bench.trial.chain


async def test_the_palette_offers_what_the_screen_in_front_can_do(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        titles = {command.title for command in hand.app.get_system_commands(hand.app.screen)}
        assert "Write a note on this event" in titles
        await hand.key("e")
        await came(hand)
        titles = {command.title for command in hand.app.get_system_commands(hand.app.screen)}
        assert "Show a run with another random seed" in titles
        assert "Write a note on this event" not in titles


def test_without_a_terminal_the_bench_says_what_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bench", "live"]) == 1
    assert "Use knobmenu bench judge, which prints lines" in capsys.readouterr().err


async def test_an_unexpected_error_while_judging_is_said_and_the_next_chain_is_judged(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def failing(*_: object) -> None:
        raise RuntimeError("a mistake of the program")

    async with at_bench() as hand:
        monkeypatch.setattr(screen, "judge_chain", failing)
        await hand.key("right")
        for _ in range(500):
            if hand.bench.trial.found.fault:
                break
            await hand.pilot.pause(0.01)
        assert hand.bench.trial.found.fault == "RuntimeError: a mistake of the program"
        monkeypatch.setattr(screen, "judge_chain", judge_chain)
        await hand.key("right")
        await hand.judged()
        assert not hand.bench.trial.found.fault


def kept_chains() -> list[Chain]:
    return [load(path) for path in list_kept("chains")]


async def test_a_chain_is_kept_as_it_changes_until_it_is_saved(tmp_path: Path) -> None:
    async with at_bench() as hand:
        assert kept_chains() == []
        for name in ("right", "right", "down", "right", "comma"):
            await hand.key(name)
            assert kept_chains() == [hand.chain]
        await hand.key("comma", "comma")
        assert hand.chain == QUICK
        assert kept_chains() == [], "as it was opened, there is nothing to lose"
        await hand.key("right", "s")
        await hand.write(str(tmp_path / "saved.toml"))
        assert load(tmp_path / "saved.toml") == hand.chain
        assert kept_chains() == []
        await hand.key("right")
        assert kept_chains() == [hand.chain]


async def test_a_chain_that_was_left_is_offered_and_taken() -> None:
    async with at_bench() as hand:
        await hand.key("right", "q", "q")
        await hand.pilot.pause(0.1)
        left = hand.chain
    async with at_bench() as hand:
        assert "g loads the chain of" in hand.shows("head")
        assert hand.chain == QUICK
        await hand.key("g")
        assert hand.chain == left
        assert kept_chains() == [left]


async def test_a_chain_changed_behind_the_desk_is_kept_until_the_desk_is_left(kiln: Design) -> None:
    async with at_desk([kiln], (120, 40)) as hand:
        await hand.key("e")
        await hand.pilot.pause(0.1)
        await hand.key("right")
        assert hand.desk.bench is not None
        changed = hand.desk.bench.trial.chain
        await hand.key("q")
        await hand.pilot.pause(0.1)
        assert kept_chains() == [changed]
        await hand.key("e")
        await hand.pilot.pause(0.1)
        assert hand.desk.bench.trial.chain == changed
        assert "g loads" not in hand.desk.bench.shown("head"), "it is on this bench already"
    async with at_desk([kiln], (120, 40)) as hand:
        await hand.key("e")
        await hand.pilot.pause(0.1)
        assert hand.desk.bench is not None
        assert "g loads the chain of" in hand.desk.bench.shown("head")


async def test_a_chain_that_cannot_be_kept_is_said_and_the_bench_goes_on(state_home: Path) -> None:
    state_home.write_text("a file stands where the folder is to be")
    async with at_bench() as hand:
        await hand.key("right")
        assert "not kept: Not a directory" in hand.shows("head")
        assert hand.chain != QUICK
