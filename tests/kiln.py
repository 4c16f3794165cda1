"""An invented device for the tests of sessions and of the terminal."""

from pathlib import Path

import attrs
import pytest

from knobmenu.design.conditions import AtLeast, Equal
from knobmenu.design.hardware import Acceleration, Knob, Lamp, Sounder, Tone
from knobmenu.design.home import Home, Idle, Row
from knobmenu.design.menu import Entry, Menu, Readout
from knobmenu.design.settings import Choice, Number, Option, Switch
from knobmenu.design.whole import Design
from knobmenu.files import save

_BEEPS = (Option(key="soft", label="Soft"), Option(key="loud", label="Loud"))
_BEEP = Entry("beep", shown_if=Equal("light", True))


@pytest.fixture(scope="session")
def kiln() -> Design:
    """An invented kiln for glass beads."""
    return Design(
        name="Kiln",
        knob=Knob(acceleration=(Acceleration(faster_than_ms=20, times=10),)),
        settings=(
            Number(key="warm", label="Warm", low=0, high=100, initial=40, unit="%", accelerates=True),
            Switch(key="light", label="Light"),
            Choice(
                key="beep", label="Beep", options=(Option(key="soft", label="Soft"), Option(key="loud", label="Loud"))
            ),
        ),
        readouts=(Readout(key="inside", label="Inside", initial=215, decimals=1, unit="°C"),),
        menus=(
            Menu(
                key="main",
                label="Menu",
                entries=("warm", "light", Entry("beep", shown_if=Equal("light", True)), "more"),
            ),
            Menu(key="more", label="More", entries=("inside", "back")),
        ),
        home=Home(rows=(Row("Kiln", right="{inside}"), Row("Warm", right="{warm}")), turn="warm", press="main"),
        idle=Idle(after_ms=5000),
        save_after_ms=1000,
        lamps=(
            Lamp(key="hot", label="Hot", colour="red", lit_if=AtLeast("warm", 60), blink_ms=1000),
            Lamp(key="click", label="Click", answers=("press",)),
        ),
        sounder=Sounder(tones=(Tone(answers=("limit",)),)),
    )


@pytest.fixture(scope="session")
def other_kiln(kiln: Design) -> Design:
    """The same with its knob the other way round, double presses, and a shorter long press."""
    knob = attrs.evolve(kiln.knob, clockwise="down", double_press_ms=300, long_press_ms=300)
    return attrs.evolve(kiln, name="Kiln B", knob=knob)


@pytest.fixture
def kiln_file(kiln: Design, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The kiln in a file, in a folder of its own that is the current one."""
    path = tmp_path / "kiln.toml"
    save(kiln, path)
    monkeypatch.chdir(tmp_path)
    return path
