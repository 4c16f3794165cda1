"""Invented designs for the tests of reviews: a clean one."""

from knobmenu.design.home import Home
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Number, Switch
from knobmenu.design.whole import Design


def clean() -> Design:
    """Return an invented amplifier whose menu has no known problem."""
    return Design(
        name="Amplifier",
        settings=(
            Number(key="volume", label="Volume", low=0, high=30, initial=5),
            Switch(key="light", label="Light"),
            Number(key="bass", label="Bass", low=-6, high=6, initial=0),
            Number(key="treble", label="Treble", low=-6, high=6, initial=0),
        ),
        menus=(
            Menu(key="main", label="Menu", entries=("volume", "light", "bass", "tone", "back")),
            Menu(key="tone", label="Tone", entries=("treble", "back")),
        ),
        home=Home(press="main"),
    )
