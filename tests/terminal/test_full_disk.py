"""Files that cannot be written: the prompt says why and keeps the name, for another try or another name."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.widgets import Input, Label

from knobmenu.bench.chain_file import load
from knobmenu.files import output
from knobmenu.terminal.prompts.prompt import Prompt
from tests.disks import fill, mount_small_disk
from tests.terminal.desk import Hand, at_desk
from tests.terminal.test_bench_screen import Bench, at_bench

NAMES = {"s": "small.trace", "t": "test_small.py", "x": "small.svg"}
BENCH_NAMES = {"s": "small.toml", "x": "small.svg"}


@pytest.fixture
def small_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The current folder, on a disk of 64 KiB."""
    with mount_small_disk(tmp_path / "disk", 64) as disk:
        monkeypatch.chdir(disk)
        yield disk
        monkeypatch.undo()


async def write_in_vain(hand: Hand | Bench, key: str, name: str) -> str:
    """Answer the prompt that a key opens; check that it keeps the name, and return what it says is wrong."""
    await hand.key(key)
    await hand.write(name)
    prompt = hand.app.screen
    assert isinstance(prompt, Prompt)
    assert prompt.query_one(Input).value == name
    wrong = prompt.query_one(".wrong", Label)
    return " ".join(str(wrong.render()).split()) if wrong.display else ""


@pytest.mark.parametrize("key", NAMES)
async def test_a_full_disk_is_said_in_the_prompt_of_the_desk_which_keeps_the_name(
    kiln_file: Path, small_disk: Path, key: str
) -> None:
    async with at_desk([kiln_file], (120, 40)) as hand:
        await hand.key("right")
        filler = fill(small_disk)
        refusal = await write_in_vain(hand, key, NAMES[key])
        assert "no space left on device. Make room on the disk, or write elsewhere." in refusal
        assert [path.name for path in small_disk.iterdir()] == [filler.name]

        filler.unlink()
        await hand.key("enter")
        assert hand.app.screen is hand.desk
        assert f"{NAMES[key]} is written" in hand.shows("header")
        assert (small_disk / NAMES[key]).stat().st_size > 0


@pytest.mark.parametrize("key", BENCH_NAMES)
async def test_a_full_disk_is_said_in_the_prompt_of_the_bench_which_keeps_the_name(small_disk: Path, key: str) -> None:
    async with at_bench() as hand:
        filler = fill(small_disk)
        assert "no space left on device" in await write_in_vain(hand, key, BENCH_NAMES[key])

        filler.unlink()
        await hand.key("enter")
        assert hand.app.screen is hand.bench
        assert f"{BENCH_NAMES[key]} is written" in hand.shows("head")
        if key == "s":
            assert load(small_disk / BENCH_NAMES[key]) == hand.chain


@pytest.mark.parametrize("error", [errno.EIO, errno.EDQUOT, errno.EROFS, errno.EFBIG], ids=errno.errorcode.get)
@pytest.mark.parametrize("key", NAMES)
async def test_any_failing_write_is_said_in_the_prompt_and_another_name_may_be_given(
    kiln_file: Path, monkeypatch: pytest.MonkeyPatch, key: str, error: int
) -> None:
    def fail(folder: str, content: str | bytes) -> str:
        raise OSError(error, os.strerror(error))

    async with at_desk([kiln_file], (120, 40)) as hand:
        with monkeypatch.context() as failing:
            failing.setattr(output, "_write_temporary", fail)
            assert os.strerror(error).lower() in await write_in_vain(hand, key, NAMES[key])
        other = f"other_{NAMES[key]}"
        await hand.write(other)
        assert f"{other} is written" in hand.shows("header")
        assert sorted(path.name for path in Path().iterdir()) == sorted(["kiln.toml", other])
