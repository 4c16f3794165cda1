"""Invented amplifiers for whole studies: a clean one, and the same with one planted problem each."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

import attrs

from knobmenu.design.hardware import Acceleration, Knob
from knobmenu.design.home import Home
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Number, Switch
from knobmenu.design.whole import Design
from knobmenu.files.disk import save
from knobmenu.review.study_form import Setup, read_study

Fault = Literal["none", "mislabelled", "slow", "hidden"]
"""``mislabelled``: the menu of the tone is called System, and another one Tone; ``slow``: the frequency has no
acceleration; ``hidden``: the contrast is found by a long press alone."""

STUDY: dict[str, Any] = {
    "name": "Amplifier (invented)",
    "practice_s": 0,
    "tasks": {
        "treble": {"text": "Make the tone brighter: set the treble to 2.", "done": {"equal": ["treble", 2]}},
        "frequency": {"text": "Tune to a frequency of 300.", "done": {"equal": ["frequency", 300]}},
        "contrast": {"text": "Set the contrast to 7.", "done": {"equal": ["contrast", 7]}},
    },
}


def amplifier(fault: Fault) -> Design:
    """Return an amplifier with a fault, or none."""
    accelerated = Knob(acceleration=(Acceleration(faster_than_ms=200, times=10),))
    entries = ["frequency", "tone", "sounds", "contrast", "back"]
    design = Design(
        name=f"Amplifier, {fault}",
        knob=Knob() if fault == "slow" else accelerated,
        settings=(
            Number(key="frequency", label="Frequency", low=0, high=999, initial=100, accelerates=True),
            Number(key="treble", label="Treble", low=-6, high=6, initial=0),
            Number(key="contrast", label="Contrast", low=0, high=10, initial=5),
            Switch(key="clicks", label="Key clicks"),
        ),
        menus=(
            Menu(
                key="main",
                label="Menu",
                entries=tuple(one for one in entries if fault != "hidden" or one != "contrast"),
            ),
            Menu(key="tone", label="System" if fault == "mislabelled" else "Tone", entries=("treble", "back")),
            Menu(key="sounds", label="Tone" if fault == "mislabelled" else "Sounds", entries=("clicks", "back")),
        ),
        home=Home(press="main"),
    )
    return attrs.evolve(design, home=Home(press="main", long_press="contrast")) if fault == "hidden" else design


def planted_study(*faults: Fault) -> Setup:
    """Return a study whose variants are amplifiers with these faults."""
    plain = STUDY | {"variants": {fault: fault for fault in faults}}
    designs = {fault: amplifier(fault) for fault in faults}
    return read_study(plain, lambda file: designs[file])  # type: ignore[index]  # the files are the faults


def write_study(folder: Path, *faults: Fault) -> Path:
    """Write a study and its designs to a folder.

    Returns:
        The study's file.
    """
    lines = ["format = 1", f'name = "{STUDY["name"]}"', "practice_s = 0", "[variants]"]
    for fault in faults:
        save(amplifier(fault), folder / f"{fault}.toml")
        lines.append(f'{fault} = "{fault}.toml"')
    for key, task in STUDY["tasks"].items():
        (setting, value) = task["done"]["equal"]
        lines += [f"[tasks.{key}]", f'text = "{task["text"]}"', f'done = {{ equal = ["{setting}", {value}] }}']
    path = folder / "study.toml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
