"""One app in its own process, and the websocket on which it is drawn.

`AppService` of textual-serve communicates with the app. These private names of it are used: `_open_app_process`,
`_build_environment`, `_process`, `_stdin` and `_task`; tests/web/test_process.py fails if one is missing.
"""

from __future__ import annotations

import asyncio
import json
import os
from asyncio.subprocess import PIPE, Process
from collections.abc import Awaitable, Callable, Mapping, Sequence

from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

PASSED_ON = ("PATH", "LANG", "LC_ALL", "LC_CTYPE", "TZ", "TMPDIR", "SYSTEMROOT")
"""The environment variables that an app gets; others may hold secrets, and a reviewer's app does not need them."""

DRIVER = "knobmenu.terminal.backend.served:ServedDriver"
"""The driver of an app."""

PATIENCE_S = 3.0
"""How long an app may take to exit before it is killed. [s]"""


class ServedApp(AppService):
    """An app whose screen is a web page."""

    def __init__(
        self,
        arguments: Sequence[str],
        write_bytes: Callable[[bytes], Awaitable[None]],
        write_str: Callable[[str], Awaitable[None]],
        close: Callable[[], Awaitable[None]],
    ) -> None:
        """Prepare an app.

        Args:
            arguments: The command, which no shell reads.
            write_bytes: Sends what the app draws.
            write_str: Sends a message to the page.
            close: Closes the page's connection.
        """
        super().__init__(
            "",
            write_bytes=write_bytes,
            write_str=write_str,
            close=close,
            download_manager=DownloadManager(),
        )
        self._arguments = arguments
        self._close_page = close

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        own = super()._build_environment(width, height)
        set_here = {name: value for name, value in own.items() if os.environ.get(name) != value}
        return {**pass_on(os.environ), **set_here, "TEXTUAL_DRIVER": DRIVER}

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        process = await asyncio.create_subprocess_exec(
            *self._arguments, stdin=PIPE, stdout=PIPE, stderr=PIPE, env=self._build_environment(width, height)
        )
        self._process, self._stdin = process, process.stdin
        return process

    async def run(self) -> None:
        """Send the app's output until it ends, then close the page's connection."""
        await super().run()
        await self._close_page()

    async def on_meta(self, data: bytes) -> None:
        """Close the page's connection when the app exits; do not forward addresses to open or files to save."""
        if json.loads(data)["type"] == "exit":
            await self._close_page()

    async def on_packed(self, payload: bytes) -> None:
        """Do not forward parts of a file."""

    async def end(self) -> None:
        """Let the app exit, and kill it if it does not."""
        process = self._process
        if process is None:
            return
        await self.send_meta({"type": "quit"})
        try:
            await asyncio.wait_for(process.wait(), PATIENCE_S)
        except TimeoutError:
            process.kill()
            await process.wait()
        if self._task is not None:
            await self._task


def pass_on(environment: Mapping[str, str]) -> dict[str, str]:
    """Return the part of an environment that an app gets."""
    return {name: environment[name] for name in PASSED_ON if name in environment}
