"""The bench as an app of its own: ``knobmenu bench live``."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from textual.app import SystemCommand
from textual.screen import Screen

from knobmenu.bench.simulated import NamedChain
from knobmenu.files.kept import resolve_name
from knobmenu.picture.palettes import Palette
from knobmenu.terminal.backend.app import TerminalApp, walk_commands
from knobmenu.terminal.bench.screen import BenchResult, BenchScreen, keep_chain


class LoneBench(BenchScreen):
    """The bench where nothing is behind it that would keep the chain."""

    _warned: object = None

    def leave(self) -> None:
        """Leave; a chain that was not saved is left only after a warning."""
        if self.trial.changed and self._warned is not self.trial.chain:
            self._warned = self.trial.chain
            self.say("not saved: s saves it, the same key leaves", "caution")
        else:
            super().leave()


class BenchApp(TerminalApp[BenchResult]):
    """A chain on the screen, and its knobs to turn."""

    CSS_PATH = "../look.tcss"
    TITLE = "knobmenu bench"

    def __init__(self, named: NamedChain, look: Palette | None = None, path: Path | None = None) -> None:
        """Make the app.

        Args:
            named: The chain.
            look: The look to begin with; None: what suits the terminal.
            path: The chain's file; None for the built-in one.
        """
        super().__init__(look)
        self.kept = keep_chain(named.chain, [resolve_name(path)])
        self.bench = LoneBench(named, self.look, self.kept)

    def on_mount(self) -> None:
        """Begin at the bench, and leave with it."""
        super().on_mount()
        self.push_screen(self.bench, self.exit)

    def on_unmount(self) -> None:
        """Keep a chain that was not saved for the next time."""
        self.kept.close()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Walk the commands of the keys."""
        return walk_commands(self.bench.KEYS, self.bench.run)
