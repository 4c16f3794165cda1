"""Locks on open files, by which a process sees that another one is writing a file.

The system drops a lock when the process that holds it ends, however it ends. A lock says nothing to a program that
does not ask for it: readers read on.
"""

from __future__ import annotations

import os
import sys
import time

PATIENCE_S = 0.2
"""How long a lock is tried for: somebody who only asks holds one for an instant. [s]"""

_POLL_S = 0.01
_WINDOWS_OFFSET = 2**62
"""Where Windows locks a byte: it locks parts of a file, so a part that no reader comes to. [bytes]"""


def lock(descriptor: int, patience_s: float = PATIENCE_S) -> bool:
    """Lock an open file until it is closed.

    Args:
        descriptor: The file, open for writing.
        patience_s: How long to try. [s]

    Returns:
        Whether nobody else holds the lock. A file system that has no locks lets everybody have it.
    """
    until = time.monotonic() + patience_s
    while not _try(descriptor):
        if time.monotonic() >= until:
            return False
        time.sleep(_POLL_S)
    return True


def is_locked(path: str | os.PathLike[str]) -> bool:
    """Return whether another open file of this name is locked; a file that cannot be opened is not."""
    try:
        descriptor = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
    except (OSError, ValueError):
        return False
    try:
        return not _try(descriptor)
    finally:
        os.close(descriptor)


if sys.platform == "win32":
    import msvcrt

    def _try(descriptor: int) -> bool:
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

    def _try(descriptor: int) -> bool:
        # `flock` belongs to the open file; `lockf` would be lost when the process closes any other of the same file.
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            return True  # this file system has no locks
        return True
