"""A design's file is read again when it changed, however it was saved, and is broken only when it stays broken."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem
from knobmenu.files.starter import starter_text
from knobmenu.files.toml import loads
from knobmenu.files.watching import SETTLE_MS, changes, settled


@pytest.fixture(scope="module")
def kiln() -> Design:
    """Any design."""
    return loads(starter_text())


def plainly(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def by_renaming(path: Path, text: str) -> None:
    """Write beside it and put that in its place: many editors save so (common practice)."""
    beside = path.with_name(f".{path.name}.tmp")
    beside.write_text(text, encoding="utf-8")
    beside.replace(path)


def keeping_the_old(path: Path, text: str) -> None:
    """Move the old one away first, then write: so do others (common practice)."""
    path.replace(path.with_name(f"{path.name}~"))
    path.write_text(text, encoding="utf-8")


def anew(path: Path, text: str) -> None:
    path.unlink()
    path.write_text(text, encoding="utf-8")


SAVES: tuple[Callable[[Path, str], None], ...] = (plainly, by_renaming, keeping_the_old, anew)


@pytest.mark.parametrize("save", SAVES, ids=lambda save: save.__name__)
async def test_however_a_file_is_saved_it_is_seen(tmp_path: Path, save: Callable[[Path, str], None]) -> None:
    path = tmp_path / "one.toml"
    path.write_text("0", encoding="utf-8")
    (tmp_path / "beside.toml").write_text("0", encoding="utf-8")
    found = changes((path,))
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
    found = changes((path,))
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

    assert await settled(Path("x"), read) is kiln
    assert asked == [Path("x")]


async def test_a_file_that_is_half_written_is_waited_for(kiln: Design) -> None:
    tries = 0

    def read(_: Path) -> Design:
        nonlocal tries
        tries += 1
        if tries < 4:
            raise PROBLEM
        return kiln

    assert await settled(Path("x"), read) is kiln
    assert tries == 4


async def test_a_file_that_stays_broken_is_broken_after_a_while() -> None:
    def read(_: Path) -> Design:
        raise PROBLEM

    began = time.monotonic()
    with pytest.raises(DesignError):
        await settled(Path("x"), read)
    assert time.monotonic() - began >= SETTLE_MS / 1000 * 0.95
