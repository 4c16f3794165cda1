"""The design's file is changed while the app runs."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from statistics import median

import pytest

from knobmenu.files.watching import SETTLE_MS
from knobmenu.terminal.desk import reloading
from tests.files.test_watching import SAVES, replace_by_renaming, write_plainly
from tests.terminal.clock import Clock
from tests.terminal.desk import Hand, at_desk

WITHIN_S = 0.2
"""A saved file is to be seen within this time. [s]"""


async def watched(hand: Hand) -> None:
    """Wait until the file is watched, which begins a moment after the app does."""
    await hand.pilot.pause(0.3)


def renamed(text: str, name: str) -> str:
    assert 'left = "Kiln"' in text
    return text.replace('left = "Kiln"', f'left = "{name}"')


@pytest.mark.parametrize("save", SAVES, ids=lambda save: save.__name__)
async def test_a_saved_change_is_seen_soon_and_place_and_values_are_kept(
    kiln_file: Path, clock: Clock, save: Callable[[Path, str], None]
) -> None:
    """Five saves; the median counts, since the machine may be busy."""
    text = kiln_file.read_text(encoding="utf-8")
    async with at_desk([kiln_file]) as hand:
        await watched(hand)
        await hand.key("right")
        clock.later(400)
        await hand.key("right")
        took = []
        for number in range(5):
            name = f"Oven {number}"
            save(kiln_file, renamed(text, name))
            took.append(await hand.until(lambda name=name: name in hand.screen()[0]))  # type: ignore[misc]
            await hand.pilot.pause(0.05)
        assert median(took) <= WITHIN_S, took
        assert "42 %" in hand.screen()[1]
        assert "read again, place and values kept" in hand.shows("header")
        assert "design changed" in hand.shows("events")


async def test_a_broken_file_shows_where_it_is_broken_and_the_last_good_design_goes_on(
    kiln_file: Path, clock: Clock
) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    line = 1 + text.split("\n").index(next(one for one in text.split("\n") if one.startswith("high = ")))
    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)
        await hand.key("right")
        kiln_file.write_text(text.replace("high = 100", 'high = "much"'), encoding="utf-8")
        await hand.until(lambda: bool(hand.shows("problems")))
        assert f"broken at line {line}; the last good design stays" in hand.shows("header")
        assert f"kiln.toml:{line}: settings.warm.high: expected" in hand.shows("problems")
        clock.later(400)
        await hand.key("right", "space")
        assert ">Warm" in hand.screen()[0]
        kiln_file.write_text(renamed(text, "Oven"), encoding="utf-8")
        await hand.until(lambda: not hand.shows("problems"))
        assert "read again, place and values kept" in hand.shows("header")
        assert hand.shows("events")
        assert hand.screen()[0] == ">Warm       42 %"


async def test_a_file_that_is_mended_to_what_it_was_is_said_to_be_good(kiln_file: Path) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)
        moments = hand.desk.session.history.last
        kiln_file.write_text("= not toml", encoding="utf-8")
        await hand.until(lambda: bool(hand.shows("problems")))
        kiln_file.write_text(text, encoding="utf-8")
        await hand.until(lambda: "good again, and as it was" in hand.shows("header"))
        assert hand.desk.session.history.last == moments


async def test_a_file_that_is_taken_away_is_said_and_seen_again_when_it_is_back(kiln_file: Path) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)
        kiln_file.unlink()
        await hand.until(lambda: bool(hand.shows("problems")))
        assert "kiln.toml" in hand.shows("problems")
        await hand.key("right")
        assert "41 %" in hand.screen()[1]
        write_plainly(kiln_file, renamed(text, "Oven"))
        await hand.until(lambda: "Oven" in hand.screen()[0])
        assert not hand.shows("problems")


async def test_a_file_that_is_written_in_two_parts_is_never_said_to_be_broken(kiln_file: Path) -> None:
    text = renamed(kiln_file.read_text(encoding="utf-8"), "Oven")
    said = set()
    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)

        def oven() -> bool:
            said.add(hand.shows("header"))
            return "Oven" in hand.screen()[0]

        with kiln_file.open("w", encoding="utf-8") as file:
            file.write(text[: len(text) // 2])
            file.flush()
            await hand.pilot.pause(0.12)
            file.write(text[len(text) // 2 :])
        await hand.until(oven)
        assert not [head for head in said if "broken" in head]


async def test_nothing_flickers_while_a_file_is_broken_for_less_than_it_takes_to_settle(kiln_file: Path) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)
        before = hand.shows("header")
        kiln_file.write_text(text[:40], encoding="utf-8")
        await hand.pilot.pause(SETTLE_MS / 2000)
        replace_by_renaming(kiln_file, text)
        await hand.pilot.pause(SETTLE_MS / 1000 + 0.3)
        assert hand.shows("header") == before
        assert not hand.shows("problems")


async def test_what_a_changed_design_cannot_take_is_said(kiln_file: Path) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    async with at_desk([kiln_file], (200, 50)) as hand:
        await watched(hand)
        await hand.key("pageup", "pageup")
        assert "100 %" in hand.screen()[1]
        write_plainly(kiln_file, text.replace("high = 100", "high = 50").replace("value = 60", "value = 50"))
        await hand.until(lambda: "read again, but" in hand.shows("header"))
        assert "warm" in hand.shows("header")


async def test_of_two_variants_only_the_changed_one_is_read_again(kiln_file: Path) -> None:
    other = kiln_file.with_name("other.toml")
    text = kiln_file.read_text(encoding="utf-8")
    other.write_text(text, encoding="utf-8")
    async with at_desk([kiln_file, other], (120, 40)) as hand:
        await watched(hand)
        assert "= same" in hand.shows("device-1")
        replace_by_renaming(other, renamed(text, "Oven"))
        await hand.until(lambda: "Oven" in hand.screen(1)[0])
        assert "Oven" not in hand.screen(0)[0]
        assert "B is read again" in hand.shows("header")
        assert "≠ 1 of 2 rows" in hand.shows("device-1")


async def test_a_step_in_the_past_is_shown_in_the_changed_design(kiln_file: Path, clock: Clock) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)
        await hand.key("right")
        clock.later(400)
        await hand.key("right", "comma")
        write_plainly(kiln_file, renamed(text, "Oven"))
        await hand.until(lambda: "Oven" in hand.screen()[0])
        assert "41 %" in hand.screen()[1]
        assert "in the past" in hand.shows("bar")
        await hand.key("full_stop")
        assert "42 %" in hand.screen()[1]
        assert "Oven" in hand.screen()[0]


async def test_a_changed_design_is_checked_and_the_open_findings_are_counted(kiln_file: Path, clock: Clock) -> None:
    """The kiln idles after 5 s, sooner than published guidance."""
    text = kiln_file.read_text(encoding="utf-8")
    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)
        write_plainly(kiln_file, renamed(text, "Oven"))
        await hand.until(lambda: "read again, place and values kept; check: 1 warning" in hand.shows("header"))
        write_plainly(kiln_file, renamed(text, "Oven").replace("after_ms = 5000", "after_ms = 20000"))
        await hand.until(lambda: "check" not in hand.shows("header"))


async def test_an_unexpected_error_is_said_and_reloading_goes_on(
    kiln_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    real = reloading.reload

    async def failing(*_: object) -> None:
        raise RuntimeError("a mistake of the program")

    async with at_desk([kiln_file], (120, 40)) as hand:
        await watched(hand)
        monkeypatch.setattr(reloading, "reload", failing)
        write_plainly(kiln_file, renamed(text, "Oven"))
        said = "reloading failed: RuntimeError: a mistake of the program; it is tried again"
        await hand.until(lambda: said in hand.shows("header"))
        monkeypatch.setattr(reloading, "reload", real)
        await hand.until(lambda: "Oven" in hand.screen()[0])
        replace_by_renaming(kiln_file, renamed(text, "Hearth"))
        await hand.until(lambda: "Hearth" in hand.screen()[0])


async def test_a_task_that_fails_behind_a_key_says_so(kiln_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def failing(*_: object) -> None:
        raise ValueError

    async with at_desk([kiln_file], (120, 40)) as hand:
        monkeypatch.setattr(reloading, "reload", failing)
        await hand.key("r")
        await hand.until(lambda: "reload failed: ValueError" in hand.shows("header"))


async def test_a_folder_that_is_deleted_and_made_again_is_watched_on(kiln_file: Path) -> None:
    text = kiln_file.read_text(encoding="utf-8")
    folder = kiln_file.parent / "designs"
    folder.mkdir()
    path = folder / "kiln.toml"
    path.write_text(text, encoding="utf-8")
    async with at_desk([path], (120, 40)) as hand:
        await watched(hand)
        await hand.key("right")
        shutil.rmtree(folder)
        await hand.until(lambda: "broken; the last good design stays" in hand.shows("header"))
        assert "41 %" in hand.screen()[1]
        for name in ("Oven", "Hearth", "Forge"):
            if not folder.exists():
                folder.mkdir()
            write_plainly(path, renamed(text, name))
            await hand.until(lambda name=name: name in hand.screen()[0])  # type: ignore[misc]
        assert "41 %" in hand.screen()[1]
