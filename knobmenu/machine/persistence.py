"""A state as JSON and back, into the same design or into a changed one.

Everything is written by key. What a changed design no longer has is dropped and listed; malformed data are an error. A
state that is read into its own design continues exactly as the original would.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, assert_never

import attrs

from knobmenu.design.kinds import Setting, count_parts
from knobmenu.design.pairs import Pair
from knobmenu.design.settings import TextSetting
from knobmenu.errors import Problem, StateError, quote_value
from knobmenu.events import CLOCK_MS
from knobmenu.machine.changing import get_done_pick, get_number, list_changed_keys
from knobmenu.machine.state import (
    Asking,
    Editing,
    Focus,
    Holding,
    NumberDraft,
    Place,
    State,
    TextDraft,
    make_initial_state,
    sort_keys,
)
from knobmenu.machine.stored import Stored, UnfitError, restore, restore_number, restore_report, restore_text, store
from knobmenu.machine.values import Values, get_at, replace_value, unpack
from knobmenu.machine.walking import settle

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

FORMAT = 1
"""The version of the format."""


@attrs.frozen
class Migration:
    """A state that was read, and what was dropped from it."""

    state: State
    dropped: tuple[str, ...] = ()
    """For each thing that was dropped, a sentence: what it was, and why."""


def to_json(design: Design, state: State) -> str:
    """Write a state as one JSON object."""
    return json.dumps(to_plain(design, state), ensure_ascii=False, separators=(",", ":"))


def from_json(design: Design, text: str) -> Migration:
    """Read a state.

    Raises:
        StateError: The text is not a state.
    """
    try:
        plain = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise StateError(f"saved state: expected a JSON object, got text that is not JSON ({error})") from None
    return from_plain(design, plain)


def migrate(design: Design, state: State, changed: Design) -> Migration:
    """Carry a state over into a changed design, by key."""
    return from_plain(changed, to_plain(design, state))


def to_plain(design: Design, state: State) -> dict[str, Any]:
    """Return a state in JSON's own types."""
    plain: dict[str, Any] = {
        "format": FORMAT,
        "at_ms": state.at_ms,
        "idle_from_ms": state.idle_from_ms,
        "values": store_values(design, state.values, [setting.key for setting in design.settings]),
        "reports": {
            readout.key: {"decimals": readout.decimals, "value": value}
            for readout, value in zip(design.readouts, state.reports, strict=True)
        },
        "path": [_store_place(design, place) for place in state.path],
        "last_used": {
            menu.key: _store_place(design, Place(menu.key, int(entry)))
            for menu, entry in zip(design.menus, unpack(state.last_used), strict=True)
            if menu.reopens == "last-used"
        },
        "unsaved": list(state.unsaved),
        "changed_ms": state.changed_ms,
    }
    if state.focus is not None:
        plain["focus"] = _store_focus(design, state, state.focus)
    return plain


def _store_focus(design: Design, state: State, focus: Focus) -> dict[str, Any]:
    match focus:
        case NumberDraft():
            return _store_draft(design, state, focus, focus.place, 0)
        case TextDraft():
            return _store_draft(design, state, focus, 0, focus.pick)
        case Asking():
            return {"mode": "asking", "key": focus.target, "yes": focus.yes}
        case Holding():
            return {"mode": "holding", "key": focus.target}
        case _:
            assert_never(focus)


def _store_draft(design: Design, state: State, focus: Editing, place: int, pick: int) -> dict[str, Any]:
    return {
        "mode": "editing",
        "key": focus.setting,
        "draft": store(design.index, focus.setting, focus.draft),
        "place": place,
        "pick": pick,
        "before": store_values(design, focus.before, list_changed_keys(design, focus.before, state.values)),
    }


def store_values(design: Design, values: Values, keys: Iterator[str] | list[str]) -> dict[str, Stored]:
    """Return the values of some settings in their stored form."""
    index = design.index
    return {key: store(index, key, get_at(values, index.positions[key])) for key in keys}


def _store_place(design: Design, place: Place) -> dict[str, Any]:
    entries = design.index.menus[place.menu].entries
    target = entries[place.entry].target if place.entry >= 0 else ""
    return {"menu": place.menu, "entry": place.entry, "target": target}


