"""A use profile: which settings and actions are used how often, which values are set, and how people leave."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import attrs

from knobmenu.codec.recognition import USE_SECTIONS, Document, recognize, recognize_json, refuse_other
from knobmenu.codec.toml_text import parse_toml
from knobmenu.design.settings import Choice, Switch, TextSetting
from knobmenu.errors import DesignError, Problem, nearest, one_of, quote_value
from knobmenu.machine.values import Value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

FORMAT = 1
LEAVING = ("back", "long-press", "idle")
"""How people leave a menu: by its back entry, by a long press, or by letting the device idle."""


@attrs.frozen
class Profile:
    """How a device is used. All frequencies are relative: only their ratios count."""

    use: Mapping[str, float]
    """For each setting and action, how often it is used."""
    values: Mapping[str, Mapping[Value, float]] = attrs.field(factory=dict)
    """For settings whose values are not all used alike, how often each one is set."""
    leaving: Mapping[str, float] = attrs.field(factory=lambda: {"back": 1.0})
    """How often people leave in each way."""
    shown: Mapping[str, float] = attrs.field(factory=dict)
    """For targets that a condition may hide, how often they are shown while others are used; 0 to 1."""

    def get_probability(self, key: str) -> float:
        """Return the probability that a use is a use of this setting or action."""
        total = sum(self.use.values())
        return self.use.get(key, 0.0) / total if total else 0.0

    def get_leaving_probability(self, way: str) -> float:
        """Return the probability that people leave in this way."""
        total = sum(self.leaving.values())
        return self.leaving.get(way, 0.0) / total if total else 0.0


def make_even_profile(design: Design) -> Profile:
    """Return the profile in which every setting and action is used equally, and people leave by a back entry."""
    return Profile(dict.fromkeys((part.key for part in (*design.settings, *design.actions)), 1.0))


def read_profile(text: str, design: Design, file: str = "") -> Profile:
    """Read a profile from the text of a TOML file.

    Raises:
        DesignError: The text is not a profile of this design; says everything that is wrong.
    """
    refuse_other(recognize_json(text), Document.USE_PROFILE, file)
    plain = parse_toml(text, file)
    if not plain.keys() & set(USE_SECTIONS):
        refuse_other(recognize(plain), Document.USE_PROFILE, file)
    reader = _Reader(design, file)
    profile = reader.read(plain)
    if reader.problems:
        raise DesignError(reader.problems)
    return profile


class _Reader:
    def __init__(self, design: Design, file: str) -> None:
        self.design, self.file = design, file
        self.problems: list[Problem] = []

    def refuse(self, path: str, found: str, expected: str, advice: str = "") -> None:
        self.problems.append(Problem(path, found, expected, advice, self.file))

    def read(self, plain: dict[str, Any]) -> Profile:
        if plain.get("format") != FORMAT:
            self.refuse("format", quote_value(plain.get("format")), f"format = {FORMAT}")
        known = ("format", "use", "values", "leaving", "shown")
        for name in plain.keys() - set(known):
            self.refuse(name, "an unknown key", one_of(known), nearest(name, known))
        parts = [part.key for part in (*self.design.settings, *self.design.actions)]
        everything = [*parts, *self.design.index.menus, *self.design.index.readouts]
        use = self.read_frequencies("use", plain.get("use"), parts)
        if not any(use.values()):
            self.refuse("use", "nothing that is used", "a frequency above 0 for at least one setting or action")
        values: dict[str, dict[Value, float]] = {}
        tables = plain.get("values", {})
        for key, table in (tables if isinstance(tables, dict) else {}).items():
            if key not in self.design.index.settings:
                self.refuse_unknown(f"values.{key}", key, list(self.design.index.settings))
            else:
                values[key] = self.read_value_frequencies(key, table)
        leaving = self.read_frequencies("leaving", plain.get("leaving", {"back": 1}), LEAVING)
        seen = self.read_frequencies("shown", plain.get("shown", {}), everything)
        for key, often in seen.items():
            if often > 1:
                self.refuse(f"shown.{key}", quote_value(often), "a number from 0 to 1")
        return Profile(use, values, leaving, seen)

    def refuse_unknown(self, path: str, key: str, known: list[str]) -> None:
        self.refuse(path, f'the unknown key "{key}"', one_of(known), nearest(key, known))

    def read_frequencies(self, path: str, table: Any, known: list[str] | tuple[str, ...]) -> dict[str, float]:
        if not isinstance(table, dict):
            self.refuse(path, quote_value(table), "a table of frequencies")
            return {}
        found = {}
        for key, often in table.items():
            if key not in known:
                self.refuse_unknown(f"{path}.{key}", key, list(known))
            elif self.is_frequency(f"{path}.{key}", often):
                found[key] = float(often)
        return found

    def is_frequency(self, path: str, often: Any) -> bool:
        if isinstance(often, bool) or not isinstance(often, int | float) or not 0 <= often < 1e12:
            self.refuse(path, quote_value(often), "a frequency: a number of 0 or more")
            return False
        return True

    def read_value_frequencies(self, key: str, table: Any) -> dict[Value, float]:
        if not isinstance(table, dict):
            self.refuse(f"values.{key}", quote_value(table), "a table from values to frequencies")
            return {}
        found: dict[Value, float] = {}
        for name, often in table.items():
            value = read_value(self.design, key, str(name))
            if value is None:
                self.refuse(f"values.{key}.{name}", f'"{name}"', f'a value of "{key}"')
            elif self.is_frequency(f"values.{key}.{name}", often):
                found[value] = float(often)
        return found


def read_value(design: Design, key: str, name: str) -> Value | None:
    """Read a value of a setting as people write it: a number, true or false, an option's key, or the text itself."""
    setting = design.index.settings.get(key)
    match setting:
        case None:
            return None
        case TextSetting():
            return name
        case Choice():
            keys = [option.key for option in setting.options]
            return keys.index(name) if name in keys else None
        case Switch():
            return {"true": 1, "false": 0}.get(name)
        case _:
            try:
                return int(name)
            except ValueError:
                return None
