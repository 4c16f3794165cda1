"""The app of a page: what of it reaches the page, and that it ends with the server, however that ends."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from textual_serve.app_service import AppService

from knobmenu.files.recordings import read_recording
from knobmenu.web.process import DRIVER, ServedApp
from tests.web.test_server import Socket, connect, drawn, free_port, is_running, serving, visitor

RADIO = Path(__file__).parents[2] / "demos" / "radio.toml"

ASKING = """
import json, os, sys
os.write(1, b"__GANGLION__\\n")
def send(kind, content): os.write(1, kind + len(content).to_bytes(4, "big") + content)
send(b"M", json.dumps({"type": "open_url", "url": "http://elsewhere.example", "new_tab": True}).encode())
send(b"M", json.dumps({"type": "deliver_file_start", "key": "k", "path": "/etc/hosts", "open_method": "download",
                       "encoding": "", "mime_type": "text/plain", "name": None}).encode())
send(b"P", b"anything")
send(b"D", b"drawn")
os.read(0, 1)
"""
"""An app that wants to open an address and to hand over a file."""


def test_the_library_has_the_private_names_that_are_used() -> None:
    for name in ("_open_app_process", "_build_environment", "on_meta", "on_packed"):
        assert callable(getattr(AppService, name))
    app = ServedApp((), *[None] * 3)  # type: ignore[arg-type]
    for name in ("_process", "_stdin", "_task"):
        assert getattr(app, name) is None


async def test_neither_an_address_nor_a_file_of_the_app_reaches_the_page() -> None:
    async with serving(script=ASKING) as server, visitor() as guest:
        await guest.post(server.urls[0])
        async with connect(guest, server) as page:
            assert await drawn(page) == b"drawn"
        async with guest.get(f"{server.site.origin}/download/k") as answer:
            assert answer.status in (403, 404)


def test_an_app_whose_server_was_killed_leaves_with_its_recording_whole(tmp_path: Path) -> None:
    recording = tmp_path / "session.jsonl"
    command = (sys.executable, "-m", "knobmenu", "try", str(RADIO), "--served", "--record", str(recording))
    environment = {**os.environ, "TEXTUAL_DRIVER": DRIVER}
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment) as app:
        assert app.stdin is not None
        assert app.stdout is not None
        assert app.stdout.readline() == b"__GANGLION__\n"
        app.stdin.write(b"D\0\0\0\3\x1b[C")
        app.stdin.flush()
        while not (recording.exists() and b'"turn"' in recording.read_bytes()):
            os.read(app.stdout.fileno(), 65_536)
        app.stdin.close()
        app.stdout.close()
        app.wait(20)
    read_recording(recording)


async def turned(page: Socket, recording: Path) -> None:
    """Turn the knob until that is recorded."""
    while not (recording.exists() and b'"turn"' in recording.read_bytes()):
        await page.send_str('["stdin", "\\u001b[C"]')
        await page.receive(timeout=20)


@pytest.mark.skipif(sys.platform == "win32", reason="signals are sent to one process there only")
async def test_ctrl_c_ends_every_app_and_says_so(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "knobmenu", "serve", str(RADIO), "--port", str(free_port()), "--links", "2"]
    command += ["--recordings", str(tmp_path)]
    server = await asyncio.create_subprocess_exec(*command, stdout=subprocess.PIPE)
    assert server.stdout is not None
    await server.stdout.readline()
    urls = [(await server.stdout.readline()).decode().split()[-1] for _ in range(2)]
    origin = re.sub("/join.*", "", urls[0])
    async with visitor() as first, visitor() as second:
        pages = []
        for guest, url in zip((first, second), urls, strict=True):
            await guest.post(url)
            pages.append(await guest.ws_connect(f"{origin}/ws", headers={"Origin": origin}))
        for number, page in enumerate(pages, 1):
            await turned(page, tmp_path / f"participant-00{number}.jsonl")
        apps = children(server.pid)
        assert len(apps) == 2
        server.send_signal(signal.SIGINT)
        assert await asyncio.wait_for(server.wait(), 20) == 0
    assert (await server.stdout.read()).decode() == "The server has ended; 2 open pages were closed.\n"
    assert not any(is_running(app) for app in apps)


def children(number: int) -> list[int]:
    """Return the processes that a process has started, where /proc tells them."""
    listed = Path(f"/proc/{number}/task/{number}/children")
    if not listed.exists():
        pytest.skip("no list of children here")
    return [int(word) for word in listed.read_text().split()]
