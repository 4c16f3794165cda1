"""A saved state goes back to where it was, and a changed design takes what it still has and says what it dropped."""

from __future__ import annotations

import json
from typing import Any

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.menu import Action
from knobmenu.design.settings import Clock, Digits, Number, Scale, TextSetting
from knobmenu.design.whole import Design
from knobmenu.errors import StateError
from knobmenu.machine.advance import advance_all
from knobmenu.machine.memory import collect_saved_values, power_on
from knobmenu.machine.persistence import from_json, from_plain, migrate, to_json, to_plain
from knobmenu.machine.state import Asking, Holding, Mode, NumberDraft, Place, State, get_value, make_initial_state
from knobmenu.machine.stored import UnfitError, rescale, restore, store
from knobmenu.trace import parse_trace


def after(design: Design, trace: str) -> State:
    return advance_all(design, make_initial_state(design), parse_trace(trace))[0]


def changed(design: Design, key: str, **fields: Any) -> Design:
    settings = [attrs.evolve(setting, **fields) if setting.key == key else setting for setting in design.settings]
    return attrs.evolve(design, settings=settings)


@pytest.mark.parametrize(
    "trace",
    [
        "3",
        "press 4 press 5",
        "press press 1 press 2",
        "press press press 2",
        "press 5 press 1 press 2",
        "press 1 press press 3",
        "press 7 press 1",
        "press 8 press",
        "double",
        "held 1 press 6 hold press",
        "press press 4 press -3",
    ],
)
def test_each_kind_of_state_is_read_back_as_it_was(radio: Design, trace: str) -> None:
    state = after(radio, trace)
    migrated = from_json(radio, to_json(radio, state))

    assert migrated.state == state
    assert migrated.dropped == ()


def test_a_number_keeps_its_meaning_when_its_decimals_change(radio: Design) -> None:
    state = after(radio, "3")
    finer = changed(radio, "volume", decimals=1, high=300, initial=100)

    migrated = migrate(radio, state, finer)
    back = migrate(finer, advance_all(finer, migrated.state, parse_trace("at 900 1"))[0], radio)

    assert get_value(finer, migrated.state, "volume") == 130
    assert get_value(radio, back.state, "volume") == 10
    assert back.dropped == ("value of volume: it had 1 decimals, and 0 are too few now",)


@pytest.mark.parametrize(
    ("key", "fields", "reason"),
    [
        ("volume", {"high": 20}, "25 is not one of its values from 0 to 20"),
        ("volume", {"step": 2}, "25 is not one of its values from 0 to 30"),
        ("timeout", {"values": (1, 5, 30)}, "10 is not one of its values from 1 to 30"),
        ("alarm", {"fields": "minutes-seconds"}, 'it had "hours-minutes", and has minutes-seconds now'),
        ("name", {"characters": "AC"}, '"AAB" is not a text of at most 3 of its characters'),
        ("name", {"longest": 2}, '"AAB" is not a text of at most 2 of its characters'),
    ],
)
def test_a_value_that_a_setting_cannot_have_any_more_is_dropped_with_the_reason(
    radio: Design, key: str, fields: dict[str, Any], reason: str
) -> None:
    state = after(radio, "15 press 3 press 1 press 2 press press 1 press")
    wanted = {"volume": 25, "timeout": 10, "name": "AAB"}
    assert {name: get_value(radio, state, name) for name in wanted} == {"volume": 25, "timeout": 10, "name": "AAB"}
    design = changed(radio, key, **fields)

    migrated = migrate(radio, state, design)

    assert migrated.dropped == (f"value of {key}: {reason}",)
    assert get_value(design, migrated.state, key) == get_value(design, make_initial_state(design), key)


def test_a_key_that_is_gone_or_means_another_kind_is_dropped(radio: Design) -> None:
    state = after(radio, "hold")
    design = attrs.evolve(
        radio,
        settings=[
            Number(key="mute", label="Mute", low=0, high=1, initial=0)
            if setting.key == "mute"
            else Scale(key="other", label="Other", values=(1, 2), initial=1)
            if setting.key == "least"
            else attrs.evolve(setting, low=0)
            if setting.key == "most" and isinstance(setting, Number)
            else setting
            for setting in radio.settings
        ],
        menus=[
            attrs.evolve(menu, entries=[entry for entry in menu.entries if entry.target not in ("least", "timeout")])
            for menu in radio.menus
        ],
        lamps=(),
    )

    assert set(migrate(radio, state, design).dropped) == {
        'value of mute: it was a "switch", and is a number now',
        "value of least: the setting no longer exists",
    }


