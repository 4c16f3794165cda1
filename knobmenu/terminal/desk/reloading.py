"""Designs that change while they are tried: read again, taken over, or said to be broken."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobmenu.errors import DesignError
from knobmenu.files import watching
from knobmenu.session.variants import Variant
from knobmenu.terminal.clock import now_ms

if TYPE_CHECKING:
    from knobmenu.terminal.desk.screen import Desk


async def watch(desk: Desk) -> None:
    """Read a variant's file again each time that it changed, until the task is cancelled."""
    paths = tuple(variant.path for variant in desk.variants if variant.path is not None)
    async for changed in watching.changes(paths):
        for variant in desk.variants:
            if variant.path in changed:
                await reload(desk, variant)


async def reload(desk: Desk, variant: Variant) -> None:
    """Read a variant's file again, and take the design over, or say what is wrong in it."""
    if variant.path is None:
        return
    try:
        design = await watching.settled(variant.path)
    except DesignError as error:
        variant.problems = error.problems
        first = error.problems[0]
        where = f" at line {first.line}" if first.line else ""
        desk.say(f"{_which(desk, variant)}broken{where}; the last good design goes on", "wrong")
        desk.lay_out()
        return
    was_broken = bool(variant.problems)
    variant.problems = ()
    if design == variant.design:
        if was_broken:
            desk.say(f"{_which(desk, variant)}good again, and as it was", "good")
    else:
        dropped = desk.session.timeline.redesign(desk.variants.index(variant), design, now_ms())
        variant.design = design
        became = f"but {dropped[0]}" if dropped else "place and values kept"
        desk.say(f"{_which(desk, variant)}read again, {became}", "caution" if dropped else "good")
    desk.lay_out()


def _which(desk: Desk, variant: Variant) -> str:
    return f"{'AB'[desk.variants.index(variant)]} is " if len(desk.variants) > 1 else ""
