"""The page in a real browser: the knob turned, pressed and held by keys, wheel and mouse, and what is recorded of it.

The recording is compared with that of the app in a terminal which is driven in the same way. The pictures of the page
go to build/pictures, which CI keeps.
"""

from __future__ import annotations

import asyncio
import signal
import subprocess
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import attrs
import pytest

from knobmenu.errors import RecordingError
from knobmenu.files.recordings import read_recording
from knobmenu.session.records import EventRecord, MarkRecord
from tests.terminal.pty_harness import KNOBMENU, Terminal
from tests.web.browser import CHROMIUM, Page, chromium
from tests.web.test_server import free_port

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here; Debian's package is chromium")

PICTURES = Path(__file__).parents[2] / "build" / "pictures"

DESIGN = """\
format = 1
name = "Bench fan"   # invented

[home]
press = "main"
turn = "speed"

[idle]
after_ms = 0

[settings.speed]
kind = "number"
label = "Speed"
low = 0
high = 10
initial = 3

[settings.light]
kind = "choice"
label = "Light"
options = [{ key = "off", label = "Off" }, { key = "dim", label = "Dim" }, { key = "full", label = "Full" }]

[menus.main]
label = "Menu"
entries = ["speed", "light"]
"""

KNOB = (1107, 300)
"""A point of the knob in a page of 1280 by 657. [CSS pixels]"""


STUDY = """\
format = 1
name = "Bench fan, first round"
consent = "What you turn and press is recorded under a code."
practice_s = 0
usability_scale = false

[variants]
fan = "fan.toml"

[tasks.faster]
text = "Let the fan run at speed 5."
done = { equal = ["speed", 5] }
"""


@asynccontextmanager
async def served(folder: Path, name: str = "fan.toml") -> AsyncIterator[str]:
    """Serve the design, or its study; yield the link of the one participant."""
    (folder / "fan.toml").write_text(DESIGN, encoding="utf-8")
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    command = [sys.executable, "-m", "knobmenu", "serve", str(folder / name), "--port", str(free_port())]
    process = await asyncio.create_subprocess_exec(*command, stdout=subprocess.PIPE, cwd=folder)
    try:
        assert process.stdout is not None
        await process.stdout.readline()
        yield (await process.stdout.readline()).decode().split()[-1]
    finally:
        process.send_signal(signal.SIGINT)
        assert await process.wait() == 0


def moments(recording: Path) -> list[tuple[Any, ...]]:
    """Return what happened, without when."""
    _, records = read_recording(recording)
    return [
        (tuple(attrs.evolve(event, at_ms=0) for event in record.events if event), record.effects, record.screens)
        for record in records
        if isinstance(record, EventRecord)
    ]


async def moved(recording: Path, count: int, besides: str = "") -> None:
    """Wait until so many moments are recorded, besides those that begin with events of one kind."""
    async with asyncio.timeout(20):
        while not has_moments(recording, count, besides):
            await asyncio.sleep(0.05)


def has_moments(recording: Path, count: int, besides: str = "") -> bool:
    """Return whether so many moments are recorded; the recording may not have begun yet."""
    try:
        return sum(type(events[0]).__name__ != besides for events, *_ in moments(recording)) >= count
    except RecordingError:
        return False


async def begin(page: Page, url: str) -> None:
    """Open a link and go on to the device."""
    await page.go(url)
    await page.wait_for("document.querySelector('form button') !== null")
    await page.screenshot(PICTURES / "web-join.png")
    await page.evaluate("document.querySelector('form button').click()")
    await page.wait_for("document.body.classList.contains('-first-byte')")
    await page.wait_for("document.activeElement.classList.contains('xterm-helper-textarea')")


async def test_a_task_is_done_in_the_page_and_recorded_as_in_a_terminal(tmp_path: Path) -> None:
    recording = tmp_path / "fan.sessions" / "participant-001.jsonl"
    async with served(tmp_path) as url, chromium() as page:
        await begin(page, url)
        await page.press(" ")
        await moved(recording, 1)
        await page.press("ArrowRight")
        await moved(recording, 2)
        await page.mouse("mousePressed", *KNOB, button="left", clickCount=1)
        await page.mouse("mouseReleased", *KNOB, button="left", clickCount=1)
        await moved(recording, 3)
        for count in (4, 5):
            await page.mouse("mouseWheel", *KNOB, deltaX=0, deltaY=-100)
            await moved(recording, count)
        await page.screenshot(PICTURES / "web-device.png")
        await page.press(" ")
        await moved(recording, 6)
        await page.mouse("mousePressed", *KNOB, button="left", clickCount=1)
        await moved(recording, 7)
        await page.mouse("mouseReleased", *KNOB, button="left", clickCount=1)
        for key in ("F10", "q", "b", "n"):  # none of the designer's keys does anything here
            await page.press(key)
        await page.press("ArrowLeft")
        await moved(recording, 8)
        await page.screenshot(PICTURES / "web-home.png")
        elsewhere = [address for address in page.requested if not address.startswith(url.partition("/join")[0])]

    in_page = moments(recording)
    assert elsewhere == []
    assert in_page == moments(in_terminal(tmp_path))
    written = {path.name for path in tmp_path.iterdir()} - {"fan.toml", "study.toml", "terminal.jsonl"}
    assert written == {"fan.sessions"}


