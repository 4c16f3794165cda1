"""Watching of design files: a file is read again when it changed, and reported as broken only if it stays broken.

The folder is watched, not the file, so that a file that is replaced by renaming, or deleted and written again, is still
seen. An editor may write in two parts; so a file that cannot be read is tried again, and reported as broken only if it
still is after `SETTLE_MS`.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import AsyncIterator, Awaitable, Callable, Container, Iterable
from pathlib import Path

from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.files import load
from knobmenu.files.opening import StrPath

SETTLE_MS = 300
"""How long a file may be broken before that is reported. [ms]"""

_STEP_MS = 20
_GATHER_MS = 60
_CHECK_MS = 500
"""How often files are checked even if the system reports no change. [ms]"""

_FIRST_PAUSE_S = 0.5
_LONGEST_PAUSE_S = 30.0


async def follow(
    paths: tuple[Path, ...],
    changed: Callable[[set[Path]], Awaitable[None]],
    failed: Callable[[Exception], object],
) -> None:
    """Call a function each time that some files changed, until the task is cancelled.

    Args:
        paths: The files.
        changed: Called with the files that changed, or that may have changed unseen.
        failed: Called with any exception; watching starts again after a pause, which grows each time.
    """
    pause_s = _FIRST_PAUSE_S
    missed = False
    while True:
        try:
            if missed:
                await changed(set(paths))
            async for some in watch_changes(paths):
                await changed(some)
                pause_s = _FIRST_PAUSE_S
        except Exception as error:
            failed(error)
        missed = True
        await asyncio.sleep(pause_s)
        pause_s = min(2 * pause_s, _LONGEST_PAUSE_S)


async def watch_changes(paths: tuple[Path, ...]) -> AsyncIterator[set[Path]]:
    """Yield the files that changed, each time that some did, until the task is cancelled.

    A watch is lost when its folder is deleted, moved or made again, and some network folders report nothing. So the
    files are also checked every `_CHECK_MS`, and watching starts again if a change was missed.
    """
    # A link changes with the file that it leads to.
    watched = {path.resolve(): path for path in paths} | {path.parent.resolve() / path.name: path for path in paths}
    folders = sorted({path.parent for path in watched})
    seen = _get_stamps(paths)
    while True:
        present = [folder for folder in folders if folder.is_dir()]
        async for names in _walk_names(present, watched):
            before, seen = seen, await asyncio.to_thread(_get_stamps, paths)
            changed = {path for path in paths if seen[path] != before[path]}
            reported = {watched[name] for name in names}
            if changed or reported:
                yield changed | reported
            if changed and not reported:
                break


async def _walk_names(folders: list[Path], watched: Container[Path]) -> AsyncIterator[set[Path]]:
    """Yield what changed in folders, and an empty set after each `_CHECK_MS` without a change."""
    # Late: importing it is slow, and only watching needs it.
    from watchfiles import awatch

    def is_wanted(_change: object, name: str) -> bool:
        return Path(name) in watched

    while not folders:
        await asyncio.sleep(_CHECK_MS / 1000)
        yield set()
    async for found in awatch(
        *folders,
        watch_filter=is_wanted,
        recursive=False,
        step=_STEP_MS,
        debounce=_GATHER_MS,
        rust_timeout=_CHECK_MS,
        yield_on_timeout=True,
    ):
        yield {Path(name) for _, name in found}


def get_stamp(path: StrPath) -> tuple[int, ...] | None:
    """Return a value that changes with the file; None while the file does not exist."""
    try:
        there = os.stat(path)
    except OSError:
        return None
    return there.st_mtime_ns, there.st_size, there.st_ino, there.st_mode


def _get_stamps(paths: Iterable[Path]) -> dict[Path, tuple[int, ...] | None]:
    return {path: get_stamp(path) for path in paths}


async def read_settled(path: Path, read: Callable[[Path], Design] = load) -> Design:
    """Read a design, trying again while it cannot be read.

    Raises:
        DesignError: The design still cannot be read after `SETTLE_MS`.
    """
    tries = 6
    for attempt in range(tries):
        try:
            return await asyncio.to_thread(read, path)
        except DesignError:
            if attempt == tries - 1:
                raise
            await asyncio.sleep(SETTLE_MS / 1000 / (tries - 1))
    raise AssertionError("the last attempt returns or raises")
