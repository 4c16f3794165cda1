"""The changes from one design to another: parts added, removed, moved, renamed and changed.

Parts with the same key are the same part. A change of a text that people read is a change of words; any other change
affects how the device behaves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, Literal, cast

import attrs

from knobmenu.analysis.check import check_design
from knobmenu.analysis.check.findings import Finding
from knobmenu.design.conditions import All, AtLeast, Condition, Equal, Less, Not, Unequal
from knobmenu.design.conditions import Any as AnyOf
from knobmenu.design.menu import Entry, Menu

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

About = Literal["device", "settings", "entries", "words"]
ABOUT: tuple[About, ...] = ("device", "settings", "entries", "words")
"""What a change can be about, in the order in which changes are listed."""

_WORDS = frozenset(
    ("label", "short", "question", "hazard", "on_label", "off_label", "unit", "names", "about", "name", "colour")
)
"""Fields that only people read."""


@attrs.frozen
class Change:
    """One change."""

    about: About
    place: str
    """The path of what changed."""
    what: str
    """What changed, in a few words."""


def list_changes(old: Design, new: Design) -> tuple[Change, ...]:
    """List what changed from one design to another."""
    found = [
        *_walk_device_changes(old, new),
        *_walk_part_changes("settings", "setting", old.settings, new.settings),
        *_walk_part_changes("actions", "action", old.actions, new.actions),
        *_walk_part_changes("readouts", "readout", old.readouts, new.readouts),
        *_walk_part_changes("lamps", "lamp", old.lamps, new.lamps, "device"),
        *_walk_menu_changes(old, new),
        *_walk_translation_changes(old, new),
    ]
    return tuple(sorted(found, key=lambda change: ABOUT.index(change.about)))


def _walk_device_changes(old: Design, new: Design) -> Iterator[Change]:
    for name in ("name", "about", "save_after_ms", "languages", "language"):
        yield from _walk_field_changes("", old, new, [name], "device")
    for name in ("display", "knob", "home", "idle", "gestures", "sounder", "wording"):
        one, other = getattr(old, name), getattr(new, name)
        if type(one) is not type(other):
            yield Change("device", name, f"{_describe(one)} became {_describe(other)}")
        elif one is not None:
            fields = [field.name for field in attrs.fields(type(one))]
            yield from _walk_field_changes(name, one, other, fields, "words" if name == "wording" else "device")


def _walk_field_changes(place: str, old: object, new: object, names: Iterable[str], about: About) -> Iterator[Change]:
    for name in names:
        one, other = getattr(old, name), getattr(new, name)
        if one != other:
            path = f"{place}.{name}" if place else name
            yield Change("words" if name in _WORDS else about, path, f"{_describe(one)} became {_describe(other)}")


def _walk_part_changes(
    section: str, word: str, old: Iterable[Any], new: Iterable[Any], about: About = "settings"
) -> Iterator[Change]:
    before, after = {part.key: part for part in old}, {part.key: part for part in new}
    for key in before.keys() - after.keys():
        yield Change(about, f"{section}.{key}", f'{word} "{before[key].label}" removed')
    for key, part in after.items():
        place = f"{section}.{key}"
        if key not in before:
            yield Change(about, place, f'{word} "{part.label}" added')
        elif type(part) is not type(before[key]):
            yield Change(about, place, f"{type(before[key]).__name__} became {type(part).__name__}")
        else:
            fields = [field.name for field in attrs.fields(type(part)) if field.init and field.name != "options"]
            yield from _walk_field_changes(place, before[key], part, fields, about)
            if hasattr(part, "options"):
                yield from _walk_part_changes(f"{place}.options", "option", before[key].options, part.options)
                yield from _walk_moves(
                    place, [item.key for item in before[key].options], [item.key for item in part.options], "settings"
                )


# Menus.


def _walk_menu_changes(old: Design, new: Design) -> Iterator[Change]:
    before, after = old.index.menus, new.index.menus
    for key in before.keys() - after.keys():
        yield Change("entries", f"menus.{key}", f'menu "{before[key].label}" removed')
    for key, menu in after.items():
        place = f"menus.{key}"
        if key not in before:
            listed = ", ".join(entry.target for entry in menu.entries)
            yield Change("entries", place, f'menu "{menu.label}" added, with {listed}')
            continue
        yield from _walk_field_changes(place, before[key], menu, ("label", "short", "ends", "reopens"), "entries")
        yield from _walk_entry_changes(place, before[key], menu)


def _number_entries(menu: Menu) -> dict[tuple[str, int], Entry]:
    """Number entries with the same target to distinguish them."""
    found: dict[tuple[str, int], Entry] = {}
    for entry in menu.entries:
        found[entry.target, sum(target == entry.target for target, _ in found)] = entry
    return found


def _walk_entry_changes(place: str, old: Menu, new: Menu) -> Iterator[Change]:
    before, after = _number_entries(old), _number_entries(new)
    for target, _ in [key for key in before if key not in after]:
        yield Change("entries", place, f'entry "{target}" removed')
    for number, key in enumerate(after, 1):
        target = key[0]
        if key not in before:
            yield Change("entries", place, f'entry "{target}" added in place {number}')
            continue
        one, other = before[key], after[key]
        if one.label != other.label:
            yield Change("words", f"{place}.{target}", f"{_describe(one.label)} became {_describe(other.label)}")
        for name, word in (("shown_if", "shown"), ("enabled_if", "enabled")):
            now = getattr(other, name)
            if getattr(one, name) != now:
                when = "always" if now is None else f"if {describe_condition(now)}"
                yield Change("entries", f"{place}.{target}", f"{word} {when}")
    names = {key: f"{key[0]}" if not key[1] else f"{key[0]} ({key[1] + 1})" for key in (*before, *after)}
    yield from _walk_moves(place, [names[key] for key in before], [names[key] for key in after], "entries")


def _walk_moves(place: str, old: list[str], new: list[str], about: About) -> Iterator[Change]:
    """Walk the items that moved: the fewest that must be removed so that the order of the others is unchanged."""
    common = [name for name in old if name in new]
    places = {name: number for number, name in enumerate(common)}
    order = [name for name in new if name in places]
    stayed = _find_longest_ascending([places[name] for name in order])
    for name in order:
        if places[name] not in stayed:
            yield Change(about, place, f'"{name}" moved from place {old.index(name) + 1} to {new.index(name) + 1}')


def _find_longest_ascending(numbers: list[int]) -> set[int]:
    from bisect import bisect_left

    tails: list[int] = []
    before: dict[int, int | None] = {}
    for number in numbers:
        place = bisect_left(tails, number)
        before[number] = tails[place - 1] if place else None
        tails[place : place + 1] = [number]
    found, here = set[int](), tails[-1] if tails else None
    while here is not None:
        found.add(here)
        here = before[here]
    return found


# Words.


def _walk_translation_changes(old: Design, new: Design) -> Iterator[Change]:
    before = {item.language: dict(item.texts) for item in old.translations}
    after = {item.language: dict(item.texts) for item in new.translations}
    for language in sorted(before.keys() | after.keys()):
        one, other = before.get(language, {}), after.get(language, {})
        for text in (*one, *(text for text in other if text not in one)):
            if one.get(text) != other.get(text):
                what = f"{_describe(one.get(text))} became {_describe(other.get(text))}"
                yield Change("words", f'translations.{language}."{text}"', what)


def _describe(value: object) -> str:
    match value:
        case None | "" | ():
            return "nothing"
        case bool():
            return "yes" if value else "no"
        case str():
            return f'"{value}"'
        case int():
            return str(value)
        case tuple():
            return "[" + ", ".join(_describe(item) for item in value) + "]"
        case Equal() | Unequal() | Less() | AtLeast() | All() | AnyOf() | Not():
            return describe_condition(value)
        case _ if attrs.has(type(value)):
            fields = attrs.asdict(cast(Any, value), recurse=False).items()
            parts = (f"{name} {_describe(item)}" for name, item in fields if item not in ("", (), None))
            return "{" + ", ".join(parts) + "}"
        case _:
            return str(value)


def describe_condition(condition: Condition) -> str:
    """Describe a condition in words."""
    match condition:
        case Equal():
            return f"{condition.key} is {condition.value}"
        case Unequal():
            return f"{condition.key} is not {condition.value}"
        case Less():
            return f"{condition.key} is less than {condition.value}"
        case AtLeast():
            return f"{condition.key} is at least {condition.value}"
        case All():
            return "(" + " and ".join(map(describe_condition, condition.of)) + ")"
        case AnyOf():
            return "(" + " or ".join(map(describe_condition, condition.of)) + ")"
        case Not():
            return f"not {describe_condition(condition.of)}"


# Findings.


@attrs.frozen
class FindingChanges:
    """Findings of only one of two designs."""

    added: tuple[Finding, ...]
    gone: tuple[Finding, ...]


def compare_findings(old: Design, new: Design) -> FindingChanges:
    """Check both designs and compare their findings by kind and place, except for accepted ones."""
    before, after = _list_open(old), _list_open(new)
    return FindingChanges(
        tuple(finding for key, finding in after.items() if key not in before),
        tuple(finding for key, finding in before.items() if key not in after),
    )


def _list_open(design: Design) -> Mapping[tuple[str, str], Finding]:
    findings = check_design(design).findings
    return {(finding.rule, finding.place): finding for finding in findings if not finding.accepted}
