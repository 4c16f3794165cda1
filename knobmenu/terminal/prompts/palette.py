"""The library's list of commands, in the look of the other screens."""

from __future__ import annotations

import asyncio

from textual import command
from textual.content import Content
from textual.system_commands import SystemCommandsProvider

from knobmenu.terminal.backend.queue import drain
from knobmenu.terminal.prompts.finding import find
from knobmenu.terminal.prompts.prompt import LOOK

_ROUNDS = 3
"""How many widgets process a key one after the other: the line, the list, and the line again."""

_POLL_S = 0.005


class _Commands(SystemCommandsProvider):
    """The commands of the screen in front, found by whole words and not by scattered letters."""

    async def search(self, query: str) -> command.Hits:
        """Show the commands that match the input."""
        commands = list(self.app.get_system_commands(self.screen))
        for place, score, spans in find(query, [one.title for one in commands]):
            one = commands[place]
            title = Content(one.title)
            for start, end in spans:
                title = title.stylize(self.match_style or "", start, end)
            yield command.Hit(score, title, one.callback, help=one.help)


class CommandPalette(command.CommandPalette):
    """Commands, found by their words."""

    CSS_PATH = LOOK

    def __init__(self) -> None:
        """Make the list."""
        super().__init__(providers=[_Commands], id="--command-palette")

    async def search_ends(self) -> None:
        """Return once everything is listed that matches what was written: Enter takes the first of it."""
        for _ in range(_ROUNDS):
            await drain(self.walk_children(with_self=True, reverse=True))
            while any(worker.node is self and not worker.is_finished for worker in self.workers):
                # Waiting for the worker itself would cancel it where the wait takes too long.
                await asyncio.sleep(_POLL_S)
