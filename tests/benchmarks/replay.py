"""How long it takes to go through a recording of a million events: ``python -m tests.benchmarks.replay [EVENTS]``."""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from knobmenu.events import Press, Turn
from knobmenu.files import load
from knobmenu.files.recordings import RecordingFile, read_events, read_visible
from knobmenu.session.playback import walk_frames
from knobmenu.session.recorder import Recorder
from knobmenu.session.restoring import restore
from knobmenu.session.timeline import Timeline

DEMOS = Path(__file__).parents[2] / "demos"


def main(events: int = 1_000_000) -> None:
    """Record, then replay and restore; times are of this process alone."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.jsonl"
        with RecordingFile(path) as sink:
            timeline = Timeline([load(DEMOS / "radio.toml")], Recorder(sink, 0))
            for number in range(events):
                at_ms = 50 * number
                event = Press(at_ms) if number % 7 == 6 else Turn(at_ms, 1 if number % 5 < 3 else -1)
                timeline.follow([event], at_ms)
        del timeline
        begin = time.process_time()
        seen = sum(1 for _ in walk_frames(*read_visible(path)))
        replayed = time.process_time() - begin
        begin = time.process_time()
        restored = restore(*read_events(path))
        print(f"{seen} records: replay {replayed:.1f} s, restore {time.process_time() - begin:.1f} s (process time)")
        assert len(restored.timeline.history) == events + 1


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
