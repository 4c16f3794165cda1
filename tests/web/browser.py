"""A headless Chromium, driven over the DevTools protocol (https://chromedevtools.github.io/devtools-protocol/)."""

from __future__ import annotations

import asyncio
import base64
import json
import shutil
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from itertools import count
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")

KEYS = {
    "ArrowRight": ("ArrowRight", 39, ""),
    "ArrowLeft": ("ArrowLeft", 37, ""),
    "ArrowUp": ("ArrowUp", 38, ""),
    "ArrowDown": ("ArrowDown", 40, ""),
    "Enter": ("Enter", 13, "\r"),
    " ": ("Space", 32, " "),
    "Escape": ("Escape", 27, ""),
    "F10": ("F10", 121, ""),
}


class CallError(AssertionError):
    """The browser refused a call."""


class Page:
    """A page of the browser."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self._socket = socket
        self._numbers = count(1)
        self.requested: list[str] = []
        """The addresses that the page asked for."""

    async def send(self, method: str, **parameters: Any) -> Any:
        """Call a method of the protocol; return its result."""
        number = next(self._numbers)
        await self._socket.send_json({"id": number, "method": method, "params": parameters})
        while True:
            message = json.loads((await self._socket.receive(timeout=30)).data)
            if message.get("method") == "Network.requestWillBeSent":
                self.requested.append(message["params"]["request"]["url"])
            if message.get("id") == number:
                if "error" in message:
                    raise CallError(f"{method}: {message['error']}")
                return message["result"]

    async def evaluate(self, script: str) -> Any:
        """Return the value of an expression in the page."""
        result = await self.send("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        return result["result"].get("value")

    async def wait_for(self, script: str, patience_s: float = 20.0) -> None:
        """Wait until an expression in the page is true."""
        deadline = asyncio.get_running_loop().time() + patience_s
        while not await self._is_true(script):
            assert asyncio.get_running_loop().time() < deadline, f"never true: {script}"
            await asyncio.sleep(0.1)

    async def _is_true(self, script: str) -> bool:
        try:
            return bool(await self.evaluate(script))
        except CallError:
            # A page that goes away while it is asked answers nothing.
            return False

    async def go(self, url: str) -> None:
        """Open an address."""
        await self.send("Page.navigate", url=url)

    async def press(self, key: str) -> None:
        """Strike a key."""
        code, number, text = KEYS[key] if key in KEYS else _character(key)
        common = {"key": key, "code": code, "windowsVirtualKeyCode": number}
        await self.send("Input.dispatchKeyEvent", type="keyDown", text=text, unmodifiedText=text, **common)
        await self.send("Input.dispatchKeyEvent", type="keyUp", **common)

    async def mouse(self, what: str, x: float, y: float, **more: Any) -> None:
        """Move the mouse, or press, release or wheel it. [CSS pixels]"""
        await self.send("Input.dispatchMouseEvent", type=what, x=x, y=y, **more)

    async def screenshot(self, path: Path) -> None:
        """Write a picture of the page."""
        data = (await self.send("Page.captureScreenshot", format="png"))["data"]
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(base64.b64decode(data))


def _character(key: str) -> tuple[str, int, str]:
    """Return the code, the number and the text of a letter's or a digit's key."""
    return f"{'Digit' if key.isdigit() else 'Key'}{key.upper()}", ord(key.upper()), key


@asynccontextmanager
async def chromium(width: int = 1280, height: int = 800) -> AsyncIterator[Page]:
    """Run a browser with one page. [CSS pixels]"""
    assert CHROMIUM is not None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        process = await asyncio.create_subprocess_exec(
            CHROMIUM,
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--remote-debugging-port=0",
            f"--window-size={width},{height}",
            f"--user-data-dir={profile}",
            "about:blank",
            stdout=asyncio.subprocess.DEVNULL,
            stderr=asyncio.subprocess.DEVNULL,
        )
        try:
            port = Path(profile) / "DevToolsActivePort"
            async with asyncio.timeout(60):
                while not (port.exists() and "\n" in port.read_text()):
                    await asyncio.sleep(0.05)
            base = f"http://127.0.0.1:{port.read_text().splitlines()[0]}"
            async with aiohttp.ClientSession() as session:
                async with session.get(f"{base}/json/list") as answer:
                    target = next(one for one in await answer.json() if one["type"] == "page")
                async with session.ws_connect(target["webSocketDebuggerUrl"], max_msg_size=0) as socket:
                    page = Page(socket)
                    await page.send("Page.enable")
                    await page.send("Network.enable")
                    yield page
        finally:
            process.kill()
            await process.wait()
