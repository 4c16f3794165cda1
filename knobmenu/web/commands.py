"""The commands that run in a participant's page: this program in presentation, which writes only its recording."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from itertools import count
from pathlib import Path


def make_recording_path(folder: Path, participant: int, exists: Callable[[Path], bool]) -> Path:
    """Make the path of a participant's next recording; every session has a file of its own, so none is overwritten.

    Args:
        folder: The folder of the recordings.
        participant: The participant's number.
        exists: Returns whether a file exists.
    """
    names = (folder / f"participant-{participant:03}{f'-{again}' if again > 1 else ''}.jsonl" for again in count(1))
    return next(name for name in names if not exists(name))


def run_sitting(study: str, codes: Sequence[str]) -> Callable[[int], Sequence[str]]:
    """Return a function that builds the command with which a participant begins or continues a sitting.

    Args:
        study: The study's file.
        codes: The participants' codes.
    """

    def build_arguments(participant: int) -> Sequence[str]:
        code = codes[participant - 1]
        return (sys.executable, "-m", "knobmenu", "study", study, "--served", "--participant", code)

    return build_arguments


def try_design(design: str, folder: Path) -> Callable[[int], Sequence[str]]:
    """Return a function that builds the command with which a participant tries a design.

    Args:
        design: The design's file.
        folder: The folder of the recordings.
    """

    def build_arguments(participant: int) -> Sequence[str]:
        recording = make_recording_path(folder, participant, Path.exists)
        return (sys.executable, "-m", "knobmenu", "try", design, "--served", "--record", str(recording))

    return build_arguments
