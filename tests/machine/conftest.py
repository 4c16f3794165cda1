"""A small design that shows each kind of thing once."""

import pytest

from knobmenu.design.conditions import AtLeast, Equal
from knobmenu.design.hardware import Acceleration, Knob, Lamp, Sounder, Tone
from knobmenu.design.home import Gestures, Home, Idle
from knobmenu.design.menu import Action, Entry, Menu, Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, Scale, Switch, TextSetting
from knobmenu.design.whole import Design


@pytest.fixture(scope="session")
def radio() -> Design:
    """An invented radio."""
    return Design(
        name="Radio",
        knob=Knob(
            double_press_ms=250,
            turns_while_held=True,
            acceleration=(Acceleration(faster_than_ms=50, times=5),),
        ),
        settings=(
            Number(key="volume", label="Volume", low=0, high=30, initial=10, accelerates=True),
            Switch(key="mute", label="Mute", saved=False),
            Choice(key="band", label="Band", options=(Option(key="fm", label="FM"), Option(key="mw", label="MW"))),
            Number(key="bass", label="Bass", low=-6, high=6, initial=0, applies="live", ends="wrap"),
            Number(key="quiet", label="Quiet below", low=0, high="loud", initial=5, step=5),
            Number(key="loud", label="Loud above", low="quiet", high=30, initial=20, step=5, applies="live"),
            Number(key="least", label="Least", low=0, high=30, initial=0),
            Number(key="most", label="Most", low="least", high=30, initial=30, applies="live"),
            Scale(key="timeout", label="Timeout", values=(1, 2, 5, 10, 30), initial=5, unit="min"),
            Clock(key="alarm", label="Alarm", initial=7 * 60 + 30),
            Digits(key="frequency", label="Frequency", low=87_500, high=108_000, initial=98_400, decimals=3),
            TextSetting(key="name", label="Name", characters="AB", longest=3, initial="A", after_each="first"),
        ),
        menus=(
            Menu(
                key="main",
                label="Menu",
                entries=(
                    "sound",
                    Entry("frequency", shown_if=Equal("band", "fm")),
                    "band",
                    Entry("timeout", enabled_if=Equal("mute", False)),
                    "alarm",
                    "name",
                    "signal",
                    "erase",
                    "restart",
                    "mute",
                    "back",
                ),
                reopens="last-used",
            ),
            Menu(key="sound", label="Sound", entries=("bass", "quiet", "loud", "least", "most"), ends="wrap"),
            Menu(key="hidden", label="Hidden", entries=(Entry("volume", shown_if=AtLeast("signal", 1)),)),
        ),
        actions=(
            Action(key="erase", label="Erase all", confirm="ask", then="back"),
            Action(key="restart", label="Restart", confirm="hold", then="home", hazard="It may be loud."),
            Action(key="next", label="Next"),
        ),
        readouts=(Readout(key="signal", label="Signal", unit="dB"),),
        home=Home(turn="volume", press="main", long_press="mute", double_press="hidden", held_turn="timeout"),
        idle=Idle(after_ms=10_000),
        gestures=Gestures(long_press="back", double_press="home"),
        lamps=(
            Lamp(key="muted", label="Muted", lit_if=Equal("mute", True)),
            Lamp(key="busy", label="Busy", answers=("limit", "refused"), flash_ms=50),
        ),
        sounder=Sounder(tones=(Tone(answers=("turn",), length_ms=2), Tone(answers=("limit", "refused"), length_ms=60))),
    )
