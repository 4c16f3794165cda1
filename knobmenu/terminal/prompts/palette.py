"""The library's list of commands, in the look of the other screens."""

from __future__ import annotations

from textual import command

from knobmenu.terminal.prompts.prompt import LOOK


class CommandPalette(command.CommandPalette):
    """Commands, found by their words."""

    CSS_PATH = LOOK
