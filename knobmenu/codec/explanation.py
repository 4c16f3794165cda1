"""Collect all problems in plain data from which a design could not be built.

Problems of single fields come first, then those between parts, except for problems that merely follow from one that is
already reported.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

from knobmenu.codec.forms import Found, Plain
from knobmenu.codec.recognition import Document, recognize, refuse_other
from knobmenu.codec.tables import DESIGN, FORMAT, ORDER
from knobmenu.design import hardware
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem, one_of, quote_value


def explain(data: Plain) -> Design:
    """Report all problems in data from which a design could not be built.

    Returns:
        The design, if the data turn out to be valid.

    Raises:
        DesignError: Lists every problem, each with its path.
    """
    refuse_other(recognize(data), Document.DESIGN)
    found = Found()
    if not isinstance(data, dict):
        raise DesignError([Problem("", quote_value(data), "a table of " + one_of(ORDER).removeprefix("one of "))])
    version = data.get("format")
    if "format" not in data:
        found.note("format", "nothing", str(FORMAT), f"it is required: write format = {FORMAT} at the top")
    elif type(version) is not int or version != FORMAT:
        newer = type(version) is int and version > FORMAT
        advice = "this file is from a newer knobmenu" if newer else f"write format = {FORMAT}"
        raise DesignError([Problem("format", quote_value(version), str(FORMAT), advice)])
    rest = {name: value for name, value in data.items() if name != "format"}
    good, whole = DESIGN.note_fields(rest, "", found)
    if all(isinstance(rest.get(section, {}), dict) for section in _SECTIONS):
        try:
            made = Design(**_add_stand_ins(good, found))
        except DesignError as error:
            context = _Context(rest, found)
            found.problems += [problem for problem in error.problems if not context.follows(problem)]
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
"""What stands in for a broken part without causing further problems."""


def _add_stand_ins(good: Mapping[str, Any], found: Found) -> dict[str, Any]:
    """Complete the valid parts of a design with stand-ins."""
    broken = {problem.path.partition(".")[0].partition("[")[0] for problem in found.problems}
    kept = {name: part for name, part in good.items() if part is not None}
    return {**DESIGN.neutral, **kept, **{name: part for name, part in _LENIENT.items() if name in broken}}


_HARMLESS = (
    *("label", "short", "question", "hazard", "unit", "names", "applies", "on_long_press", "on_idle", "saved"),
    *("confirm", "ends", "accelerates", "bar"),
)
"""Fields of a setting that nothing else depends on."""


class _Context:
    """What the problems of single parts imply for problems between parts."""

    def __init__(self, data: Mapping[str, Plain], found: Found) -> None:
        self.data = data
        self.found = found
        self.broken = set(_walk_broken(found))
        self.lost = self.broken | {
            key for name, part in data.items() if name not in ORDER and isinstance(part, dict) for key in part
        }

    def follows(self, problem: Problem) -> bool:
        """Return whether a problem between parts may merely follow from one already noted."""
        section, _, rest = problem.path.partition(".")
        if self.found.problems and not self.names.issuperset(re.findall('"([^"]*)"', problem.got)):
            # The problem is in a stand-in, which the author did not write.
            return True
        if section == "settings":
            own_key = rest.partition(".")[0].partition("[")[0]
            return own_key in self.reached or (rest.endswith(".options") and self.languages_noted)
        if section == "translations" and self.found.problems:
            return self.texts_lost or rest.partition('"')[2].rpartition('"')[0] in self.texts
        if section == "home":
            gestures = self.data.get("home")
            if not isinstance(gestures, dict) or rest.partition("[")[0] not in gestures:
                return True
        return not self.lost.isdisjoint(_walk_strings(_follow_path(self.data, problem.path))) or (
            section == "language" and self.languages_noted
        )

    @cached_property
    def names(self) -> set[str]:
        """Every text and every key of the data."""
        return {*_walk_strings(self.data), *_walk_keys(self.data)}

    @cached_property
    def texts(self) -> set[str]:
        """Every text outside of the translations."""
        return {text for name, part in self.data.items() if name != "translations" for text in _walk_strings(part)}

    @cached_property
    def reached(self) -> set[str]:
        """The settings that are broken, or limited by a broken one."""
        return self.broken | _find_bound(self.broken, self.data.get("settings", {}))

    @cached_property
    def texts_lost(self) -> bool:
        return _has_lost_texts(self.found)

    @cached_property
    def languages_noted(self) -> bool:
        return _has_problem(self.found, "languages")


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


def _has_lost_texts(found: Found) -> bool:
    """Return whether a text, or a section that contains texts, is missing or broken and so could be any text."""
    return any(
        "." not in problem.path
        or problem.got == "nothing"
        or problem.path.startswith("wording")
        or not _TEXTS.isdisjoint(step.partition("[")[0] for step in problem.path.split("."))
        for problem in found.problems
    )


def _has_problem(found: Found, section: str) -> bool:
    return any(re.match(rf"{section}\b", problem.path) for problem in found.problems)


def _walk_broken(found: Found) -> Iterator[str]:
    """Walk the settings whose values or limits are unknown."""
    for problem in found.problems:
        section, _, rest = problem.path.partition(".")
        key, _, field = rest.partition(".")
        if section == "settings" and field.partition(".")[0].partition("[")[0] not in _HARMLESS:
            yield key


def _find_bound(broken: set[str], settings_table: Mapping[str, Plain]) -> set[str]:
    """Find the settings whose limits lead to a broken one, directly or through others."""
    bound: dict[str, list[str]] = {}
    for key, setting in settings_table.items():
        if isinstance(setting, dict):
            for side in ("low", "high"):
                if isinstance(setting.get(side), str):
                    bound.setdefault(setting[side], []).append(key)
    reached: set[str] = set()
    waiting = list(broken)
    while waiting:
        for key in bound.get(waiting.pop(), ()):
            if key not in reached:
                reached.add(key)
                waiting.append(key)
    return reached


_STEP = re.compile(r'\.?(?:"([^"]*)"|([A-Za-z0-9_-]+))|\[([0-9]+)\]')


def _follow_path(data: Plain, path: str) -> Plain:
    """Return the value at a path, or at the deepest part of the path that exists."""
    for quoted, bare, index in _STEP.findall(path):
        if isinstance(data, list) and index and int(index) < len(data):
            data = data[int(index)]
        elif isinstance(data, dict) and (quoted or bare) in data:
            data = data[quoted or bare]
        else:
            break
    return data


def _walk_strings(value: Plain) -> Iterator[str]:
    """Walk every text inside plain data, except for keys."""
    waiting = [value]
    while waiting:
        value = waiting.pop()
        if isinstance(value, str):
            yield value
        elif isinstance(value, dict):
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value


def _walk_keys(value: Plain) -> Iterator[str]:
    """Walk every key inside plain data."""
    waiting = [value]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            yield from value
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value
