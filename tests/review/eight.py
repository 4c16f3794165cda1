"""Eight simulated people in the demo study, as they stand recorded in demos/study.

python -m tests.review.eight        records them again, when the format or the demo changes
"""

from __future__ import annotations

import shutil
from pathlib import Path
from tempfile import TemporaryDirectory

from knobmenu.files.sittings import get_sittings_folder
from tests.demos.playing import DEMOS
from tests.review.participants import run_study
from tests.review.readers import exact, hesitant, lost, overshooting

STUDY = DEMOS / "study" / "study.toml"

CROWD = (exact, hesitant, exact, overshooting, exact, hesitant, lost, exact)
"""People who read the labels; one turns too far, and one strays."""

DAY = "2026-03-14T13:00:00+00:00"
"""When their invented afternoon began."""


def copy_study(folder: Path) -> Path:
    """Copy the demo study without its sittings; return its file."""
    for path in STUDY.parent.glob("*.toml"):
        shutil.copy(path, folder)
    return folder / STUDY.name


def record_eight(study: Path) -> dict[str, bytes]:
    """Let all of them take part; return the files of their sittings by name."""
    return {path.name: _dated(path.read_bytes()) for path in run_study(study, CROWD)}


def _dated(recording: bytes) -> bytes:
    """Let a recording say the invented day."""
    before, _, rest = recording.partition(b'"started":"')
    return before + b'"started":"' + DAY.encode() + rest[rest.index(b'"') :]


if __name__ == "__main__":
    with TemporaryDirectory() as name:
        recorded = record_eight(copy_study(Path(name)))
    folder = get_sittings_folder(STUDY)
    folder.mkdir(exist_ok=True)
    for file, content in recorded.items():
        (folder / file).write_bytes(content)
