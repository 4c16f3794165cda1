"""How long a report over many sittings takes: ``python -m tests.benchmarks.report [SITTINGS]``.

Two dozen simulated participants take part; the other sittings are copies of theirs under other codes.
"""

from __future__ import annotations

import contextlib
import io
import sys
import tempfile
import time
from pathlib import Path

from knobmenu.cli.main import main as run_command
from tests.review.participants import sit_on_disk
from tests.review.planted import write_study
from tests.review.readers import exact, hesitant, lost, overshooting

CROWD = (exact, hesitant, exact, overshooting, exact, hesitant, lost, exact)
ORIGINALS = 24
"""Two rounds of the orders of two variants and three tasks; a copy has the order of its original."""


def main(sittings: int = 1000) -> None:
    """Write the sittings, then report them; times are of this process alone."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        study = write_study(folder, "mislabelled", "hidden")
        originals = [sit_on_disk(study, CROWD[number % 8], number, number) for number in range(ORIGINALS)]
        for number in range(ORIGINALS, sittings):
            _copy(originals[number % ORIGINALS], number)
        megabytes = sum(path.stat().st_size for path in originals[0].parent.iterdir()) / 1e6
        outputs = ("--html", folder / "r.html", "--markdown", folder / "r.md", "--csv", folder / "r.csv")
        begin, begin_wall = time.process_time(), time.monotonic()
        with contextlib.redirect_stdout(said := io.StringIO()):
            code = run_command(["report", str(study), *map(str, outputs)])
        took, wall = time.process_time() - begin, time.monotonic() - begin_wall
        page_size = (folder / "r.html").stat().st_size / 1e6
        assert code == 0
        assert f"{sittings} people," in said.getvalue()
        print(
            f"{sittings} sittings of {megabytes:.0f} MB: report with all outputs {took:.1f} s process time"
            f" ({wall:.1f} s wall), page of {page_size:.1f} MB"
        )


def _copy(original: Path, number: int) -> None:
    """Copy a sitting under another code, for the next participant with the same order."""
    before = f'"participant {original.stem} {int(original.stem[1:]) - 1}"'
    after = f'"participant p{number + 1:04} {number}"'
    text = original.read_text(encoding="utf-8")
    assert text.count(before) == 1
    (original.parent / f"p{number + 1:04}.jsonl").write_text(text.replace(before, after), encoding="utf-8")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
