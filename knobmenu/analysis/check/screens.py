"""Every screen of a design that could cut a text, in all languages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import assert_never

import attrs

from knobmenu.design.home import Row
from knobmenu.design.kinds import Setting
from knobmenu.design.menu import Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.design.texts import PLACEHOLDER
from knobmenu.design.whole import Design
from knobmenu.machine.changing import open_draft
from knobmenu.machine.state import (
    Asking,
    Editing,
    Focus,
    Holding,
    NumberDraft,
    Place,
    State,
    find_language,
    make_initial_state,
)
from knobmenu.machine.values import replace_value
from knobmenu.screen.cells import Screen
from knobmenu.screen.face import get_face
from knobmenu.screen.lists import compose_entry, gather_entry_view
from knobmenu.screen.panel import CellPanel
from knobmenu.screen.render import render

MOST_OPTIONS = 200
"""The greatest number of options of one choice that are examined."""


@attrs.frozen
class Shot:
    """One screen, or one row of a list."""

    language: int
    """The index of its language."""
    place: str
    """The path of what it shows."""
    screen: Screen
    menu: str = ""
    """The open list, or the list of its entry; empty at home."""
    entry: int = -1
    """The entry that is shown, or that leads here."""
    target: str = ""
    """What is edited, asked about or to be held for; empty in a list and at home."""
    value: int | None = None
    """The value that is shown, if it is not the initial one."""


def walk_shots(design: Design) -> Iterator[Shot]:
    """Walk the screens of a design: home, each entry, each editor and each question, with their widest values."""
    for language in range(len(design.languages)):
        state = _set_language(design, language)
        yield from _walk_home(design, language, state)
        for menu in design.menus:
            for entry in range(len(menu.entries)):
                yield from _walk_entry(design, language, state, menu.key, entry)


def _set_language(design: Design, language: int) -> State:
    state = make_initial_state(design)
    return _set_value(design, state, design.language, language) if design.language else state


def _set_value(design: Design, state: State, key: str, value: int) -> State:
    position = design.index.positions[key] - len(design.settings)
    if position >= 0:
        return state._replace(reports=(*state.reports[:position], value, *state.reports[position + 1 :]))
    values = replace_value(state.values, design.index.positions[key], value)
    return state._replace(values=values)


def _walk_home(design: Design, language: int, state: State) -> Iterator[Shot]:
    yield Shot(language, "home", render(design, state))
    shown = (Row(f"{{{design.home.turn}}}"),) if design.home.turn else ()  # without rows, what turning changes
    rows = design.home.rows or shown
    for number, row in enumerate(rows):
        for key in dict.fromkeys(PLACEHOLDER.findall(row.left + row.right)):
            for value in list_wide_values(design, key):
                if key != design.language:
                    screen = render(design, _set_value(design, state, key, value))
                    yield Shot(language, f"home.rows[{number}]", screen, value=value)
    gestures = (design.home.press, design.home.long_press, design.home.double_press)
    for target in dict.fromkeys(key for key in gestures if key):
        yield from _walk_opened(design, language, state, target)


def _walk_entry(design: Design, language: int, state: State, menu: str, entry: int) -> Iterator[Shot]:
    target = design.index.menus[menu].entries[entry].target
    place = f"menus.{menu}.entries[{entry}]"
    here = state._replace(path=(Place(menu, entry),))
    yield Shot(language, place, _show_entry(design, here), menu, entry)
    if target != design.language:
        for value in list_wide_values(design, target):
            yield Shot(
                language, place, _show_entry(design, _set_value(design, here, target, value)), menu, entry, "", value
            )
    yield from _walk_opened(design, language, here, target, menu, entry)


def _walk_opened(
    design: Design, language: int, here: State, target: str, menu: str = "", entry: int = -1
) -> Iterator[Shot]:
    """Walk the question and the editor that pressing something opens."""
    part = design.index.settings.get(target) or design.index.actions.get(target)
    if part is None:
        return
    own = f"settings.{target}" if target in design.index.settings else f"actions.{target}"
    if part.confirm != "none":
        focus: Focus = Asking(target) if part.confirm == "ask" else Holding(target)
        yield Shot(language, own, render(design, here._replace(focus=focus)), menu, entry, target)
    setting = design.index.settings.get(target)
    if setting is None or isinstance(setting, Switch):
        return
    first = open_draft(design, here.values, target)
    drafts: list[Editing] = [first]
    if isinstance(first, NumberDraft) and target != design.language:
        drafts += [first._replace(draft=wide) for wide in list_wide_values(design, target) if wide != first.draft]
    for draft in drafts:
        screen = render(design, here._replace(focus=draft))
        value = draft.draft if isinstance(draft, NumberDraft) else None
        yield Shot(language, own, screen, menu, entry, target, value)


def _show_entry(design: Design, state: State) -> Screen:
    """Show an entry: on a display of cells only its row, since the other rows are separate shots."""
    face, place = get_face(design, find_language(design, state)), state.path[-1]
    if not isinstance(face.panel, CellPanel):
        return render(design, state)
    line = compose_entry(face, face.panel, place.menu, gather_entry_view(design, state, place.menu, place.entry), True)
    return Screen(rows=(line.text,), replaced=line.replaced, cut=line.cut)


def list_wide_values(design: Design, key: str) -> list[int]:
    """List the values of a setting or readout whose texts can be the longest, each once."""
    part = design.index.settings.get(key) or design.index.readouts.get(key)
    return [] if part is None else list(dict.fromkeys(_choose_wide_values(design, part)))


def _choose_wide_values(design: Design, part: Setting | Readout) -> Iterable[int]:
    match part:
        case Readout():
            ends = (end for end in (part.low, part.high) if end is not None)
            return [part.initial, *ends, *(value for value, _ in part.names)]
        case Number() | Scale():
            limits = design.index.limits[part.key]
            return [limits.low, limits.high, *(value for value, _ in part.names)]
        case Choice():
            return range(min(len(part.options), MOST_OPTIONS))
        case Switch():
            return (0, 1)
        case Clock():
            return (part.highest,)
        case Digits():
            return (part.high,)
        case TextSetting():
            return ()
        case _:
            assert_never(part)