def test_two_values_that_break_a_new_limit_together_are_both_dropped(radio: Design) -> None:
    unbound = changed(changed(radio, "most", low=0), "least", high=30)
    state = after(unbound, "press press 4 press -20 press -1 press 25 press")
    assert (get_value(unbound, state, "least"), get_value(unbound, state, "most")) == (25, 10)

    migrated = migrate(unbound, state, radio)

    assert migrated.dropped == ("values of least and most: the first may not be above the second now",)
    assert (get_value(radio, migrated.state, "least"), get_value(radio, migrated.state, "most")) == (0, 30)


@pytest.mark.parametrize("entry", range(11))
@pytest.mark.parametrize("by", [1, 5, 10])
def test_the_selection_goes_with_its_entry_wherever_it_moves(radio: Design, entry: int, by: int) -> None:
    main = radio.menus[0]
    entries = (*main.entries[by:], *main.entries[:by])
    design = attrs.evolve(radio, menus=(attrs.evolve(main, entries=entries), *radio.menus[1:]))
    opened = after(radio, f"press {entry}" if entry else "press")
    left = after(radio, f"press {entry} hold" if entry else "press hold")
    target = main.entries[entry].target

    (place,) = migrate(radio, opened, design).state.path
    (reopened,) = advance_all(design, migrate(radio, left, design).state, parse_trace("at 900 press"))[0].path

    assert entries[place.entry].target == entries[reopened.entry].target == target


def test_an_open_menu_that_is_not_reached_any_more_is_closed(radio: Design) -> None:
    state = after(radio, "press press 2")
    main = radio.menus[0]
    design = attrs.evolve(radio, menus=(attrs.evolve(main, entries=main.entries[1:]), *radio.menus[1:]))

    migrated = migrate(radio, state, design)

    assert [place.menu for place in migrated.state.path] == ["main"]
    assert migrated.dropped == ("open menu sound: main no longer leads there",)


def test_a_live_edit_that_cannot_go_on_is_reverted(radio: Design) -> None:
    state = after(radio, "press press press 3")
    sound = radio.menus[1]
    menus = (radio.menus[0], attrs.evolve(sound, entries=sound.entries[1:]), radio.menus[2])

    migrated = migrate(radio, state, attrs.evolve(radio, menus=menus))

    assert migrated.state.mode is Mode.BROWSING
    assert get_value(radio, migrated.state, "bass") == 0
    assert migrated.dropped == ("editing of bass: the selected entry no longer leads there",)


def test_a_question_is_not_asked_again_where_it_became_a_hold(radio: Design) -> None:
    state = after(radio, "press 7 press 1")
    erase = attrs.evolve(radio.actions[0], confirm="hold")

    migrated = migrate(radio, state, attrs.evolve(radio, actions=(erase, *radio.actions[1:])))

    assert migrated.state.focus is None
    assert migrated.dropped == ("asking of erase: it is no longer confirmed in this way",)


def test_only_kept_values_come_back_at_power_on(radio: Design) -> None:
    memory = json.loads(json.dumps(collect_saved_values(radio, after(radio, "3 hold"))))

    state = power_on(radio, memory).state

    assert "mute" not in memory
    assert (get_value(radio, state, "volume"), get_value(radio, state, "mute"), state.mode) == (13, 0, Mode.HOME)


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        ((), [], "saved state: expected an object, got an empty list"),
        (("format",), 2, "saved state: format: expected 1, which this version writes, got 2"),
        (("at_ms",), -1, "saved state: at_ms: expected a whole number from 0 to 4294967295, got -1"),
        (("at_ms",), True, "saved state: at_ms: expected a whole number from 0 to 4294967295, got true"),
        (("changed_ms",), 10**6, "saved state: changed_ms: expected a whole number from 0 to 600, got 1000000"),
        (("values",), 3, "saved state: values: expected an object, got 3"),
        (("values", "volume"), 3, "saved state: values.volume: expected an object, got 3"),
        (("path",), None, "saved state: path: expected a list, got nothing"),
        (("path", 0, "entry"), "x", 'saved state: path.entry: expected a whole number from -1, got "x"'),
        (
            ("focus", "mode"),
            "x",
            'saved state: focus: expected a mode of "editing", "asking" or "holding", and a key, got "x"',
        ),
    ],
)
def test_what_is_no_state_is_refused_with_its_place(
    radio: Design, path: tuple[str | int, ...], value: object, message: str
) -> None:
    plain: Any = to_plain(radio, after(radio, "press 1 -1 1 press 2"))
    if not path:
        plain = value
    else:
        inner = plain
        for step in path[:-1]:
            inner = inner[step]
        inner[path[-1]] = value

    with pytest.raises(StateError) as error:
        from_plain(radio, plain)

    assert str(error.value).startswith(message)


