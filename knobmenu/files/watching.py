"""A design's file, watched: read again when it changed, and broken only when it stays broken.

The folder is watched, not the file, so that a file which is put in its place by renaming, or taken away and written
anew, is still seen. An editor may write in two parts; so a file that cannot be read is tried again, and said to be
broken only when it still is after `SETTLE_MS`.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from pathlib import Path

from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.files import load

SETTLE_MS = 300
"""How long a file may be broken before that is reported. [ms]"""

_STEP_MS = 20
_GATHER_MS = 60


async def changes(paths: tuple[Path, ...]) -> AsyncIterator[set[Path]]:
    """Tell which of the files changed, each time that some did, until the task is cancelled."""
    # Late, since it takes a while and is needed only where a file is watched.
    from watchfiles import awatch

    wanted = {path.resolve().parent / path.name: path for path in paths}

    def is_wanted(_change: object, name: str) -> bool:
        return Path(name) in wanted

    folders = {path.parent for path in wanted}
    async for found in awatch(*folders, watch_filter=is_wanted, recursive=False, step=_STEP_MS, debounce=_GATHER_MS):
        yield {wanted[Path(name)] for _, name in found}


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
