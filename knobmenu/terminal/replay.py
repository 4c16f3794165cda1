"""The app in which a recording is played."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

import attrs
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from knobmenu.design.whole import Design
from knobmenu.session.playback import (
    Frame,
    Player,
    change_speed,
    draw_player,
    go_to_mark,
    go_to_place,
    run_player,
)
from knobmenu.terminal.backend.app import TerminalApp

TICK_S = 1 / 30
"""The interval at which the picture is updated. [s]"""

KEYS = "Space stop or go on   + - speed   → ← step   m M mark   Home End   q quit"


class ReplayApp(TerminalApp[None]):
    """A recording, played."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "pause"),
        Binding("plus,up", "speed(1)"),
        Binding("minus,down", "speed(-1)"),
        Binding("right,full_stop", "step(1)"),
        Binding("left,comma", "step(-1)"),
        Binding("m", "mark(True)"),
        Binding("M", "mark(False)"),
        Binding("home", "place(0)"),
        Binding("end", "newest"),
        Binding("q,ctrl+c", "quit"),
    ]

    def __init__(self, designs: Sequence[Design], frames: Sequence[Frame]) -> None:
        """Make the app, for at least one frame."""
        super().__init__(None)
        self.designs = designs
        self.player = Player(frames)
        self._picture = Static(self._draw())

    def compose(self) -> ComposeResult:
        """Put the picture there."""
        yield self._picture

    def on_mount(self) -> None:
        """Begin to play."""
        super().on_mount()
        self.set_interval(TICK_S, self._run_on)

    def _run_on(self) -> None:
        self._show(run_player(self.player, TICK_S * 1000))

    def _show(self, player: Player) -> None:
        if player is not self.player:
            self.player = player
            self._picture.update(self._draw())

    def _draw(self) -> Content:
        return Content("\n".join([*draw_player(self.designs, self.player), "", KEYS]))

    def action_pause(self) -> None:
        """Stop, or go on."""
        self._show(attrs.evolve(self.player, plays=not self.player.plays))

    def action_speed(self, by: int) -> None:
        """Play faster or slower."""
        self._show(change_speed(self.player, by))

    def action_step(self, by: int) -> None:
        """Step to another record."""
        self._show(go_to_place(self.player, self.player.place + by))

    def action_mark(self, forward: bool) -> None:
        """Go to a mark or note."""
        self._show(go_to_mark(self.player, forward))

    def action_place(self, place: int) -> None:
        """Go to a place."""
        self._show(go_to_place(self.player, place))

    def action_newest(self) -> None:
        """Go to the end."""
        self._show(go_to_place(self.player, len(self.player.frames) - 1))
