"""The recording of the session that runs: begun late, and continued where a kept session goes on."""

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
    """What records the session that runs, if anything does."""

    def __init__(
        self, open_recording: Callable[[], PatientRecording] | None = None, restored: RestoredRecording | None = None
    ) -> None:
        """Say what will record the session.

        Args:
            open_recording: Opens what takes the records; None: nothing does.
            restored: What it holds already; None: nothing.
        """
        self._open = open_recording
        self._restored = restored
        self._recording: PatientRecording | None = None
        self._reason = ""
        """Why the last records could not be written, as last reported; empty: they were."""
        self._warned_of: Unsaved | None = None
        """What was reported as lost by leaving."""

    def begin(self, designs: Sequence[Design], real_ms: int) -> tuple[Session, tuple[str, ...]]:
        """Switch devices on, or go on with what the recording holds.

        Args:
            designs: The variants.
            real_ms: Real time now. [ms]

        Returns:
            The session, and a sentence for each thing that a changed design could not take.
        """
        if self._restored is not None and self._open is not None:
            return self._resume(self._open(), self._restored, designs, real_ms)
        timeline = Timeline(designs)
        if self._open is not None:
            timeline.record_later(self._recorder(self._open, real_ms))
        return Session(timeline, real_ms), ()

    def _recorder(self, open_recording: Callable[[], PatientRecording], real_ms: int) -> Callable[[], Recorder]:
        def begin() -> Recorder:
            # Late: loading it takes a while, and the first frame need not wait for that.
            from knobmenu.files.recordings import begin_recording

            self._recording = recording = open_recording()
            return begin_recording(recording, real_ms, recording.files)

        return begin

    def go_on_with(self, path: Path, designs: Sequence[Design], real_ms: int) -> tuple[Session, tuple[str, ...]]:
        """Go on with a kept session, in its file; the one that ran until now stays kept.

        Returns:
            What `begin` does.

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
        """The session as it is kept; None where nothing was recorded yet, or it is recorded to a file of the user's."""
        if self._recording is None:
            return None
        from knobmenu.files.sessions import KeptSession

        return self._recording if isinstance(self._recording, KeptSession) else None

    async def offer(self, paths: Sequence[Path | None]) -> str:
        """Say which session could go on instead, such as ``14:02: 2 notes and 31 events``; empty where none could.

        Args:
            paths: The designs' files.
        """
        from knobmenu.files.kept import full_name
        from knobmenu.files.sessions import find_unfinished

        found = await asyncio.to_thread(find_unfinished, list(map(full_name, paths)))
        return f"{found[0].moment()}: {found[0].unsaved.description}" if found else ""

    def news(self) -> tuple[str, str] | None:
        """Say once that the recording failed, or works again.

        Returns:
            A sentence and its ink; None where nothing changed.
        """
        recording = self._recording
        reason = "" if recording is None or recording.error is None else recording.error.reason
        if reason == self._reason:
            return None
        self._reason = reason
        what = "recorded" if self.kept is None else "kept"
        return (f"not {what}: {reason}", "caution") if reason else (f"{what} again", "good")

    def refuse_leaving(self) -> str:
        """Report once what would be lost by leaving now; empty where nothing would, or it was reported."""
        recording = self._recording
        if recording is None or not recording.is_lost or recording.unsaved == self._warned_of:
            return ""
        self._warned_of = recording.unsaved
        return f"{recording.unsaved.description} neither kept nor saved: s saves, q again quits"