_json = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**40), 2**40) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
)


@given(st.data())
def test_a_state_with_anything_in_any_place_is_read_or_refused(radio: Design, data: st.DataObject) -> None:
    plain = to_plain(
        radio, after(radio, data.draw(st.sampled_from(["press press press 2", "press 7 press", "press 5 press 1"])))
    )
    holder: Any = plain
    key: Any = data.draw(st.sampled_from(sorted(plain)))
    while isinstance(holder[key], dict | list) and holder[key] and data.draw(st.booleans()):
        holder = holder[key]
        key = data.draw(st.sampled_from(range(len(holder)) if isinstance(holder, list) else sorted(holder)))
    holder[key] = data.draw(_json)

    try:
        migrated = from_plain(radio, plain)
    except StateError as error:
        refused = str(error)
    else:
        refused = "saved state"
        assert from_json(radio, to_json(radio, migrated.state)).state == migrated.state

    assert refused.startswith("saved state")


@given(st.text() | st.just("[" * 100_000))
def test_any_text_is_a_state_or_is_refused(radio: Design, text: str) -> None:
    with pytest.raises(StateError):
        from_json(radio, text)


def test_every_kind_of_focus_and_setting_is_among_the_states_above(radio: Design) -> None:
    kinds = {type(after(radio, trace).focus) for trace in ("press 7 press", "press 8 press", "press 4 press")}

    assert kinds == {Asking, Holding, NumberDraft}
    assert {Clock, Digits, TextSetting} <= {type(setting) for setting in radio.settings}


@pytest.mark.parametrize(
    ("value", "decimals", "wanted", "expected"), [(1250, 2, 1, 125), (3, 0, 2, 300), (700, 2, 0, 7)]
)
def test_a_number_is_written_with_other_decimals_where_it_stays_the_same_number(
    value: int, decimals: int, wanted: int, expected: int
) -> None:
    assert rescale(value, decimals, wanted) == expected


@pytest.mark.parametrize(("value", "decimals", "wanted"), [(1255, 2, 1), (5, 1, 0), (2**31 - 1, 0, 1), (1, 10, 0)])
def test_a_number_that_other_decimals_cannot_write_is_refused(value: int, decimals: int, wanted: int) -> None:
    with pytest.raises(UnfitError):
        rescale(value, decimals, wanted)


def test_an_open_menu_is_selected_in_the_menu_that_leads_to_it(radio: Design) -> None:
    """A state that was written by hand has *sound* open inside of *main*, and something else selected there."""
    plain = to_plain(radio, after(radio, "press press"))
    plain["path"][0] = {"menu": "main", "entry": 3, "target": "timeout"}
    assert from_plain(radio, plain).state.path == (Place("main", 0), Place("sound", 0))


@pytest.mark.parametrize("entry", [-2, 2**31])
def test_a_selection_beyond_32_bits_or_below_none_is_refused(radio: Design, entry: int) -> None:
    plain = to_plain(radio, after(radio, "press 1"))
    plain["path"][0] = {"menu": "main", "entry": entry, "target": ""}
    with pytest.raises(StateError, match=f"path.entry: expected a whole number from -1, got {entry}"):
        from_plain(radio, plain)


@pytest.mark.parametrize(
    ("entry", "target", "selected"),
    [
        (2, "gone", 2),  # the same place
        (2, "alarm", 4),  # where the target is now
        (2**31 - 1, "gone", 10),  # as near as the list goes
        (2**31 - 1, "alarm", 4),
    ],
)
def test_a_selection_is_found_again_by_its_target_then_by_its_place(
    radio: Design, entry: int, target: str, selected: int
) -> None:
    plain = to_plain(radio, after(radio, "press 1"))
    plain["path"][0] = {"menu": "main", "entry": entry, "target": target}
    assert from_plain(radio, plain).state.path == (Place("main", selected),)


