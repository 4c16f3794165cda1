"""A design to and from plain data: what TOML and JSON files hold, whichever spelling they have.

Reading builds at once. Only where that fails is the data gone through again, slowly, to say everything that is wrong:
the problems of every field, then those between the parts, leaving out what merely follows from a problem already said.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

import attrs

from knobmenu.design import hardware, home, menu, settings
from knobmenu.design.home import Translation
from knobmenu.design.series import Series
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem, one_of, shown
from knobmenu.files.conditions import Conditions
from knobmenu.files.forms import Form, Found, Keyed, Names, Plain, Rows, Table, Tagged, member

FORMAT = 1
"""The version of the file form. A reader refuses any other; a change that old readers would misread raises it."""


@attrs.frozen
class Words:
    """A table from languages to tables from texts to what they are there."""

    def build(self, value: Plain) -> Any:
        """Make the translations."""
        if type(value) is not dict or not all(type(texts) is dict for texts in value.values()):
            raise DesignError([Problem("", shown(value), "a table")])
        return tuple([Translation(language=language, texts=texts.items()) for language, texts in value.items()])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note what is wrong with each translation; those that are wrong are left out."""
        if not isinstance(value, dict):
            found.note(path, shown(value), "a table from languages to tables of texts")
            return None
        translations = []
        for language, texts in value.items():
            if not isinstance(texts, dict):
                found.note(member(path, language), shown(texts), "a table from texts to texts")
                continue
            try:
                translations.append(Translation(language=language, texts=texts.items()))
            except DesignError as error:
                found.note_all(member(path, language), error.problems)
        return tuple(translations)

    def plain(self, part: Any) -> Plain:
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
            {"glyphs": Rows(Table(hardware.Glyph, neutral={"sign": "?", "dots": ("#....",) * 8}))},
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
            {"series": Table(Series, neutral={"kind": "raster", "low": 0, "high": 1}), **_NAMES},
            {**_LABEL, "values": (0, 1), "initial": 0},
            keyed=True,
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
        "words": Words(),
        "wording": Table(home.Wording),
    },
    {"name": "?", "home": home.Home(press="unnamed")},
)
"""The form of a whole design."""

ORDER = (
    *("format", "name", "about", "languages", "language", "save_after_ms", "display", "knob", "home", "idle"),
    *("gestures", "settings", "menus", "actions", "readouts", "lamps", "sounder", "words", "wording"),
)
"""The keys of a design in the order in which they are written."""


def to_plain(design: Design) -> dict[str, Plain]:
    """Write a design as plain data, without what is at its default.

    Guarantees: `from_plain` of it equals the design, and its keys stand in a fixed order.
    """
    written = {"format": FORMAT, **DESIGN.plain(design)}
    return {name: written[name] for name in ORDER if name in written}


def from_plain(data: Mapping[str, Plain]) -> Design:
    """Make a design from plain data.

    Raises:
        DesignError: With every problem of the data, each with its path; see `knobmenu.errors.Problem`.
    """
    if isinstance(data, dict) and type(data.get("format")) is int and data["format"] == FORMAT:
        try:
            made: Design = DESIGN.build({name: value for name, value in data.items() if name != "format"})
        except (DesignError, TypeError):
            pass
        else:
            return made
    return _explained(data)


def _explained(data: Plain) -> Design:
    """Say everything that is wrong with data of which a design could not be built."""
    found = Found()
    if not isinstance(data, dict):
        raise DesignError([Problem("", shown(data), "a table of " + one_of(ORDER).removeprefix("one of "))])
    version = data.get("format")
    if "format" not in data:
        found.note("format", "nothing", str(FORMAT), f"it is required: write format = {FORMAT} at the top")
    elif type(version) is not int or version != FORMAT:
        newer = type(version) is int and version > FORMAT
        advice = "this file is from a newer knobmenu" if newer else f"write format = {FORMAT}"
        raise DesignError([Problem("format", shown(version), str(FORMAT), advice)])
    rest = {name: value for name, value in data.items() if name != "format"}
    good, whole = DESIGN.noted(rest, "", found)
    if all(isinstance(rest.get(section, {}), dict) for section in _SECTIONS):
        try:
            made = Design(**_standing(good, found))
        except DesignError as error:
            found.problems += [problem for problem in error.problems if not _follows(problem, rest, found)]
        else:
            if whole and not found.problems:
                return made
    raise DesignError(found.problems)


_SECTIONS = ("settings", "menus", "actions", "readouts")
"""The sections whose keys everything else refers to."""

