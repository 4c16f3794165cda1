"""Locks on open files, by which a process detects that another one is writing a file.

The system releases a lock when its process ends, however it ends. Locks are advisory: a program that does not check
them, such as a reader, is not affected.
"""

from __future__ import annotations

import os
import sys
import time

PATIENCE_S = 0.2
"""How long to try for a lock, since `is_locked` in another process holds it for an instant. [s]"""

_POLL_S = 0.01
_WINDOWS_OFFSET = 2**62
"""The position of the locked byte on Windows, where locks are mandatory: beyond what any reader reads. [bytes]"""


def lock(descriptor: int, patience_s: float = PATIENCE_S) -> bool:
    """Lock an open file until it is closed.

    Args:
        descriptor: The file, open for writing.
        patience_s: How long to try. [s]

    Returns:
        Whether the lock was obtained. On a file system without locks, it always is.
    """
    until = time.monotonic() + patience_s
    while not _try_lock(descriptor):
        if time.monotonic() >= until:
            return False
        time.sleep(_POLL_S)
    return True


def is_locked(path: str | os.PathLike[str]) -> bool:
    """Return whether a file is locked; a file that cannot be opened is not."""
    try:
        descriptor = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
    except (OSError, ValueError):
        return False
    try:
        return not _try_lock(descriptor)
    finally:
        os.close(descriptor)


if sys.platform == "win32":
    import msvcrt

    def _try_lock(descriptor: int) -> bool:
        os.lseek(descriptor, _WINDOWS_OFFSET, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        finally:
            os.lseek(descriptor, 0, os.SEEK_END)
        return True

else:
    import fcntl

    def _try_lock(descriptor: int) -> bool:
        # `flock` belongs to the open file; a `lockf` lock is lost when the process closes any descriptor of the file.
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            return True  # this file system has no locks
        return True
