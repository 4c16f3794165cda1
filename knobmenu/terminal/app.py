"""The app: looks, the driver that hears releases, and the desk."""

from __future__ import annotations

import asyncio
import gc
import signal
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from textual import events
from textual.app import App, SystemCommand
from textual.screen import Screen

from knobmenu.session.variants import Variant
from knobmenu.terminal.backend.driver import driver_for_platform
from knobmenu.terminal.backend.looks import begin_look, commands_of, no_colour_asked
from knobmenu.terminal.backend.parser import KeyUp, ReleasesReported
from knobmenu.terminal.clock import real_ms
from knobmenu.terminal.desk.screen import Desk
from knobmenu.terminal.drawing.palettes import Palette
from knobmenu.terminal.input.keymap import ALL

if TYPE_CHECKING:
    from textual.driver import Driver

    from knobmenu.bench.simulated import NamedChain


class KnobApp(App[None]):
    """A device on the screen, and a knob to turn."""

    CSS_PATH = "look.tcss"
    TITLE = "knobmenu"
    ENABLE_COMMAND_PALETTE = True
    COMMAND_PALETTE_BINDING = "ctrl+p"

    def __init__(
        self,
        variants: Sequence[Variant],
        look: Palette | None = None,
        blinking: bool = True,
        chain: NamedChain | None = None,
    ) -> None:
        """Make the app.

        Args:
            variants: One or two designs to try.
            look: The look to begin with; None: what suits the terminal.
            blinking: Whether anything may blink.
            chain: The signal chain of a simulated encoder to begin with; None: an ideal encoder.
        """
        super().__init__(ansi_color=no_colour_asked())
        self.desk = Desk(
            variants, begin_look(self, look), blinking=blinking and self.animation_level != "none", chain=chain
        )

    def get_driver_class(self) -> type[Driver]:
        """Take the driver that asks for releases, where there is one."""
        return driver_for_platform(super().get_driver_class())

    def get_default_screen(self) -> Screen[None]:
        """Begin at the desk."""
        return self.desk

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Offer everything that a key does on the screen in front, by its words."""
        front = self.desk.bench
        return commands_of(ALL, self.desk.run) if front is None else commands_of(front.KEYS, front.run)

    def on_mount(self) -> None:
        """Leave as a person would when the process is asked to end, so that the terminal is restored."""
        for number in (signal.SIGTERM, getattr(signal, "SIGHUP", None)):
            # Windows has no SIGHUP, and only the main thread of a process may answer a signal.
            with suppress(NotImplementedError, RuntimeError, ValueError):
                if number is not None:
                    asyncio.get_running_loop().add_signal_handler(number, self.exit, None, 128 + number)

    def on_ready(self) -> None:
        """Look for garbage again, if that was put off until the first frame, but not in what was loaded so far."""
        if not gc.isenabled():
            gc.freeze()
            gc.enable()

    def on_key_up(self, event: KeyUp) -> None:
        """Pass a release on, behind the press that may still wait in the desk's queue."""
        self.desk.post_message(event)

    def on_releases_reported(self, event: ReleasesReported) -> None:
        """Learn whether releases are told."""
        self.desk.releases = event.reported
        self.desk.changed()

    def on_app_blur(self, event: events.AppBlur) -> None:
        """Let go what will not be told."""
        self.desk.blurred(real_ms(event))
