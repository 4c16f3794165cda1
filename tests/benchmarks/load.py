"""How long a design of 10,000 settings and 10,000 entries takes to load, and what that is against the parser alone.

Goal: under 1 s. The settings are of every kind that has many in real menus; a tenth of the entries has a condition.
The same file with one mistake is timed too, since a broken file is read again to say everything that is wrong.
"""

from __future__ import annotations

import sys
import tempfile
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

from knobmenu.errors import DesignError
from knobmenu.files import load, toml
from tests.benchmarks._alone import most_memory, run_alone

SETTINGS = 10_000
MENU = 100


def design_text() -> str:
    """Write a design of `SETTINGS` settings in menus of `MENU` entries, all listed in the main menu."""
    rows = ["format = 1", 'name = "Large"', "[home]", 'press = "main"']
    for number in range(SETTINGS):
        rows += [f"[settings.s{number}]", f'label = "Setting {number}"']
        match number % 4:
            case 0 | 1:
                rows += ['kind = "number"', "low = 0", "high = 100", f"initial = {number % 100}", 'unit = "%"']
            case 2:
                rows += ['kind = "switch"', "initial = true"]
            case _:
                rows += ['kind = "choice"', 'options = [{ key = "a", label = "One" }, { key = "b", label = "Two" }]']
    menus = range(SETTINGS // MENU)
    for menu in menus:
        rows += [f"[menus.m{menu}]", f'label = "Menu {menu}"', "entries = ["]
        for number in range(menu * MENU, (menu + 1) * MENU):
            condition = f', shown_if = {{ less = ["s{number - number % 4}", 50] }}' if number % 10 == 0 else ""
            rows.append(f'    {{ target = "s{number}"{condition} }},' if condition else f'    "s{number}",')
        rows.append("]")
    rows += ["[menus.main]", 'label = "Main"', "entries = [" + ", ".join(f'"m{menu}"' for menu in menus) + "]"]
    return "\n".join(rows) + "\n"


def seconds(work: Callable[[], object], times: int = 5) -> float:
    """Give the best of some times that a piece of work takes. [s]"""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def refused(path: Path) -> None:
    """Load a file that holds a mistake."""
    try:
        load(path)
    except DesignError:
        return
    raise AssertionError("the mistake was not found")


def main() -> None:
    """Print the figures."""
    text = design_text()
    with tempfile.TemporaryDirectory() as folder:
        path, broken = Path(folder) / "large.toml", Path(folder) / "broken.toml"
        path.write_text(text, encoding="utf-8")
        broken.write_text(text.replace('target = "s5000"', 'target = "s50000"'), encoding="utf-8")
        design = load(path)
        parser = seconds(lambda: tomllib.loads(text))
        whole = seconds(lambda: load(path))
        mistaken = seconds(lambda: refused(broken), 2)
        writing = seconds(lambda: toml.dumps(design), 2)
    print(
        f"{len(design.settings)} settings, {sum(len(menu.entries) for menu in design.menus)} entries, {len(text)} bytes"
    )
    print(f"load:            {whole:.3f} s, {whole / parser:.2f} times tomllib alone ({parser:.3f} s); goal: under 1 s")
    print(f"load, a mistake: {mistaken:.3f} s, {mistaken / parser:.2f} times tomllib alone")
    print(f"write:           {writing:.3f} s, {writing / parser:.2f} times tomllib alone")


def hold_memory() -> None:
    """Print the most memory that loading takes, beside that of the interpreter with what loading imports."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.toml"
        path.write_text(design_text(), encoding="utf-8")
        before = most_memory()
        design = load(path)
        assert len(design.settings) == SETTINGS
        print(f"memory: {most_memory():.0f} MiB at most while loading, {before:.0f} MiB before")


if __name__ == "__main__":
    main()
    sys.stdout.write(run_alone("tests.benchmarks.load", "hold_memory"))
