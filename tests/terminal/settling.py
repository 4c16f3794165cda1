"""Waiting until an app is at rest."""

from __future__ import annotations

import time
from typing import Any

from textual.pilot import Pilot

from knobmenu.terminal.backend.app import TerminalApp

LONGEST_S = 10.0
"""How long keys that were typed may take, on a slow machine. [s]"""


async def settle(pilot: Pilot[Any]) -> None:
    """Let every key that was typed do what it does, and let all that follows be done and drawn.

    Raises:
        AssertionError: A key is not done in time.
    """
    app, until_s = pilot.app, time.monotonic() + LONGEST_S
    assert isinstance(app, TerminalApp)
    while True:
        for _ in range(3):
            await pilot.pause(0)
        # An app that ends takes no key any more.
        if app.input.is_empty or not app.is_running:
            return
        assert time.monotonic() < until_s, "a key is not done"