def from_plain(design: Design, plain: object) -> Migration:
    """Read a state that `to_plain` returned, for this design or an earlier version of it.

    Raises:
        StateError: It is not a state; the message states where, what was expected and what was found.
    """
    whole = _check_object(plain, "")
    if whole.get("format") != FORMAT:
        raise _make_error("format", whole.get("format"), f"{FORMAT}, which this version writes")
    dropped: list[str] = []
    at_ms = _read_whole(whole, "at_ms", CLOCK_MS)
    state = make_initial_state(design)._replace(
        at_ms=at_ms,
        idle_from_ms=_read_whole(whole, "idle_from_ms", at_ms),
        changed_ms=_read_whole(whole, "changed_ms", at_ms),
    )
    values = apply_values(design, state.values, check_objects(whole.get("values"), "values"), dropped)
    unsaved = [key for key in _read_list(whole, "unsaved") if isinstance(key, str) and key in design.index.settings]
    state = state._replace(
        values=values,
        reports=_restore_reports(design, check_objects(whole.get("reports"), "reports"), dropped),
        path=_restore_path(design, _read_list(whole, "path"), dropped),
        last_used=_restore_last_used(design, state.last_used, check_objects(whole.get("last_used"), "last_used")),
        unsaved=sort_keys(design, (key for key in unsaved if design.index.settings[key].saved)),
    )
    if "focus" in whole:
        state = _restore_focus(design, state, _check_object(whole["focus"], "focus"), dropped)
    return Migration(settle(design, state), tuple(dropped))


def apply_values(design: Design, values: Values, items: Mapping[str, Stored], dropped: list[str]) -> Values:
    """Replace values with stored ones; where two of those violate a limit together, both keep their former values."""
    before = values
    for key, item in items.items():
        setting = design.index.settings.get(key)
        try:
            if setting is None:
                raise UnfitError("the setting no longer exists")
            values = replace_value(values, design.index.positions[key], restore(design.index, setting, item))
        except UnfitError as unfit:
            dropped.append(f"value of {key}: {unfit.reason}")
    while (pair := next(_walk_broken_pairs(design, values), None)) is not None:
        dropped.append(f"values of {pair.lower} and {pair.upper}: the first may not be above the second now")
        for key in pair:
            position = design.index.positions[key]
            values = replace_value(values, position, get_at(before, position))
    return values


def _walk_broken_pairs(design: Design, values: Values) -> Iterator[Pair]:
    return (
        pair
        for pair in design.index.pairs
        if get_number(design, values, pair.lower) > get_number(design, values, pair.upper)
    )


def _restore_reports(design: Design, items: Mapping[str, Stored], dropped: list[str]) -> tuple[int, ...]:
    reports = {readout.key: readout.initial for readout in design.readouts}
    for key, item in items.items():
        try:
            if key not in reports:
                raise UnfitError("the readout no longer exists")
            reports[key] = restore_report(design.index.readouts[key], item)
        except UnfitError as unfit:
            dropped.append(f"report of {key}: {unfit.reason}")
    return tuple(reports.values())


def _restore_path(design: Design, items: list[Any], dropped: list[str]) -> tuple[Place, ...]:
    """Restore the path as far as the design still leads from each menu to the next."""
    path: list[Place] = []
    for depth, item in enumerate(items):
        stored_place = _check_object(item, f"path[{depth}]")
        menu = stored_place.get("menu")
        if not isinstance(menu, str) or menu not in design.index.menus:
            dropped.append(f"open menu {quote_value(menu)}: the menu no longer exists")
            break
        if path:
            ways = [index for index, entry in enumerate(_list_targets(design, path[-1].menu)) if entry == menu]
            if not ways:
                dropped.append(f"open menu {menu}: {path[-1].menu} no longer leads there")
                break
            if path[-1].entry not in ways:
                path[-1] = Place(path[-1].menu, ways[0])
        path.append(_restore_place(design, menu, stored_place))
    return tuple(path)


def _list_targets(design: Design, menu: str) -> list[str]:
    return [entry.target for entry in design.index.menus[menu].entries]


def _restore_place(design: Design, menu: str, item: Mapping[str, Any]) -> Place:
    """Restore a selection: the same place, else the same target, else the nearest place in the list."""
    entry, target, entries = item.get("entry"), item.get("target"), _list_targets(design, menu)
    if type(entry) is not int or not -1 <= entry < 2**31:
        raise _make_error("path.entry", entry, "a whole number from -1")
    if entry < 0 or (entry < len(entries) and entries[entry] == target):
        return Place(menu, entry)
    return Place(menu, entries.index(target) if target in entries else min(entry, len(entries) - 1))


