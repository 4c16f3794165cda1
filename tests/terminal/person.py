"""Somebody at an app to test: keys are posted as the terminal would post them."""

from __future__ import annotations

from typing import Any, Generic, TypeVar

from textual import events
from textual.app import App
from textual.pilot import Pilot

from tests.terminal.settling import settle

AnyApp = TypeVar("AnyApp", bound=App[Any])


class Person(Generic[AnyApp]):
    """Somebody who types."""

    def __init__(self, app: AnyApp, pilot: Pilot[Any]) -> None:
        self.app = app
        self.pilot = pilot

    async def settle(self) -> None:
        """Let everything that was asked be done and drawn."""
        await settle(self.pilot)

    async def key(self, *names: str, repeat: bool = False) -> None:
        """Type keys, one after the other."""
        for name in names:
            event = events.Key(name, " " if name == "space" else name if len(name) == 1 else None)
            if repeat:
                event.is_repeat = True  # type: ignore[attr-defined]
            self.app.post_message(event)
        await self.settle()

    async def write(self, text: str) -> None:
        """Write a line over what stands in the prompt, and answer with it."""
        await self.key("ctrl+u", "ctrl+k")
        await self.key(*("space" if character == " " else character for character in text), "enter")
