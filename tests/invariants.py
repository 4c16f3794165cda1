"""What holds of every state of every design; asserted by generated traces and by long walks over the demos."""

from __future__ import annotations

from collections.abc import Mapping

from knobmenu.design.kinds import count_parts
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.design.whole import Design
from knobmenu.machine.changing import get_done_pick
from knobmenu.machine.effects import Committed, Effect, Reverted, SaveDue, ValueChanged
from knobmenu.machine.memory import collect_saved_values
from knobmenu.machine.state import Editing, Mode, NumberDraft, State, TextDraft, get_value, make_initial_state
from knobmenu.machine.stored import Stored
from knobmenu.machine.walking import is_shown


def check_state(design: Design, state: State) -> None:
    """Assert what holds of a state by itself."""
    for key in design.index.settings:
        check_value(design, state, key)
    for key in design.index.limits:
        check_limits(design, state, key)
    check_selection(design, state)
    check_focus(design, state)
    assert 0 <= state.idle_from_ms <= state.at_ms
    assert len(set(state.unsaved)) == len(state.unsaved)
    assert all(design.index.settings[key].saved for key in state.unsaved)


def check_limits(design: Design, state: State, key: str) -> None:
    """Assert that a number or scale is between the settings that limit it."""
    limits = design.index.limits.get(key)
    for lower in limits.pushed_down if limits else ():
        assert get_value(design, state, lower) <= get_value(design, state, key), (lower, key)  # type: ignore[operator]
    for upper in limits.pushed_up if limits else ():
        assert get_value(design, state, key) <= get_value(design, state, upper), (key, upper)  # type: ignore[operator]


def check_focus(design: Design, state: State) -> None:
    """Assert that a draft is a value that its setting can have, and that what is edited of it exists."""
    if isinstance(state.focus, Editing):
        setting = design.index.settings[state.focus.setting]
        check_fits(design, state.focus.setting, state.focus.draft)
        match state.focus:
            case NumberDraft():
                assert 0 <= state.focus.place < count_parts(setting)
            case TextDraft():
                assert isinstance(setting, TextSetting)
                assert 0 <= state.focus.pick <= get_done_pick(setting)
        if setting.applies == "live":
            assert get_value(design, state, state.focus.setting) == state.focus.draft


def check_selection(design: Design, state: State) -> None:
    """Assert that the selection of the list in view is on an entry that is there, or that no entry is."""
    if state.mode is not Mode.BROWSING:
        return
    place = state.path[-1]
    entries = range(len(design.index.menus[place.menu].entries))
    shown = [entry for entry in entries if is_shown(design, state, place.menu, entry)]
    assert place.entry in shown if shown else place.entry == -1, (place, shown)


def check_value(design: Design, state: State, key: str) -> None:
    """Assert that a setting's value is one that it can have."""
    check_fits(design, key, get_value(design, state, key))


def check_fits(design: Design, key: str, value: object) -> None:
    """Assert that a value or a draft is one that a setting can have."""
    setting = design.index.settings[key]
    if isinstance(setting, TextSetting):
        assert isinstance(value, str)
        assert len(value) <= setting.longest
        assert set(value) <= set(setting.characters)
        return
    assert type(value) is int
    match setting:
        case Number():
            limits = design.index.limits[key]
            assert limits.low <= value <= limits.high
            assert (value - limits.low) % setting.step == 0
        case Scale():
            assert design.index.limits[key].low <= value <= design.index.limits[key].high
            assert value in setting.steps
        case Choice():
            assert 0 <= value < len(setting.options)
        case Switch():
            assert value in (0, 1)
        case Clock():
            assert 0 <= value <= setting.highest
        case Digits():
            assert setting.low <= value <= setting.high


def check_memory(design: Design, state: State, memory: Mapping[str, Stored]) -> None:
    """Assert that non-volatile memory holds what the device would keep, except for what waits to be saved.

    What memory never held is at its initial value. A live draft counts as what stood before the edit.
    """
    new = collect_saved_values(design, make_initial_state(design))
    for key, value in collect_saved_values(design, state).items():
        assert key in state.unsaved or memory.get(key, new[key]) == value, key


def check_step(design: Design, before: State, effects: tuple[Effect, ...], after: State) -> None:
    """Assert that the effects of a step say every change of a value, and nothing that is not so afterwards."""
    told = {effect.key: effect.value for effect in effects if isinstance(effect, ValueChanged)}
    for key in design.index.settings:
        was, now = get_value(design, before, key), get_value(design, after, key)
        assert was == now or key in told, f"{key} changed from {was} to {now} and nobody said so"
        assert told.get(key, now) == now, f"{key} was told as {told.get(key)} and is {now}"
    for effect in effects:
        if isinstance(effect, Committed | Reverted | SaveDue):
            assert effect.key in design.index.settings
