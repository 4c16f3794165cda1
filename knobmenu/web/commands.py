"""What runs in a participant's page: this program again, presented for good, writing nothing but its recording."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from itertools import count
from pathlib import Path


def recording_name(folder: Path, participant: int, exists: Callable[[Path], bool]) -> Path:
    """Name the recording of a participant's next session: one file for each, so that none is written over.

    Args:
        folder: Where the recordings are.
        participant: The participant's number.
        exists: Whether a file is there.
    """
    names = (folder / f"participant-{participant:03}{f'-{again}' if again > 1 else ''}.jsonl" for again in count(1))
    return next(name for name in names if not exists(name))


def run_sitting(study: str, codes: Sequence[str]) -> Callable[[int], Sequence[str]]:
    """Return what gives the arguments with which a participant does a sitting, or continues the one that was cut off.

    Args:
        study: The study's file.
        codes: The participants' codes.
    """

    def command(participant: int) -> Sequence[str]:
        code = codes[participant - 1]
        return (sys.executable, "-m", "knobmenu", "study", study, "--served", "--participant", code)

    return command


def try_design(design: str, folder: Path) -> Callable[[int], Sequence[str]]:
    """Return what gives the arguments with which a participant tries a design.

    Args:
        design: The design's file.
        folder: Where the recordings are.
    """

    def command(participant: int) -> Sequence[str]:
        recording = recording_name(folder, participant, Path.exists)
        return (sys.executable, "-m", "knobmenu", "try", design, "--served", "--record", str(recording))

    return command
