"""Files of operators and use profiles that are wrong are refused, and the error says where."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from knobmenu.analysis.cost.operators import read_operators
from knobmenu.analysis.cost.profile import read_profile
from knobmenu.errors import DesignError
from tests.demos.playing import demo

Read = Callable[[str], object]


def operators(text: str) -> object:
    return read_operators(text, "mine.toml")


def profile(text: str) -> object:
    return read_profile(text, demo("radio"), "mine.toml")


@pytest.mark.parametrize(
    ("read", "text", "said"),
    [
        (operators, "format = 1\n", "operators.K"),
        (operators, "format = 2\n", "format"),
        (operators, "format = 1\n[operators.K]\nlow = 2\ntypical = 1\nhigh = 3\nsource = 'x'\n", "ascending"),
        (operators, "format = 1\n[operators.K]\nlow = 1\ntypical = 1\nhigh = 3\n", "operators.K.source"),
        (operators, "format = ", "TOML"),
        (profile, "format = 1\n", "use"),
        (profile, "format = 1\nuse = { bas = 1 }\n", "bass"),
        (profile, "format = 1\nuse = { bass = -1 }\n", "use.bass"),
        (profile, "format = 1\nuse = { bass = 1 }\nvalues.station = { moon = 1 }\n", "values.station.moon"),
        (profile, "format = 1\nuse = { bass = 1 }\nleaving = { window = 1 }\n", "leaving.window"),
        (profile, "format = 1\nuse = { bass = 1 }\nshown = { bass = 2 }\n", "shown.bass"),
        (profile, "format = 1\nuse = { bass = 1 }\nusage = 1\n", "usage"),
        (profile, "format = 3\nuse = { bass = 1 }\n", "format"),
        (profile, "use = [", "TOML"),
    ],
)
def test_a_file_that_is_wrong_is_refused_with_its_place(read: Read, text: str, said: str) -> None:
    with pytest.raises(DesignError, match=said):
        read(text)