_LENIENT = {
    "display": hardware.PixelDisplay(width=1024, height=512),
    "knob": hardware.Knob(double_press_ms=250, turns_while_held=True),
    "languages": ("en",),
}
"""What stands in for a broken part, so that nothing else is wrong because of it."""


def _standing(good: Mapping[str, Any], found: Found) -> dict[str, Any]:
    """Complete the parts of a design with stand-ins."""
    broken = {problem.path.partition(".")[0].partition("[")[0] for problem in found.problems}
    kept = {name: part for name, part in good.items() if part is not None}
    return {**DESIGN.neutral, **kept, **{name: part for name, part in _LENIENT.items() if name in broken}}


_HARMLESS = (
    *("label", "short", "question", "hazard", "unit", "names", "applies", "on_long_press", "on_idle", "saved"),
    *("confirm", "ends", "accelerates", "bar"),
)
"""Fields of a setting that nothing else depends on."""


def _follows(problem: Problem, data: Mapping[str, Plain], found: Found) -> bool:
    """Tell whether a problem between parts may merely follow from one that is already noted."""
    broken = set(_broken_settings(found))
    lost = broken | {key for name, part in data.items() if name not in ORDER and isinstance(part, dict) for key in part}
    section, _, rest = problem.path.partition(".")
    settings_table = data.get("settings", {})
    if section == "settings":
        reached = broken | _bound_to(broken, settings_table)
        own_key = rest.partition(".")[0].partition("[")[0]
        return own_key in reached or (rest.endswith(".options") and _noted(found, "languages"))
    if section == "words" and found.problems:
        text = rest.partition('"')[2].rpartition('"')[0]
        written = (part for name, part in data.items() if name != "words")
        return _texts_are_lost(found) or any(text in _strings(part) for part in written)
    if section == "home":
        gestures = data.get("home")
        if not isinstance(gestures, dict) or rest.partition("[")[0] not in gestures:
            return True
    return bool(lost & set(_strings(_value_at(data, problem.path)))) or (
        section == "language" and _noted(found, "languages")
    )


_TEXTS = frozenset(
    [
        "kind",
        "label",
        "short",
        "question",
        "hazard",
        "unit",
        "on_label",
        "off_label",
        "left",
        "right",
        "rows",
        "options",
        "names",
    ]
)
"""Fields that hold texts, or parts with texts in them, or say which texts a part has."""


def _texts_are_lost(found: Found) -> bool:
    """Tell whether a text, or a whole section with texts in it, is missing or broken: it may be any text."""
    return any(
        "." not in problem.path
        or problem.found == "nothing"
        or problem.path.startswith("wording")
        or not _TEXTS.isdisjoint(step.partition("[")[0] for step in problem.path.split("."))
        for problem in found.problems
    )


def _noted(found: Found, section: str) -> bool:
    return any(re.match(rf"{section}\b", problem.path) for problem in found.problems)


def _broken_settings(found: Found) -> Iterator[str]:
    """Walk the settings whose values or limits are not known."""
    for problem in found.problems:
        section, _, rest = problem.path.partition(".")
        key, _, field = rest.partition(".")
        if section == "settings" and field.partition(".")[0].partition("[")[0] not in _HARMLESS:
            yield key


def _bound_to(broken: set[str], settings_table: Mapping[str, Plain]) -> set[str]:
    """Find the settings whose limits lead to a broken one, over any number of others."""
    reached: set[str] = set()
    while True:
        more = {
            key
            for key, setting in settings_table.items()
            if key not in reached
            and isinstance(setting, dict)
            and any(setting.get(side) in broken | reached for side in ("low", "high") if _is_text(setting.get(side)))
        }
        if not more:
            return reached
        reached |= more


def _is_text(value: Plain) -> bool:
    return isinstance(value, str)


_STEP = re.compile(r'\.?(?:"([^"]*)"|([A-Za-z0-9_-]+))|\[([0-9]+)\]')


def _value_at(data: Plain, path: str) -> Plain:
    """Follow a path as far as the data goes."""
    for quoted, bare, index in _STEP.findall(path):
        if isinstance(data, list) and index and int(index) < len(data):
            data = data[int(index)]
        elif isinstance(data, dict) and (quoted or bare) in data:
            data = data[quoted or bare]
        else:
            break
    return data


def _strings(value: Plain) -> Iterator[str]:
    """Walk every text inside plain data, keys left out."""
    waiting = [value]
    while waiting:
        value = waiting.pop()
        if isinstance(value, str):
            yield value
        elif isinstance(value, dict):
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value
