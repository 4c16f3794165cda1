"""Pictures of the app: every demo in every look at three sizes, as SVG files to be looked at.

    python -m tests.pictures [FOLDER]

Without a folder they go to ``build/pictures``. One of them is the picture in the README and one that of the bench in
the docs; ``--readme`` makes those alone, at their places. They are the same each time, on every machine.
"""

from __future__ import annotations

import sys
from importlib.resources import files
from pathlib import Path

import attrs

from knobmenu.bench.chain import Judging
from knobmenu.bench.filter import Filter
from knobmenu.bench.live import FIRST_TRY
from knobmenu.bench.simulated import SimulatedEncoder, make_first_try
from knobmenu.errors import Problem
from knobmenu.files.disk import load
from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads
from knobmenu.picture.palettes import PALETTES
from knobmenu.session.variants import Variant
from knobmenu.terminal.notice import Notice
from tests.terminal.bench_stage import BenchStage
from tests.terminal.stage import Stage

ROOT = Path(__file__).parents[1]
SIZES = ((80, 24), (120, 40), (200, 55))
WALK = "up up press up up press up"
"""What is done before a picture is taken."""


def built_in() -> Variant:
    """Return the demo that is tried without a design."""
    return Variant(loads(files("knobmenu.terminal").joinpath("demo.toml").read_text(encoding="utf-8")), None)


def scenes() -> dict[str, Stage | BenchStage]:
    """Return what there is to be pictured, by name."""
    return {**desk_scenes(), **bench_scenes()}


def bench_scenes() -> dict[str, BenchStage]:
    """Return what there is to be pictured of the bench."""
    # Fewer runs than the bench does, since this is done for each look at it.
    first = attrs.evolve(FIRST_TRY, judging=Judging(seeds=4))
    filtered = attrs.evolve(
        first, decoder="table", filter=Filter(series_ohm=10_000.0, capacitor_f=1e-7, rising_v=2.9, falling_v=1.9)
    )
    return {
        "bench": BenchStage("a first try", first),
        "bench-filtered": BenchStage("mine.toml", filtered).turn("filter.capacitor_f", 1).judge(),
        "bench-turned": BenchStage("mine.toml", filtered).turn("reader.blocked_for_ms", -5),
    }


def desk_scenes() -> dict[str, Stage]:
    """Return what there is to be pictured of the desk."""
    starter = loads(read_starter())
    shown = {"built-in": Stage([built_in()]), "starter": Stage([Variant(starter, None)])}
    for path in sorted((ROOT / "demos").glob("*.toml")):
        shown[path.stem] = Stage([Variant(load(path), path)])
    shown["two-variants"] = Stage([built_in(), Variant(starter, None)])
    for stage in shown.values():
        stage.do(WALK)
    shown["held"] = Stage([built_in()]).do("up press hold")
    shown["held"].now_ms += 350
    shown["past"] = Stage([built_in()]).do("up up press up note:long_way press up back back down press up back")
    shown["broken"] = Stage([built_in()]).do(WALK)
    shown["broken"].notice = Notice("broken at line 12; the last good design stays", "wrong")
    shown["broken"].variants[0].problems = (
        Problem("settings.rise.step", "7", "a whole number from 1 to 5", file="box.toml", line=12),
        Problem("menus.main.entries", "'bel'", "the key of a part", "Did you mean 'bell'?", "box.toml", 40),
    )
    shown["simulated-encoder"] = Stage([built_in()])
    shown["simulated-encoder"].use(SimulatedEncoder(make_first_try(built_in().design.knob), 0))
    shown["simulated-encoder"].do("up wait up wait up wait up wait spin wait down wait")
    return shown


def all_pictures(folder: Path) -> int:
    """Make every picture; return how many."""
    folder.mkdir(parents=True, exist_ok=True)
    made = 0
    for name, stage in scenes().items():
        for look in PALETTES:
            for columns, rows in SIZES:
                file = folder / f"{name}-{look.name.replace(' ', '-')}-{columns}x{rows}.svg"
                file.write_text(stage.svg(columns, rows, look), encoding="utf-8")
                made += 1
    return made


def for_readme() -> str:
    """Draw the picture in the README."""
    return desk_scenes()["built-in"].svg(120, 40)


def for_bench() -> str:
    """Draw the picture of the bench in the docs."""
    return bench_scenes()["bench-filtered"].svg(120, 40)


def main(words: list[str]) -> None:
    """Make the pictures that are asked for."""
    if words == ["--readme"]:
        (ROOT / "docs" / "images" / "app.svg").write_text(for_readme(), encoding="utf-8")
        (ROOT / "docs" / "images" / "bench-screen.svg").write_text(for_bench(), encoding="utf-8")
        return
    folder = Path(words[0]) if words else ROOT / "build" / "pictures"
    made = all_pictures(folder)
    sys.stdout.write(f"{made} pictures in {folder}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
