"""The bench as an app of its own: ``knobmenu bench --live``."""

from __future__ import annotations

from collections.abc import Iterable

from textual.app import App, SystemCommand
from textual.screen import Screen

from knobmenu.bench.simulated import NamedChain
from knobmenu.terminal.backend.looks import begin_look, commands_of, no_colour_asked
from knobmenu.terminal.bench.screen import BenchScreen, Left
from knobmenu.terminal.drawing.palettes import Palette


class LoneBench(BenchScreen):
    """The bench where nothing is behind it that would keep the chain."""

    _warned: object = None

    def leave(self) -> None:
        """Leave; a chain that was not saved is left only when that was said."""
        if self.trial.changed and self._warned is not self.trial.chain:
            self._warned = self.trial.chain
            self.say("the chain is not saved: s saves it, once more leaves it", "caution")
        else:
            super().leave()


class BenchApp(App[Left]):
    """A chain on the screen, and its knobs to turn."""

    CSS_PATH = "../look.tcss"
    TITLE = "knobmenu bench"
    ENABLE_COMMAND_PALETTE = True
    COMMAND_PALETTE_BINDING = "ctrl+p"

    def __init__(self, named: NamedChain, look: Palette | None = None) -> None:
        """Make the app.

        Args:
            named: The chain.
            look: The look to begin with; None: what suits the terminal.
        """
        super().__init__(ansi_color=no_colour_asked())
        self.bench = LoneBench(named, begin_look(self, look))

    def on_mount(self) -> None:
        """Begin at the bench, and leave with it."""
        self.push_screen(self.bench, self.exit)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Offer everything that a key does, by its words."""
        return commands_of(self.bench.KEYS, self.bench.run)
