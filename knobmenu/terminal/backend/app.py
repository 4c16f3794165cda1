"""The base of every app of this package: its driver, its look, its command palette, and its pauses.

Private names of Textual are used: `App._disable_notifications`, and of a screen `_layout_required`, `_repaint_required`
and `_dirty_widgets`. Without them there would be one drawing more.
"""

from __future__ import annotations

import asyncio
import gc
import os
from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, cast

from textual import events
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType

from knobmenu.picture.palettes import PALETTES, Palette, choose_palette
from knobmenu.terminal.backend.canvas import Canvas
from knobmenu.terminal.backend.driver import choose_driver
from knobmenu.terminal.backend.queue import InputQueue, is_input
from knobmenu.terminal.backend.styles import theme
from knobmenu.terminal.input.keymap import Key

if TYPE_CHECKING:
    from textual.driver import Driver

_BEFORE_NEXT_FRAME_S = 0.004
"""After what became due with the first frame, and before the next of 60 in a second. [s]"""

_COLOURS = {"standard": 16, "windows": 16, "256": 256, "truecolor": 1 << 24}

Result = TypeVar("Result")


class TerminalApp(App[Result]):
    """An app in a terminal."""

    ENABLE_COMMAND_PALETTE = True
    COMMAND_PALETTE_BINDING = "ctrl+p"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+z", "suspend_process", "Suspend", show=False, priority=True)]

    def __init__(self, look: Palette | None) -> None:
        """Make the app.

        Args:
            look: The look to begin with; None: what suits the terminal.
        """
        # Without this a terminal that asks for no colour is sent greys, which are colours too.
        super().__init__(ansi_color=True if os.environ.get("NO_COLOR") else None)
        for palette in PALETTES:
            self.register_theme(theme(palette))
        colours = 0 if os.environ.get("NO_COLOR") else _COLOURS.get(self.console.color_system or "", 0)
        self.look = look or choose_palette(colours)
        """The look to begin with."""
        self.theme = theme(self.look).name
        self.input = InputQueue(self, super().on_event)
        """The typed text, in order."""
        # Nothing here pops up, and the place for it would cost a layout before the first frame.
        self._disable_notifications = True

    def get_driver_class(self) -> type[Driver]:
        """Choose the driver that requests key releases, if there is one."""
        return choose_driver(super().get_driver_class())

    def on_mount(self) -> None:
        """Draw everything again after a pause: the shell has written over it."""
        self.app_resume_signal.subscribe(self, lambda _: self._draw_again())

    def on_ready(self) -> None:
        """Leave the first frame as it is, and collect garbage again where that was put off until then."""
        asyncio.get_running_loop().call_later(_BEFORE_NEXT_FRAME_S, self._keep_first_frame)
        if not gc.isenabled():
            gc.freeze()
            gc.enable()

    def _keep_first_frame(self) -> None:
        """Drop the library's second drawing of a first frame that is whole already.

        Only a canvas knows that it is: what any other widget was about to draw may be new.
        """
        canvases = self.screen.query(Canvas)
        if self.is_running and canvases and all(canvas.is_drawn for canvas in canvases):
            self.screen._layout_required = self.screen._repaint_required = False
            self.screen._dirty_widgets.clear()

    async def on_event(self, event: events.Event) -> None:
        """Let input wait for earlier input."""
        if is_input(event):
            await self.input.put(event)
        else:
            await super().on_event(event)

    def action_command_palette(self) -> None:
        """Search for a command by its name."""
        # Late, so that the first frame need not wait for what only a question needs.
        from knobmenu.terminal.prompts.palette import CommandPalette

        if not CommandPalette.is_open(cast(App[Any], self)):
            self.push_screen(CommandPalette())

    def _draw_again(self) -> None:
        for screen in self.screen_stack:
            for canvas in screen.query(Canvas):
                canvas.forget()
            screen.refresh(layout=True)


def walk_commands(keys: Iterable[Key], run: Callable[[str], None]) -> Iterable[SystemCommand]:
    """Walk the commands that have a key, except the command palette itself."""
    for key in keys:
        if key.does != "commands":
            yield SystemCommand(key.words.rstrip("."), f"Key {key.shown}", partial(run, key.does))