def test_a_menu_without_a_shown_entry_has_none_selected_and_opens_there_again(radio: Design) -> None:
    state = after(radio, "double")
    assert state.path == (Place("hidden", -1),)
    plain = to_plain(radio, state)
    assert plain["path"] == [{"menu": "hidden", "entry": -1, "target": ""}]
    assert from_plain(radio, plain).state == state


@pytest.mark.parametrize(
    ("key", "fields", "value"),
    [
        ("band", {"value": "mw"}, 1),
        ("mute", {"value": True}, 1),
        ("volume", {"value": 30}, 30),
        ("volume", {"value": 300, "decimals": 1}, 30),
        ("loud", {"value": 5}, 5),
        ("timeout", {"value": 30}, 30),
        ("frequency", {"value": 87_500}, 87_500),
        ("frequency", {"value": 108_000}, 108_000),
        ("frequency", {"value": 108, "decimals": 0}, 108_000),
        ("alarm", {"value": 1439}, 1439),
        ("alarm", {"value": 0}, 0),
        ("name", {"value": "BAB"}, "BAB"),
        ("name", {"value": ""}, ""),
    ],
)
def test_a_stored_value_that_a_setting_can_have_is_taken(
    radio: Design, key: str, fields: dict[str, Any], value: int | str
) -> None:
    assert restore(radio.index, radio.index.settings[key], {**_stored(radio, key), **fields}) == value


@pytest.mark.parametrize(
    ("key", "fields", "reason"),
    [
        ("band", {"value": "am"}, 'it no longer has the option "am"'),
        ("mute", {"value": 1}, "1 is neither true nor false"),
        ("volume", {"value": 31}, "31 is not one of its values from 0 to 30"),
        ("volume", {"value": -1}, "-1 is not one of its values from 0 to 30"),
        ("volume", {"value": True}, "true is not a 32-bit integer"),
        ("volume", {"decimals": True}, "is not a 32-bit integer"),
        ("volume", {"decimals": -1}, "is not a 32-bit integer"),
        ("volume", {"decimals": 10}, "is not a 32-bit integer"),
        ("volume", {"kind": "switch"}, 'it was a "switch", and is a number now'),
        ("quiet", {"value": 4}, "4 is not one of its values from 0 to 30"),
        ("timeout", {"value": 3}, "3 is not one of its values from 1 to 30"),
        ("frequency", {"value": 87_499}, "87499 is not one of its values from 87500 to 108000"),
        ("frequency", {"value": 108_001}, "108001 is not one of its values from 87500 to 108000"),
        ("frequency", {"value": 1_000_001, "decimals": 4}, "it had 4 decimals, and 3 are too few now"),
        ("alarm", {"value": 1440}, "1440 is not a time up to 1439"),
        ("alarm", {"value": -1}, "-1 is not a time up to 1439"),
        ("alarm", {"value": True}, "true is not a time up to 1439"),
        ("alarm", {"fields": "minutes-seconds"}, 'it had "minutes-seconds", and has hours-minutes now'),
        ("name", {"value": "ABAB"}, '"ABAB" is not a text of at most 3 of its characters'),
        ("name", {"value": "C"}, '"C" is not a text of at most 3 of its characters'),
        ("name", {"value": 7}, "7 is not a text of at most 3 of its characters"),
    ],
)
def test_a_stored_value_that_a_setting_cannot_have_is_refused_with_the_reason(
    radio: Design, key: str, fields: dict[str, Any], reason: str
) -> None:
    with pytest.raises(UnfitError) as unfit:
        restore(radio.index, radio.index.settings[key], {**_stored(radio, key), **fields})
    assert reason in unfit.value.reason


def _stored(radio: Design, key: str) -> dict[str, Any]:
    return dict(store(radio.index, key, get_value(radio, make_initial_state(radio), key)))