def in_terminal(folder: Path) -> Path:
    """Do the same in a terminal."""
    recording = folder / "terminal.jsonl"
    design = folder / "fan.toml"
    command = (*KNOBMENU, "try", str(design), "--present", "--record", str(recording))
    with Terminal(command, columns=120, rows=40) as terminal:
        terminal.wait_for("detent", timeout=30)
        terminal.settle()
        for keys in (" ", "\x1b[C", " ", "\x1b[C", "\x1b[C", " ", "l", "\x1b[D"):
            terminal.type(keys)
            terminal.settle(0.4)
        terminal.type("\x1b[21~")  # F10 ends the presentation
        terminal.settle()
        terminal.type("q")
        assert terminal.wait(30) == 0
    return recording


async def test_a_page_that_was_reloaded_goes_on_in_a_recording_of_its_own(tmp_path: Path) -> None:
    folder = tmp_path / "fan.sessions"
    async with served(tmp_path) as url, chromium() as page:
        await begin(page, url)
        await page.press("ArrowRight")
        await moved(folder / "participant-001.jsonl", 1)
        await page.evaluate("window.isOld = true")
        await page.send("Page.reload")
        await page.wait_for("!window.isOld && document.body && document.body.classList.contains('-first-byte')")
        await page.wait_for("document.activeElement.classList.contains('xterm-helper-textarea')")
        await page.press("ArrowRight")
        await page.press("ArrowRight")
        await moved(folder / "participant-001-2.jsonl", 2)
    assert len(moments(folder / "participant-001.jsonl")) == 1


def marks(recording: Path) -> list[str]:
    """Return the names of a recording's marks."""
    try:
        return [record.name for record in read_recording(recording)[1] if isinstance(record, MarkRecord)]
    except RecordingError:
        return []


async def answer(page: Page, key: str, recording: Path, mark: str) -> None:
    """Strike a key until the recording has a mark: a page that has only begun to draw may take no keys yet."""
    for _ in range(8):
        await page.press(key)
        for _ in range(60):
            if any(name.startswith(mark) for name in marks(recording)):
                return
            await asyncio.sleep(0.05)
    raise AssertionError(f"no mark {mark}: {marks(recording)}")


async def test_a_sitting_in_the_page_continues_after_a_reload_and_counts_its_task(tmp_path: Path) -> None:
    sitting = tmp_path / "study.sittings" / "p01.jsonl"
    async with served(tmp_path, "study.toml") as url, chromium() as page:
        await begin(page, url)
        await answer(page, " ", sitting, "consent given")
        await page.evaluate("window.isOld = true")
        await page.send("Page.reload")
        await page.wait_for("!window.isOld && document.body && document.body.classList.contains('-first-byte')")
        await page.wait_for("document.activeElement.classList.contains('xterm-helper-textarea')")
        await page.screenshot(PICTURES / "web-task.png")
        await answer(page, " ", sitting, "begin fan faster")
        await answer(page, "ArrowRight", sitting, "end ")
        await page.screenshot(PICTURES / "web-question.png")
        await page.press("6")
        await answer(page, " ", sitting, "answer ")
    assert marks(sitting) == [
        "participant p01 0",
        "consent given",
        "begin fan faster",
        "end done",
        'answer ["fan faster", "ease", 6]',
    ]


async def test_the_device_fits_a_small_screen_and_a_press_ends_when_the_page_loses_focus(tmp_path: Path) -> None:
    async with served(tmp_path) as url, chromium() as page:
        await page.send("Emulation.setDeviceMetricsOverride", width=390, height=844, deviceScaleFactor=1, mobile=True)
        slow = DESIGN + "\n[knob]\nlong_press_ms = 5000\n"
        (tmp_path / "fan.toml").write_text(slow, encoding="utf-8")
        await begin(page, url)
        assert await page.evaluate("document.querySelector('#terminal').dataset.fontSize") == "10"
        await page.press("ArrowRight")
        await moved(tmp_path / "fan.sessions" / "participant-001.jsonl", 1)
        await page.screenshot(PICTURES / "web-small.png")
        await page.mouse("mousePressed", 195, 480, button="left", clickCount=1)
        await page.evaluate("document.activeElement.blur()")
        # A save may fall due before the press arrives, which is a moment of its own.
        await moved(tmp_path / "fan.sessions" / "participant-001.jsonl", 2, besides="Wait")
    events = [event for (event, *_), *_ in moments(tmp_path / "fan.sessions" / "participant-001.jsonl")]
    event = [event for event in events if type(event).__name__ != "Wait"][1]
    assert type(event).__name__ == "Press", "short, though the mouse button was never released"
