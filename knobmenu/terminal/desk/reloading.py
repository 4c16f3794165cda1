"""Designs that change while they are tried: read again, carried over, or reported as broken."""

from __future__ import annotations

import asyncio
from pathlib import Path

from knobmenu.errors import DesignError
from knobmenu.files import watching
from knobmenu.session.variants import Variant
from knobmenu.terminal.backend.workers import describe_failure
from knobmenu.terminal.clock import now_ms
from knobmenu.terminal.desk.desk import Desk


async def watch(desk: Desk) -> None:
    """Read a variant's file again each time that it changed, until the task is cancelled."""

    async def changed(paths: set[Path]) -> None:
        for variant in desk.variants:
            if variant.path in paths:
                await reload(desk, variant)

    def failed(error: Exception) -> None:
        desk.say(f"reloading failed: {describe_failure(error)}; it is tried again", "wrong")

    await watching.follow(tuple(variant.path for variant in desk.variants if variant.path), changed, failed)


async def reload(desk: Desk, variant: Variant) -> None:
    """Read a variant's file again, and take the design over, or say what is wrong in it."""
    if variant.path is None:
        return
    try:
        design = await watching.read_settled(variant.path)
    except DesignError as error:
        variant.problems = error.problems
        first = error.problems[0]
        where = f" at line {first.line}" if first.line else ""
        desk.say(f"{_format_variant(desk, variant)}broken{where}; the last good design stays", "wrong")
        desk.lay_out()
        return
    was_broken = bool(variant.problems)
    variant.problems = ()
    if design == variant.design:
        if was_broken:
            desk.say(f"{_format_variant(desk, variant)}good again, and as it was", "good")
    else:
        dropped = desk.session.timeline.redesign(desk.variants.index(variant), design, now_ms())
        variant.design = design
        became = f"but {dropped[0]}" if dropped else "place and values kept"
        message = f"{_format_variant(desk, variant)}read again, {became}"
        desk.say(message, "caution" if dropped else "good")
        counting = count_findings(desk, variant, message)
        desk.run_worker(counting, group=f"check {desk.variants.index(variant)}", exclusive=True, exit_on_error=False)
    desk.lay_out()


async def count_findings(desk: Desk, variant: Variant, message: str) -> None:
    """Check a design in a thread of its own, and add to the message how many findings are open."""
    # Late: a check is needed only once a design changed.
    from knobmenu.analysis.check import check_design
    from knobmenu.analysis.check.findings import Severity
    from knobmenu.analysis.check.text import format_count

    design = variant.design
    report = await asyncio.to_thread(check_design, design)
    counts = [(len(report.list_open(severity)), severity) for severity in (Severity.ERROR, Severity.WARNING)]
    words = ", ".join(format_count(count, severity.value) for count, severity in counts if count)
    if words and variant.design is design and not variant.problems:
        desk.say(f"{message}; check: {words}", "wrong" if counts[0][0] else "caution")


def _format_variant(desk: Desk, variant: Variant) -> str:
    return f"{'AB'[desk.variants.index(variant)]} is " if len(desk.variants) > 1 else ""
