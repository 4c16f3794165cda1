"""A design's file is read again when it changed, however it was saved, and is broken only when it stays broken."""

from __future__ import annotations

import asyncio
import shutil
import time
from collections.abc import AsyncIterator, Callable
from itertools import pairwise
from pathlib import Path

import pytest

from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem
from knobmenu.files import watching
from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads
from knobmenu.files.watching import SETTLE_MS, follow, read_settled, watch_changes


@pytest.fixture(scope="module")
def kiln() -> Design:
    """Any design."""
    return loads(read_starter())


def write_plainly(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def replace_by_renaming(path: Path, text: str) -> None:
    """Write beside it and put that in its place: many editors save so (common practice)."""
    beside = path.with_name(f".{path.name}.tmp")
    beside.write_text(text, encoding="utf-8")
    beside.replace(path)


def replace_keeping_old(path: Path, text: str) -> None:
    """Move the old one away first, then write: so do others (common practice)."""
    path.replace(path.with_name(f"{path.name}~"))
    path.write_text(text, encoding="utf-8")


def write_again(path: Path, text: str) -> None:
    path.unlink()
    path.write_text(text, encoding="utf-8")


SAVES: tuple[Callable[[Path, str], None], ...] = (write_plainly, replace_by_renaming, replace_keeping_old, write_again)


@pytest.mark.parametrize("save", SAVES, ids=lambda save: save.__name__)
async def test_however_a_file_is_saved_it_is_seen(tmp_path: Path, save: Callable[[Path, str], None]) -> None:
    path = tmp_path / "one.toml"
    path.write_text("0", encoding="utf-8")
    (tmp_path / "beside.toml").write_text("0", encoding="utf-8")
    found = watch_changes((path,))
    try:
        first = asyncio.ensure_future(anext(found))
        await asyncio.sleep(0.3)
        (tmp_path / "beside.toml").write_text("1", encoding="utf-8")
        await asyncio.sleep(0.3)
        assert not first.done()
        save(path, "1")
        assert await asyncio.wait_for(first, 5) == {path}
    finally:
        await found.aclose()  # type: ignore[attr-defined]


async def test_a_file_named_in_another_way_is_told_by_its_own_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    path = Path("one.toml")
    path.write_text("0", encoding="utf-8")
    found = watch_changes((path,))
    try:
        first = asyncio.ensure_future(anext(found))
        await asyncio.sleep(0.3)
        path.write_text("1", encoding="utf-8")
        assert await asyncio.wait_for(first, 5) == {path}
    finally:
        await found.aclose()  # type: ignore[attr-defined]


PROBLEM = DesignError([Problem("name", "nothing", "a name")])


async def test_a_file_that_is_good_is_read_once(kiln: Design) -> None:
    asked: list[Path] = []

    def read(path: Path) -> Design:
        asked.append(path)
        return kiln

    assert await read_settled(Path("x"), read) is kiln
    assert asked == [Path("x")]


async def test_a_file_that_is_half_written_is_waited_for(kiln: Design) -> None:
    tries = 0

    def read(_: Path) -> Design:
        nonlocal tries
        tries += 1
        if tries < 4:
            raise PROBLEM
        return kiln

    assert await read_settled(Path("x"), read) is kiln
    assert tries == 4


async def test_a_file_that_stays_broken_is_broken_after_a_while() -> None:
    def read(_: Path) -> Design:
        raise PROBLEM

    began = time.monotonic()
    with pytest.raises(DesignError):
        await read_settled(Path("x"), read)
    assert time.monotonic() - began >= SETTLE_MS / 1000 * 0.95


# A folder that is not the one it was. Nothing reports that its watch is gone.


def delete_and_make_again(folder: Path) -> None:
    shutil.rmtree(folder)
    folder.mkdir()


def move_away_and_make_again(folder: Path) -> None:
    folder.rename(folder.with_name("before"))
    folder.mkdir()


def replace_by_link(folder: Path) -> None:
    move_away_and_make_again(folder)
    folder.rmdir()
    real = folder.with_name("real")
    real.mkdir()
    folder.symlink_to(real, target_is_directory=True)


@pytest.mark.parametrize(
    "replace",
    [delete_and_make_again, move_away_and_make_again, replace_by_link],
    ids=lambda replace: replace.__name__,
)
@pytest.mark.parametrize("gone_s", [0.0, 0.7], ids=["quickly", "slowly"])
async def test_a_folder_that_is_another_one_is_watched_on(
    tmp_path: Path, replace: Callable[[Path], None], gone_s: float
) -> None:
    folder = tmp_path / "designs"
    folder.mkdir()
    path = folder / "one.toml"
    path.write_text("0", encoding="utf-8")
    found = watch_changes((path,))
    try:
        first = asyncio.ensure_future(anext(found))
        await asyncio.sleep(0.2)
        replace(folder)
        await asyncio.sleep(gone_s)
        path.write_text("1", encoding="utf-8")
        assert await asyncio.wait_for(first, 5) == {path}
        # More than once: each save after that is seen, too, and not by chance with the first.
        for number in range(2, 5):
            await asyncio.sleep(0.7)
            following = asyncio.ensure_future(anext(found))
            await asyncio.sleep(0.1)
            path.write_text("1" * number, encoding="utf-8")
            assert await asyncio.wait_for(following, 5) == {path}
    finally:
        await found.aclose()  # type: ignore[attr-defined]


async def test_changed_permissions_are_seen(tmp_path: Path) -> None:
    path = tmp_path / "one.toml"
    path.write_text("0", encoding="utf-8")
    found = watch_changes((path,))
    try:
        for mode in (0o000, 0o644):
            following = asyncio.ensure_future(anext(found))
            await asyncio.sleep(0.2)
            path.chmod(mode)
            assert await asyncio.wait_for(following, 5) == {path}
    finally:
        await found.aclose()  # type: ignore[attr-defined]


async def test_a_file_that_a_link_leads_to_is_seen_where_it_is(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "links").mkdir()
    real, link = tmp_path / "real" / "design.toml", tmp_path / "links" / "one.toml"
    real.write_text("0", encoding="utf-8")
    link.symlink_to(real)
    found = watch_changes((link,))
    try:
        following = asyncio.ensure_future(anext(found))
        await asyncio.sleep(0.2)
        real.write_text("1", encoding="utf-8")
        assert await asyncio.wait_for(following, 0.4) == {link}, "reported, before the files are checked"
    finally:
        await found.aclose()  # type: ignore[attr-defined]


# Whatever fails is reported, and watching goes on.


@pytest.fixture
def short_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(watching, "_FIRST_PAUSE_S", 0.01)
    monkeypatch.setattr(watching, "_LONGEST_PAUSE_S", 0.04)


@pytest.mark.usefixtures("short_pauses")
async def test_a_watcher_that_fails_is_reported_and_begins_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "one.toml"
    path.write_text("0", encoding="utf-8")
    real, fails = watching.watch_changes, 3
    times: list[float] = []
    seen: list[set[Path]] = []
    failures: list[Exception] = []

    async def failing(paths: tuple[Path, ...]) -> AsyncIterator[set[Path]]:
        times.append(time.monotonic())
        if len(times) <= fails:
            raise OSError(28, "inotify watch limit reached")
        async for some in real(paths):
            yield some

    async def changed(paths: set[Path]) -> None:
        seen.append(paths)

    monkeypatch.setattr(watching, "watch_changes", failing)
    task = asyncio.ensure_future(follow((path,), changed, failures.append))
    try:
        async with asyncio.timeout(5):
            while len(times) <= fails:
                await asyncio.sleep(0.01)
            assert [str(error) for error in failures] == ["[Errno 28] inotify watch limit reached"] * fails
            assert seen == [{path}] * fails, "what changed unseen is read each time"
            pauses = [after - before for before, after in pairwise(times)]
            assert pauses[0] >= 0.01
            assert pauses[1] >= 0.02
            await asyncio.sleep(0.2)
            path.write_text("1", encoding="utf-8")
            while len(seen) == fails:
                await asyncio.sleep(0.01)
    finally:
        task.cancel()
    assert not task.done()


@pytest.mark.usefixtures("short_pauses")
async def test_a_change_that_cannot_be_taken_is_reported_and_the_next_one_is(tmp_path: Path) -> None:
    path = tmp_path / "one.toml"
    path.write_text("0", encoding="utf-8")
    taken: list[str] = []
    failures: list[Exception] = []

    async def changed(_: set[Path]) -> None:
        text = path.read_text(encoding="utf-8")
        if text == "bad":
            raise RuntimeError("a mistake of the program")
        taken.append(text)

    task = asyncio.ensure_future(follow((path,), changed, failures.append))
    try:
        async with asyncio.timeout(5):
            await asyncio.sleep(0.2)
            path.write_text("bad", encoding="utf-8")
            while not failures:
                await asyncio.sleep(0.01)
            path.write_text("good", encoding="utf-8")
            while taken[-1:] != ["good"]:
                await asyncio.sleep(0.01)
    finally:
        task.cancel()
    assert str(failures[0]) == "a mistake of the program"