def _restore_last_used(design: Design, last_used: Values, items: Mapping[str, Stored]) -> Values:
    for key, item in items.items():
        menu = design.index.menus.get(key)
        if menu is not None and menu.reopens == "last-used":
            entry = max(_restore_place(design, key, item).entry, 0)
            last_used = replace_value(last_used, design.index.menu_positions[key], entry)
    return last_used


def _restore_focus(design: Design, state: State, item: Mapping[str, Any], dropped: list[str]) -> State:
    """Restore the focus, or revert the edit if that is impossible."""
    key, mode = item.get("key"), item.get("mode")
    if not isinstance(key, str) or mode not in ("editing", "asking", "holding"):
        raise _make_error("focus", item.get("mode"), 'a mode of "editing", "asking" or "holding", and a key')
    guarded = design.index.settings.get(key) or design.index.actions.get(key)
    place = state.path[-1] if state.path else None
    here = key in _list_home_targets(design) if place is None else _find_selected(design, place) == key
    if guarded is None or not here:
        dropped.append(f"{mode} of {key}: the selected entry no longer leads there")
        return _revert(design, state, item)
    if mode == "editing":
        return _restore_edit(design, state, key, item, dropped)
    focus: Focus = Asking(key, item.get("yes") is True) if mode == "asking" else Holding(key)
    if guarded.confirm != ("ask" if mode == "asking" else "hold"):
        dropped.append(f"{mode} of {key}: it is no longer confirmed in this way")
        return state
    return state._replace(focus=focus)


def _list_home_targets(design: Design) -> tuple[str, ...]:
    return design.home.press, design.home.long_press, design.home.double_press


def _find_selected(design: Design, place: Place) -> str:
    return _list_targets(design, place.menu)[place.entry] if place.entry >= 0 else ""


def _restore_edit(design: Design, state: State, key: str, item: Mapping[str, Any], dropped: list[str]) -> State:
    setting = design.index.settings.get(key)
    try:
        if setting is None:
            raise UnfitError("it is no longer a setting")
        draft = _restore_draft(design, setting, _restore_before(design, state, item), item)
    except UnfitError as unfit:
        dropped.append(f"draft of {key}: {unfit.reason}")
        return _revert(design, state, item)
    return state._replace(focus=draft)


def _restore_draft(design: Design, setting: Setting, before: Values, item: Mapping[str, Any]) -> Editing:
    """Restore a draft.

    Raises:
        UnfitError: The setting cannot have it.
    """
    draft = _check_object(item.get("draft"), "focus.draft")
    if isinstance(setting, TextSetting):
        text = restore_text(setting, draft)
        _check_part(item.get("place"), 1)
        return TextDraft(setting.key, text, before, _check_part(item.get("pick"), get_done_pick(setting) + 1))
    number = restore_number(design.index, setting, draft)
    _check_part(item.get("pick"), 1)
    return NumberDraft(setting.key, number, before, _check_part(item.get("place"), count_parts(setting)))


def _check_part(place: object, count: int) -> int:
    """Return the index of a part or pick, if there are as many."""
    if type(place) is not int or not 0 <= place < count:
        raise UnfitError("it has other parts now")
    return place


def _restore_before(design: Design, state: State, item: Mapping[str, Any]) -> Values:
    return apply_values(design, state.values, check_objects(item.get("before", {}), "focus.before"), [])


def _revert(design: Design, state: State, item: Mapping[str, Any]) -> State:
    if item.get("mode") != "editing":
        return state
    return state._replace(values=_restore_before(design, state, item))


# Reading untrusted data.


def _make_error(where: str, got: object, expected: str) -> StateError:
    return StateError(str(Problem(where, quote_value(got), expected, file="saved state")))


def _check_object(value: object, where: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise _make_error(where, value, "an object")
    return value


def check_objects(value: object, where: str) -> Mapping[str, Stored]:
    """Return a mapping of stored values.

    Raises:
        StateError: It is something else.
    """
    whole = _check_object(value, where)
    for key, item in whole.items():
        _check_object(item, f"{where}.{key}")
    return whole


def _read_list(whole: Mapping[str, Any], name: str) -> list[Any]:
    value = whole.get(name)
    if not isinstance(value, list):
        raise _make_error(name, value, "a list")
    return value


def _read_whole(whole: Mapping[str, Any], name: str, most: int) -> int:
    value = whole.get(name)
    if type(value) is not int or not 0 <= value <= most:
        raise _make_error(name, value, f"a whole number from 0 to {most}")
    return value
