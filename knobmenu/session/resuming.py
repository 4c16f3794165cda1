"""Continuation of a recorded session: the knob keeps its position, and the recording continues."""

from __future__ import annotations

from collections.abc import Sequence

from knobmenu.design.whole import Design
from knobmenu.session.recorder import Recorder, Sink
from knobmenu.session.restoring import RestoredRecording
from knobmenu.session.session import Session


def resume(
    restored: RestoredRecording, designs: Sequence[Design], sink: Sink, real_ms: int
) -> tuple[Session, tuple[str, ...]]:
    """Continue a restored recording.

    Args:
        restored: The contents of the recording.
        designs: The variants as they are now, as many as were recorded; the session migrates to those that changed.
        sink: Receives the records that follow.
        real_ms: Real time now. [ms]

    Returns:
        The session with the knob released, and a sentence for each thing that could not be carried over.
    """
    timeline = restored.timeline
    timeline.recorder = recorder = Recorder(sink, real_ms - restored.lasted_ms)
    session = Session(timeline, real_ms)
    session.turned = restored.turned
    # Nothing holds the knob down after a restart.
    recorder.move(session.turned, False, real_ms)
    dropped: list[str] = []
    for variant, design in enumerate(designs):
        if design != timeline.designs[variant]:
            dropped += timeline.redesign(variant, design, real_ms)
    return session, tuple(dropped)
