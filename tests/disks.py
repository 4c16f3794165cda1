"""Small disks that fill up, for tests of what is written."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def mount_small_disk(folder: Path, kib: int) -> Iterator[Path]:
    """Mount a disk in memory on a new folder; skip the test where that is not allowed.

    Args:
        folder: Where.
        kib: Its size. [KiB]
    """
    folder.mkdir()
    if shutil.which("mount") is None:
        pytest.skip("there is no mount")
    command = ["mount", "-t", "tmpfs", "-o", f"size={kib}k", "none", str(folder)]
    if subprocess.run(command, check=False, timeout=10, stderr=subprocess.DEVNULL).returncode:
        pytest.skip("this machine lets nobody mount a disk")
    try:
        yield folder
    finally:
        # At once, though a program that was just killed may still have a file open.
        subprocess.run(["umount", "-l", str(folder)], check=True, timeout=10)


def fill(disk: Path) -> Path:
    """Take all room that a disk has; return the file that took it."""
    filler = disk / "filler"
    status = os.statvfs(disk)
    filler.write_bytes(b"x" * (status.f_bavail * status.f_frsize))
    return filler
