"""What changes while the first frame is being drawn is drawn after it."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest
from textual.app import ComposeResult
from textual.widgets import Static

from knobmenu.terminal.backend.app import TerminalApp


class Words(TerminalApp[None]):
    """An app without a canvas, as that of a replay."""

    def compose(self) -> ComposeResult:
        """Put the words there."""
        yield Static("before")


async def test_a_change_just_after_the_first_frame_is_not_dropped_with_its_second_drawing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    app = Words(None)
    async with app.run_test() as pilot:
        await pilot.pause(0.1)
        app.query_one(Static).update("after")
        async with asyncio.timeout(5):
            while not (app.screen._layout_required or app.screen._repaint_required or app.screen._dirty_widgets):
                await asyncio.sleep(0)
        drawn = 0

        def count(screen: Any, renderable: Any) -> None:
            nonlocal drawn
            drawn += 1

        monkeypatch.setattr(app, "_display", count)
        app._keep_first_frame()
        await pilot.pause(0.1)

    assert drawn
