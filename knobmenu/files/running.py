"""The recording of the running session: started late, and continued if a kept session is resumed."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from knobmenu.design.whole import Design
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

if TYPE_CHECKING:
    from knobmenu.files.recordings import PatientRecording
    from knobmenu.files.sessions import KeptSession
    from knobmenu.session.recorder import Recorder
    from knobmenu.session.restoring import RestoredRecording
    from knobmenu.session.unsaved import Unsaved


class RunningRecording:
    """The recording of the running session, if there is one."""

    def __init__(
        self, open_recording: Callable[[], PatientRecording] | None = None, restored: RestoredRecording | None = None
    ) -> None:
        """Prepare the recording.

        Args:
            open_recording: Opens the recording; None: the session is not recorded.
            restored: The present contents of the recording; None: it is empty.
        """
        self._open = open_recording
        self._restored = restored
        self._recording: PatientRecording | None = None
        self._reason = ""
        """The last reported reason why records could not be written; empty: they were written."""
        self._warned_of: Unsaved | None = None
        """The unsaved work of the last warning against leaving."""

    def begin(self, designs: Sequence[Design], real_ms: int) -> tuple[Session, tuple[str, ...]]:
        """Start a session at power-on, or continue the recorded one.

        Args:
            designs: The variants.
            real_ms: Real time now. [ms]

        Returns:
            The session, and a sentence for each thing that could not be carried over.
        """
        if self._restored is not None and self._open is not None:
            return self._resume(self._open(), self._restored, designs, real_ms)
        timeline = Timeline(designs)
        if self._open is not None:
            timeline.record_later(self._make_recorder_factory(self._open, real_ms))
        return Session(timeline, real_ms), ()

    def _make_recorder_factory(
        self, open_recording: Callable[[], PatientRecording], real_ms: int
    ) -> Callable[[], Recorder]:
        def begin() -> Recorder:
            # Late: importing it would delay the first frame.
            from knobmenu.files.recordings import begin_recording

            self._recording = recording = open_recording()
            return begin_recording(recording, real_ms, recording.files)

        return begin

    def continue_with(self, path: Path, designs: Sequence[Design], real_ms: int) -> tuple[Session, tuple[str, ...]]:
        """Continue a kept session in its file; the session that ran until now stays kept.

        Returns:
            The same as `begin`.

        Raises:
            RecordingError: The kept session cannot be read or written; nothing has changed.
        """
        from knobmenu.files.sessions import KeptSession

        kept, restored = KeptSession.resume(path)
        if self.kept is not None:
            self.kept.close()
        return self._resume(kept, restored, designs, real_ms)

    def _resume(
        self, recording: PatientRecording, restored: RestoredRecording, designs: Sequence[Design], real_ms: int
    ) -> tuple[Session, tuple[str, ...]]:
        from knobmenu.session.resuming import resume

        self._recording = recording
        self._reason = ""
        return resume(restored, designs, recording, real_ms)

    @property
    def kept(self) -> KeptSession | None:
        """The kept session; None if nothing was recorded yet, or if it is recorded to the user's own file."""
        if self._recording is None:
            return None
        from knobmenu.files.sessions import KeptSession

        return self._recording if isinstance(self._recording, KeptSession) else None

    async def offer(self, paths: Sequence[Path | None]) -> str:
        """Describe the session that could be resumed, such as ``14:02: 2 notes and 31 events``; empty if there is none.

        Args:
            paths: The designs' files.
        """
        from knobmenu.files.kept import resolve_name
        from knobmenu.files.sessions import find_unfinished

        found = await asyncio.to_thread(find_unfinished, list(map(resolve_name, paths)))
        return f"{found[0].format_start()}: {found[0].unsaved.description}" if found else ""

    def report_change(self) -> tuple[str, str] | None:
        """Report once that recording failed, or works again.

        Returns:
            A sentence and its ink; None if nothing changed.
        """
        recording = self._recording
        reason = "" if recording is None or recording.error is None else recording.error.reason
        if reason == self._reason:
            return None
        self._reason = reason
        what = "recorded" if self.kept is None else "kept"
        return (f"not {what}: {reason}", "caution") if reason else (f"{what} again", "good")

    def refuse_leaving(self) -> str:
        """Report once what would be lost by leaving now; empty if nothing would, or if it was reported already."""
        recording = self._recording
        if recording is None or not recording.is_lost or recording.unsaved == self._warned_of:
            return ""
        self._warned_of = recording.unsaved
        return f"{recording.unsaved.description} neither kept nor saved: s saves, q again quits"
