"""A recorded session that goes on: the knob is taken again where it was left, and the recording continues."""

from __future__ import annotations

from collections.abc import Sequence

from knobmenu.design.whole import Design
from knobmenu.session.recorder import Recorder, Sink
from knobmenu.session.restoring import Restored
from knobmenu.session.session import Session


def resume(restored: Restored, designs: Sequence[Design], sink: Sink, real_ms: int) -> tuple[Session, tuple[str, ...]]:
    """Go on with what was restored of a recording.

    Args:
        restored: What the recording holds.
        designs: The variants as they are now, as many as were recorded; a changed one is taken.
        sink: Takes the records that follow.
        real_ms: Real time now. [ms]

    Returns:
        The session with nothing held, and a sentence for each thing that a changed design could not take.
    """
    timeline = restored.timeline
    timeline.recorder = recorder = Recorder(sink, real_ms - restored.lasted_ms)
    session = Session(timeline, real_ms)
    session.turned = restored.turned
    # Whatever held the knob down is gone.
    recorder.move(session.turned, False, real_ms)
    dropped: list[str] = []
    for variant, design in enumerate(designs):
        if design != timeline.designs[variant]:
            dropped += timeline.redesign(variant, design, real_ms)
    return session, tuple(dropped)
