"""Pictures of the app: every demo in every look at three sizes, as SVG files to be looked at.

    python -m tests.pictures [FOLDER]

Without a folder they go to ``build/pictures``. One of them is the picture in the README; ``--readme`` makes that one
alone, at its place. Colours are written out, so a picture looks the same everywhere; no web font is asked for.
"""

from __future__ import annotations

import asyncio
import os
import re
import sys
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

from textual import events

from knobmenu.files.disk import load
from knobmenu.files.starter import starter_text
from knobmenu.files.toml import loads
from knobmenu.terminal.app import KnobApp
from knobmenu.terminal.drawing.palettes import PALETTES, Palette, palette_named
from knobmenu.terminal.variants import Variant

ROOT = Path(__file__).parents[1]
SIZES = ((80, 24), (120, 40), (200, 55))
WALK = ("up", "up", "space", "up", "up", "space", "up")
"""What is done before the picture is taken."""

_FONT_FACE = re.compile(r"@font-face\s*\{[^}]*\}\s*")


def scenes() -> dict[str, tuple[Variant, ...]]:
    """Return what there is to be pictured, by name."""
    demo = Variant(loads(files("knobmenu.terminal").joinpath("demo.toml").read_text(encoding="utf-8")), None)
    starter = Variant(loads(starter_text()), None)
    shown: dict[str, tuple[Variant, ...]] = {"built-in": (demo,), "starter": (starter,)}
    for path in sorted((ROOT / "demos").glob("*.toml")):
        shown[path.stem] = (Variant(load(path), path),)
    shown["two-variants"] = (demo, starter)
    return shown


async def picture(
    variants: Sequence[Variant], look: Palette, columns: int, rows: int, walk: Sequence[str] = WALK
) -> str:
    """Walk a little, and return what is then seen, as SVG."""
    app = KnobApp(variants, look)
    async with app.run_test(size=(columns, rows)) as pilot:
        await pilot.pause()
        for key in walk:
            character = " " if key == "space" else key if len(key) == 1 else None
            app.post_message(events.Key(key, character))
            for _ in range(3):
                await pilot.pause(0)
        # A click lasts a moment, and so does a flash.
        await pilot.pause(0.3)
        svg = app.export_screenshot(title="knobmenu try")
    # What a terminal of this font draws without gaps is drawn without gaps here, and no arrow is made of two signs.
    return _FONT_FACE.sub("", svg).replace("<style>", "<style>\n    text { font-variant-ligatures: none; }", 1)


async def all_pictures(folder: Path) -> int:
    """Make every picture; return how many."""
    folder.mkdir(parents=True, exist_ok=True)
    made = 0
    for name, variants in scenes().items():
        for look in PALETTES:
            for columns, rows in SIZES:
                svg = await picture(variants, look, columns, rows)
                file = folder / f"{name}-{look.name.replace(' ', '-')}-{columns}x{rows}.svg"
                file.write_text(svg, encoding="utf-8")
                made += 1
    return made


def main(words: list[str]) -> None:
    """Make the pictures that are asked for."""
    if words == ["--readme"]:
        svg = asyncio.run(picture(scenes()["built-in"], palette_named("dark"), 120, 40))
        (ROOT / "docs" / "app.svg").write_text(svg, encoding="utf-8")
        return
    folder = Path(words[0]) if words else ROOT / "build" / "pictures"
    made = asyncio.run(all_pictures(folder))
    sys.stdout.write(f"{made} pictures in {folder}\n")


CLEAN = {"COLORTERM": "truecolor", "TERM": "xterm-256color", "TEXTUAL_ANIMATIONS": "none"}
"""The environment in which pictures are taken: the library reads it when it is loaded."""

if __name__ == "__main__":
    kept = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "TEXTUAL_THEME")}
    if {**kept, **CLEAN} != dict(os.environ):
        os.execve(sys.executable, [sys.executable, "-m", "tests.pictures", *sys.argv[1:]], {**kept, **CLEAN})
    main(sys.argv[1:])
