"""Memory of a piece of work, in a process of its own: what ran before in this one says nothing about it."""

from __future__ import annotations

import resource
import subprocess
import sys
from pathlib import Path

_STATUS = Path("/proc/self/status")


def run_alone(module: str, function: str) -> str:
    """Run a function of a benchmark in a new process; return what it printed."""
    code = f"from {module} import {function}; {function}()"
    return subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout


def most_memory() -> float:
    """Return the most memory that this process has held so far. [MiB]

    Linux's own figure of this address space (proc(5), VmHWM) where there is one: that of getrusage(2) counts what the
    parent held before it started this program, too.
    """
    if _STATUS.exists():
        line = next(line for line in _STATUS.read_text(encoding="ascii").splitlines() if line.startswith("VmHWM:"))
        return int(line.split()[1]) / 1024
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 1024 / (1024 if sys.platform == "darwin" else 1)
