"""The app in which a device is tried: the desk in front, the bench behind it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from textual.app import SystemCommand
from textual.screen import Screen

from knobmenu.files.running import RunningRecording
from knobmenu.picture.palettes import Palette
from knobmenu.session.variants import Variant
from knobmenu.terminal.backend.app import walk_commands
from knobmenu.terminal.desk.screen import DeskScreen
from knobmenu.terminal.input.keymap import ALL
from knobmenu.terminal.knob_screen import AppWithKnob

if TYPE_CHECKING:
    from knobmenu.bench.simulated import NamedChain

AFTER_FIRST_FRAME_S = 0.05
"""When to import what the first frame does not need. [s]"""


class KnobApp(AppWithKnob):
    """A device on the screen, and a knob to turn."""

    CSS_PATH = "look.tcss"
    TITLE = "knobmenu"

    def __init__(
        self,
        variants: Sequence[Variant],
        look: Palette | None = None,
        blinking: bool = True,
        chain: NamedChain | None = None,
        recording: RunningRecording | None = None,
    ) -> None:
        """Make the app.

        Args:
            variants: One or two designs to try.
            look: The look to begin with; None: what suits the terminal.
            blinking: Whether anything may blink.
            chain: What the simulated encoder goes through, to begin with it; None: an ideal encoder.
            recording: Records the session. None: nothing does.
        """
        super().__init__(look)
        blinking = blinking and self.blinking
        self.desk = DeskScreen(variants, self.look, blinking=blinking, chain=chain, recording=recording)
        self.knob_screen = self.desk

    def on_ready(self) -> None:
        """Load what keeps the session once the first frame is drawn."""
        self.set_timer(AFTER_FIRST_FRAME_S, self.desk.begin_recording)

    async def action_quit(self) -> None:
        """Quit as the desk's key does."""
        self.desk.run("leave")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Refuse to leave, to suspend or to search commands while a device is presented."""
        return not self.desk.presenting and super().check_action(action, parameters)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Walk the commands of the screen in front."""
        front = self.desk.bench
        return walk_commands(ALL, self.desk.run) if front is None else walk_commands(front.KEYS, front.run)