@pytest.mark.parametrize("value", [-(2**31), -214_748_364 * 10, 0, 214_748_364 * 10, 2**31 - 1])
def test_a_report_is_any_number_of_32_bits_and_keeps_its_meaning(radio: Design, value: int) -> None:
    plain = to_plain(radio, after(radio, "press"))
    plain["reports"]["signal"] = {"decimals": 0, "value": value}
    finer = attrs.evolve(radio, readouts=[attrs.evolve(radio.readouts[0], decimals=1)])

    assert get_value(radio, from_plain(radio, plain).state, "signal") == value
    if value % 10 == 0:
        tenth = {**plain, "reports": {"signal": {"decimals": 0, "value": value // 10}}}
        assert get_value(finer, from_plain(finer, tenth).state, "signal") == value


@pytest.mark.parametrize(
    ("report", "reason"),
    [
        ({"noise": {"decimals": 0, "value": 1}}, "report of noise: the readout no longer exists"),
        ({"signal": {"decimals": 0, "value": 2**31}}, "report of signal: 2147483648 is not a 32-bit integer"),
        ({"signal": {"decimals": 0, "value": -(2**31) - 1}}, "report of signal: -2147483649 is not a 32-bit integer"),
        ({"signal": {"decimals": 1, "value": 15}}, "report of signal: it had 1 decimals, and 0 are too few now"),
    ],
)
def test_a_report_that_no_readout_can_have_is_dropped_with_the_reason(
    radio: Design, report: dict[str, Any], reason: str
) -> None:
    migrated = from_plain(radio, {**to_plain(radio, after(radio, "press")), "reports": report})

    assert migrated.dropped == (reason,)
    assert get_value(radio, migrated.state, "signal") == 0


@pytest.mark.parametrize(("scale", "value"), [(1, 214_748_365), (1, -214_748_365), (9, 3)])
def test_a_number_that_takes_more_than_32_bits_with_other_decimals_is_refused(scale: int, value: int) -> None:
    with pytest.raises(UnfitError, match=f"{value * 10**scale} is not a 32-bit integer"):
        rescale(value, 0, scale)


def test_a_menu_that_is_gone_is_closed_with_all_that_was_open_inside_of_it(radio: Design) -> None:
    plain = to_plain(radio, after(radio, "press press"))
    for gone in ("kitchen", None):
        plain["path"] = [{"menu": gone, "entry": 0, "target": ""}, *plain["path"][-1:]]
        migrated = from_plain(radio, plain)
        assert migrated.state.path == ()
        assert len(migrated.dropped) == 1
        assert migrated.dropped[0].endswith("the menu no longer exists")


@pytest.mark.parametrize(
    ("trace", "fields", "kept"),
    [
        ("press 4 press", {"place": 1}, True),
        ("press 4 press", {"place": 2}, False),
        ("press 4 press", {"place": -1}, False),
        ("press 4 press", {"place": True}, False),
        ("press 4 press", {"pick": 1}, False),
        ("press 1 press", {"place": 5}, True),
        ("press 1 press", {"place": 6}, False),
        ("press press press", {"place": 1}, False),
        ("press 5 press", {"pick": 3}, True),
        ("press 5 press", {"pick": 4}, False),
        ("press 5 press", {"pick": -1}, False),
        ("press 5 press", {"place": 1}, False),
    ],
)
def test_a_draft_opens_again_at_a_part_that_its_setting_has(
    radio: Design, trace: str, fields: dict[str, Any], kept: bool
) -> None:
    """A clock of two fields, six digits, a number, and two characters with the marks for delete and done."""
    plain = to_plain(radio, after(radio, trace))
    key = plain["focus"]["key"]
    plain["focus"] |= fields
    migrated = from_plain(radio, plain)

    assert (migrated.state.mode is Mode.EDITING) is kept
    assert migrated.dropped == (() if kept else (f"draft of {key}: it has other parts now",))


def test_a_live_draft_of_what_is_not_a_setting_any_more_is_reverted(radio: Design) -> None:
    """What *loud* pushed is put back, although *loud* itself became an action."""
    bound = changed(radio, "loud", low=0)
    state = after(bound, "press press 2 press -4")
    bare = changed(bound, "quiet", high=30)
    settings = [setting for setting in bare.settings if setting.key != "loud"]
    actions = (*bare.actions, Action(key="loud", label="Loud"))
    migrated = migrate(bound, state, attrs.evolve(bare, settings=settings, actions=actions))

    assert (get_value(bound, make_initial_state(bound), "quiet"), get_value(bound, state, "quiet")) == (5, 0)
    assert get_value(bare, migrated.state, "quiet") == 5
    assert migrated.dropped == (
        "value of loud: the setting no longer exists",
        "draft of loud: it is no longer a setting",
    )


def test_only_saved_settings_of_the_design_are_unsaved_once_each_and_in_order(radio: Design) -> None:
    plain = to_plain(radio, after(radio, "press"))
    plain["unsaved"] = ["alarm", "gone", "mute", 7, "volume", "alarm"]

    assert from_plain(radio, plain).state.unsaved == ("volume", "alarm")
