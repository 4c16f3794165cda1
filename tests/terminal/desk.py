"""A desk to test: keys are posted as the terminal would post them, and what is shown is read as text."""

from __future__ import annotations

import time
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from pathlib import Path

from knobmenu.bench.simulated import NamedChain
from knobmenu.design.whole import Design
from knobmenu.files.kept import resolve_name
from knobmenu.files.running import RunningRecording
from knobmenu.files.sessions import KeptSession
from knobmenu.picture.palettes import DARK, Palette
from knobmenu.session.variants import Variant
from knobmenu.terminal.app import KnobApp
from knobmenu.terminal.backend.parser import KeyUp
from knobmenu.terminal.desk.screen import DeskScreen
from tests.terminal.person import Person


class Hand(Person[KnobApp]):
    """Somebody at the desk."""

    @property
    def desk(self) -> DeskScreen:
        """The desk itself."""
        return self.app.desk

    async def until(self, true: Callable[[], bool], timeout_s: float = 5.0) -> float:
        """Wait until something is true, for a slow machine long enough; return how long that took. [s]"""
        began = time.monotonic()
        while not true():
            assert time.monotonic() - began < timeout_s, self.shows("header")
            await self.pilot.pause(0.005)
        return time.monotonic() - began

    async def up(self, name: str) -> None:
        """Let a key go, in a terminal that tells."""
        self.app.post_message(KeyUp(name))
        await self.settle()

    def shows(self, name: str) -> str:
        """Read what one thing shows; nothing where it is put away."""
        return self.desk.shown(name)

    def at(self, name: str, x: int, y: int) -> tuple[int, int]:
        """Return where a place inside one thing is in the terminal."""
        box = self.desk.box(name)
        return box.x + x, box.y + y

    def screen(self, variant: int = 0) -> tuple[str, ...]:
        """Read a device's display."""
        return self.desk.session.parts[variant].screen.rows


@asynccontextmanager
async def at_desk(
    designs: Sequence[Design | Path],
    size: tuple[int, int] = (80, 24),
    look: Palette = DARK,
    blinking: bool = False,
    chain: NamedChain | None = None,
) -> AsyncIterator[Hand]:
    """Sit down at a desk."""
    from knobmenu.files import load

    variants = [Variant(load(one), one) if isinstance(one, Path) else Variant(one, None) for one in designs]
    files = [resolve_name(variant.path) for variant in variants]
    recording = RunningRecording(lambda: KeptSession(files))
    app = KnobApp(variants, look, blinking=blinking, chain=chain, recording=recording)
    try:
        async with app.run_test(size=size) as pilot:
            hand = Hand(app, pilot)
            await hand.settle()
            await hand.settle()
            yield hand
    finally:
        if recording.kept is not None:
            recording.kept.close()
