"""Beginning, continuing and listing the sittings of a study on disk."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from itertools import count
from pathlib import Path

import attrs

from knobmenu.errors import RecordingError
from knobmenu.files.recordings import PatientRecording, RecordingFile, begin_recording, read_events
from knobmenu.files.sittings import (
    RecordedSitting,
    create_folder,
    get_sitting_path,
    is_blank,
    list_sitting_paths,
    list_sittings,
    lock_numbers,
    read_first_mark,
)
from knobmenu.review.ongoing import OngoingSitting, begin_sitting, continue_sitting
from knobmenu.review.sitting import Sitting, format_participant_mark, read_participant_mark, resume
from knobmenu.review.study import Study
from knobmenu.review.study_form import Setup
from knobmenu.session.restoring import restore


@attrs.frozen
class OpenSitting:
    """A sitting in progress, and its recording."""

    ongoing: OngoingSitting
    recording: PatientRecording
    file: RecordingFile

    @property
    def problem(self) -> str:
        """Why it cannot be recorded any more; empty while it can."""
        return "" if self.recording.error is None else str(self.recording.error)

    def close(self) -> None:
        """Stop recording it."""
        self.file.close()


def open_sitting(setup: Setup, study: str | Path, code: str, real_ms: int) -> OpenSitting:
    """Begin a participant's sitting, or continue it where it stopped.

    Args:
        setup: The study.
        study: Its file.
        code: The participant's code.
        real_ms: Real time now. [ms]

    Raises:
        ValueError: The code is not a key.
        RecordingError: The sitting is over, another process runs it, it belongs to another study, or its file cannot
            be read or written.
    """
    format_participant_mark(code, 0)  # refuses what is not a code before anything is written
    create_folder(study)
    path = get_sitting_path(study, code)
    exists = path.exists()
    if exists and not is_blank(path):
        read_events(path)  # refuses a newer format before the file is touched
    file = RecordingFile.append_to(path) if exists else RecordingFile(path)
    recording = PatientRecording(file)
    try:
        whose = read_participant_mark(read_first_mark(path))
        with claim_number(study, code) if whose is None else nullcontext(whose[1]) as number:
            if is_blank(path):
                recorder = begin_recording(recording, real_ms)
                ongoing = begin_sitting(setup, code, number, recorder, real_ms)
            else:
                restored = restore(*read_events(path))
                ongoing = continue_sitting(setup, code, number, restored, recording, real_ms)
        if ongoing.stage is None:
            raise RecordingError("expected a sitting that can continue, got one that is over. Choose another code.")
    except RecordingError as error:
        file.close()
        at = "" if str(error).startswith(str(path)) else f"{path}: "
        raise RecordingError(f"{at}{error}") from None
    return OpenSitting(ongoing, recording, file)


@contextmanager
def claim_number(study: str | Path, code: str) -> Iterator[int]:
    """Return a context with the lowest number that no other participant of a study has or can claim.

    The number is the participant's once their mark is recorded; record it before the context ends. If the process is
    killed before that, the number is free again.

    Args:
        study: The study's file.
        code: The participant's code.

    Raises:
        RecordingError: The numbers cannot be locked.
    """
    with lock_numbers(study):
        yield find_free_number(study, code)


def find_free_number(study: str | Path, besides: str = "") -> int:
    """Find the lowest number, from 0, that no participant of a study has.

    Args:
        study: The study's file.
        besides: A participant's code to ignore.
    """
    taken = {
        read_participant_mark(read_first_mark(path))
        for code, path in list_sitting_paths(study).items()
        if code != besides
    }
    numbers = {whose[1] for whose in taken if whose is not None}
    return next(number for number in range(len(numbers) + 1) if number not in numbers)


def find_free_code(study: str | Path) -> str:
    """Find a code that no sitting of a study has: ``p01`` for the participant with the number 0."""
    return next(walk_free_codes(study))


def walk_free_codes(study: str | Path) -> Iterator[str]:
    """Walk codes that no sitting of a study has."""
    taken = list_sitting_paths(study)
    return (code for number in count(find_free_number(study) + 1) if (code := f"p{number:02}") not in taken)


def list_interrupted(study: Study, path: str | Path) -> tuple[str, ...]:
    """List the codes of the sittings that can be continued.

    Args:
        study: The study.
        path: Its file.
    """
    found = ((one, _read_progress(study, one)) for one in list_sittings(path) if not one.being_written)
    return tuple(one.code for one, sitting in found if isinstance(sitting, Sitting) and sitting.stage is not None)


def format_overview(study: Study, sittings: Sequence[RecordedSitting]) -> tuple[str, ...]:
    """Format the progress of the sittings of a study, one on a line."""
    if not sittings:
        return (f"{study.name}: no sittings yet",)
    lines = [f"{study.name}: {len(sittings)} sitting{'s' if len(sittings) > 1 else ''}"]
    lines += [
        f"  {one.code:<12}{one.started[:16].replace('T', ' '):<18}{_format_state(study, one)}" for one in sittings
    ]
    return tuple(lines)


def _format_state(study: Study, recorded: RecordedSitting) -> str:
    """Format the progress of a sitting."""
    sitting = _read_progress(study, recorded)
    if isinstance(sitting, str):
        return sitting
    if sitting.stage is None:
        return "over"
    tasks = sum(stage in sitting.trials for stage in sitting.stages[: sitting.finished])
    state = "in progress" if recorded.being_written else "interrupted"
    return f"{state}, {tasks} of {len(sitting.trials)} tasks done"


def _read_progress(study: Study, recorded: RecordedSitting) -> Sitting | str:
    """Return the progress of a sitting, or why it is unknown."""
    if recorded.problem:
        return recorded.problem
    try:
        # One that was interrupted before its first mark gets its number later; the count of tasks is the same for any.
        return resume(study, recorded.marks if recorded.has_begun else (format_participant_mark(recorded.code, 0),))
    except (RecordingError, ValueError) as error:
        return str(error)
