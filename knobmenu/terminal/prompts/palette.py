"""The library's list of commands, in the look of the other screens."""

from __future__ import annotations

import asyncio

from textual import command

from knobmenu.terminal.backend.queue import drain
from knobmenu.terminal.prompts.prompt import LOOK

_ROUNDS = 3
"""How many widgets a key goes through one after the other: the line, the list, and the line once more."""

_POLL_S = 0.005


class CommandPalette(command.CommandPalette):
    """Commands, found by their words."""

    CSS_PATH = LOOK

    async def search_ends(self) -> None:
        """Return once everything is listed that matches what was written: Enter takes the first of it."""
        for _ in range(_ROUNDS):
            await drain(self.walk_children(with_self=True, reverse=True))
            while any(worker.node is self and not worker.is_finished for worker in self.workers):
                # Waiting for the worker itself would cancel it where the wait takes too long.
                await asyncio.sleep(_POLL_S)
