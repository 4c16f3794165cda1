"""The form of every part of a design.

Every class of a part in `knobmenu.design` has its form here.
"""

from __future__ import annotations

from typing import Any

from knobmenu.codec.conditions import Conditions
from knobmenu.codec.forms import Form, Found, Keyed, Names, Plain, Rows, Table, Tagged, join_key
from knobmenu.design import hardware, home, menu, settings, simulation
from knobmenu.design.acceptance import Accepted
from knobmenu.design.generators import Generator
from knobmenu.design.home import Translation
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem, quote_value

FORMAT = 1
"""The version of the file format. Readers refuse any other; a change that old readers would misread increments it."""


class Translations:
    """A table from languages to tables from texts to their translations."""

    def build(self, value: Plain) -> Any:
        """Build the translations."""
        if type(value) is not dict or not all(type(texts) is dict for texts in value.values()):
            raise DesignError([Problem("", quote_value(value), "a table")])
        return tuple([Translation(language=language, texts=texts.items()) for language, texts in value.items()])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note the problems of each language; omit languages with problems."""
        if not isinstance(value, dict):
            found.note(path, quote_value(value), "a table from languages to tables of texts")
            return None
        translations = []
        for language, texts in value.items():
            if not isinstance(texts, dict):
                found.note(join_key(path, language), quote_value(texts), "a table from texts to texts")
                continue
            try:
                translations.append(Translation(language=language, texts=texts.items()))
            except DesignError as error:
                found.note_all(join_key(path, language), error.problems)
        return tuple(translations)

    def write(self, part: Any) -> Plain:
        """Write the translations."""
        return {translation.language: dict(translation.texts) for translation in part}


_LABEL = {"label": "?"}
_NAMES: dict[str, Form] = {"names": Names()}
_ENTRY = Table(
    menu.Entry, {"shown_if": Conditions(), "enabled_if": Conditions()}, neutral={"target": menu.BACK}, bare="target"
)
_OPTIONS = (settings.Option(key="a", label="?"), settings.Option(key="b", label="?"))

DISPLAYS = Tagged(
    {
        "character": Table(
            hardware.CharacterDisplay,
            {
                "glyphs": Rows(
                    Table(
                        hardware.Glyph,
                        renamed={"sign": "character"},
                        neutral={"character": "?", "dots": ("#....",) * 8},
                    )
                )
            },
        ),
        "segments": Table(hardware.SegmentDisplay),
        "pixels": Table(hardware.PixelDisplay),
    }
)
"""The kinds of display and their forms."""

SETTINGS = Tagged(
    {
        "number": Table(settings.Number, _NAMES, {**_LABEL, "low": 0, "high": 1, "initial": 0}, keyed=True),
        "scale": Table(
            settings.Scale,
            {"generator": Table(Generator, neutral={"kind": "grid", "low": 0, "high": 1}), **_NAMES},
            {**_LABEL, "values": (0, 1), "initial": 0},
            keyed=True,
            renamed={"series": "generator"},
        ),
        "choice": Table(
            settings.Choice,
            {"options": Rows(Table(settings.Option, neutral={"key": "unnamed", **_LABEL}))},
            {**_LABEL, "options": _OPTIONS},
            keyed=True,
        ),
        "switch": Table(settings.Switch, {}, _LABEL, keyed=True),
        "text": Table(settings.TextSetting, {}, _LABEL, keyed=True),
        "clock": Table(settings.Clock, {}, _LABEL, keyed=True),
        "digits": Table(settings.Digits, {}, {**_LABEL, "low": 0, "high": 1, "initial": 0}, keyed=True),
    }
)
"""The kinds of setting and their forms."""

_WHEN: dict[str, Form] = {"when": Conditions()}

BEHAVIOURS = Tagged(
    {
        "set": Table(
            simulation.SetBy,
            {"cases": Rows(Table(simulation.Case, _WHEN, {"action": "unnamed", "value": 0}))},
            {"cases": (simulation.Case(action="unnamed", value=0),)},
            keyed=True,
        ),
        "approach": Table(simulation.Approach, _WHEN, {"to": 0, "time_constant_ms": 1}, keyed=True),
        "countdown": Table(
            simulation.Countdown,
            {**_WHEN, "ends": Rows(Table(simulation.End, neutral={"readout": "unnamed", "value": 0}))},
            {"begin": 0, "unit_ms": 1, "started_by": ("unnamed",)},
            keyed=True,
        ),
        "ramp": Table(simulation.Ramp, _WHEN, {"to": 0}, keyed=True),
        "noise": Table(simulation.Noise, _WHEN, {"around": 0, "spread": 0}, keyed=True),
    }
)
"""The kinds of behaviour and their forms."""

DESIGN = Table(
    Design,
    {
        "display": DISPLAYS,
        "knob": Table(
            hardware.Knob,
            {"acceleration": Rows(Table(hardware.Acceleration, neutral={"faster_than_ms": 1, "times": 2}))},
            {"double_press_ms": 250, "turns_while_held": True},
        ),
        "home": Table(home.Home, {"rows": Rows(Table(home.Row, bare="left"))}, {"press": "unnamed"}),
        "idle": Table(home.Idle),
        "gestures": Table(home.Gestures),
        "settings": Keyed(SETTINGS, "setting"),
        "menus": Keyed(
            Table(menu.Menu, {"entries": Rows(_ENTRY)}, {**_LABEL, "entries": (menu.BACK,)}, keyed=True), "menu"
        ),
        "actions": Keyed(Table(menu.Action, {}, _LABEL, keyed=True), "action"),
        "readouts": Keyed(Table(menu.Readout, _NAMES, _LABEL, keyed=True), "readout"),
        "lamps": Keyed(
            Table(hardware.Lamp, {"lit_if": Conditions()}, {**_LABEL, "answers": ("turn",)}, keyed=True), "lamp"
        ),
        "sounder": Table(
            hardware.Sounder, {"tones": Rows(Table(hardware.Tone, neutral={"answers": ("turn",)}))}, {"tones": ()}
        ),
        "translations": Translations(),
        "wording": Table(home.Wording),
        "accepted": Rows(Table(Accepted, neutral={"finding": "unnamed", "reason": "?"})),
        "simulation": Keyed(BEHAVIOURS, "readout"),
        "simulation_keys": Rows(
            Table(simulation.SimulationKey, neutral={"key": "f2", "label": "?", "readout": "unnamed", "values": (0,)})
        ),
    },
    {"name": "?", "home": home.Home(press="unnamed")},
    renamed={"words": "translations"},
)
"""The form of a whole design."""

ORDER = (
    *("format", "name", "about", "languages", "language", "save_after_ms", "simulation_speed"),
    *("display", "knob", "home", "idle"),
    *(
        "gestures",
        "settings",
        "menus",
        "actions",
        "readouts",
        "lamps",
        "sounder",
        "translations",
        "wording",
        "accepted",
        "simulation",
        "simulation_keys",
    ),
)
"""The keys of a design in the order in which they are written."""
