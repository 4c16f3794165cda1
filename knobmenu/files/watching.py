"""A design's file, watched: read again when it changed, and broken only when it stays broken.

The folder is watched, not the file, so that a file which is put in its place by renaming, or taken away and written
again, is still seen. An editor may write in two parts; so a file that cannot be read is tried again, and said to be
broken only when it still is after `SETTLE_MS`.
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
"""How often files are looked at though nothing is reported. [ms]"""

_FIRST_PAUSE_S = 0.5
_LONGEST_PAUSE_S = 30.0


async def follow(
    paths: tuple[Path, ...],
    changed: Callable[[set[Path]], Awaitable[None]],
    failed: Callable[[Exception], object],
) -> None:
    """Do something each time that some files changed, until the task is cancelled.

    Args:
        paths: The files.
        changed: What is done; takes those that changed, or that may have changed unseen.
        failed: Told what went wrong, whatever it is; the files are watched again after a pause, which grows each time.
    """
    pause_s = _FIRST_PAUSE_S
    missed = False
    while True:
        try:
            if missed:
                await changed(set(paths))
            async for some in changes(paths):
                await changed(some)
                pause_s = _FIRST_PAUSE_S
        except Exception as error:
            failed(error)
        missed = True
        await asyncio.sleep(pause_s)
        pause_s = min(2 * pause_s, _LONGEST_PAUSE_S)


async def changes(paths: tuple[Path, ...]) -> AsyncIterator[set[Path]]:
    """Tell which of the files changed, each time that some did, until the task is cancelled.

    A folder that is deleted, moved away or made again takes its watch along, and some network folders report nothing.
    So the files are checked every `_CHECK_MS` as well, and a folder in which something was missed is watched again.
    """
    # A link changes with the file that it leads to.
    wanted = {path.resolve(): path for path in paths} | {path.parent.resolve() / path.name: path for path in paths}
    folders = sorted({path.parent for path in wanted})
    seen = _stamps(paths)
    while True:
        present = [folder for folder in folders if folder.is_dir()]
        async for names in _names(present, wanted):
            before, seen = seen, await asyncio.to_thread(_stamps, paths)
            changed = {path for path in paths if seen[path] != before[path]}
            reported = {wanted[name] for name in names}
            if changed or reported:
                yield changed | reported
            if changed and not reported:
                break


async def _names(folders: list[Path], wanted: Container[Path]) -> AsyncIterator[set[Path]]:
    """Tell what changed in folders, and nothing after each `_CHECK_MS` without a change."""
    # Late, since it takes a while and is needed only where a file is watched.
    from watchfiles import awatch

    def is_wanted(_change: object, name: str) -> bool:
        return Path(name) in wanted

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


def stamp(path: StrPath) -> tuple[int, ...] | None:
    """Return what is another one once a file changed; None while it is not there."""
    try:
        there = os.stat(path)
    except OSError:
        return None
    return there.st_mtime_ns, there.st_size, there.st_ino, there.st_mode


def _stamps(paths: Iterable[Path]) -> dict[Path, tuple[int, ...] | None]:
    return {path: stamp(path) for path in paths}


async def settled(path: Path, read: Callable[[Path], Design] = load) -> Design:
    """Read a design once it can be read.

    Raises:
        DesignError: It still cannot be read after `SETTLE_MS`.
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
