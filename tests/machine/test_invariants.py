"""What holds of every device, whatever its design and whatever is done to it."""

import json

import attrs
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.events import Event, Press, Turn, Wait
from knobmenu.machine.advance import advance, advance_all, find_next_due_ms
from knobmenu.machine.effects import AtLimit, Effect, Flash, SaveDue, ScreenEntered, Sound, ValueChanged
from knobmenu.machine.memory import collect_saved_values, power_on
from knobmenu.machine.persistence import from_json, migrate, to_json
from knobmenu.machine.state import Editing, Mode, State, get_value, make_initial_state
from tests.invariants import check_state, check_step
from tests.strategies import Story, designs, opening, opens_an_editor, stories


def played(design: Design, events: list[Event]) -> State:
    return advance_all(design, make_initial_state(design), events)[0]


@given(stories())
def test_whatever_is_done_values_stay_in_their_limits_and_the_selection_on_a_shown_entry(
    story: Story,
) -> None:
    design, events = story
    state = make_initial_state(design)
    check_state(design, state)
    for event in events:
        before = state
        state, effects = advance(design, before, event)
        check_state(design, state)
        check_step(design, before, effects, state)
        assert state.at_ms == event.at_ms


@given(stories())
def test_the_same_trace_gives_the_same_states(story: Story) -> None:
    design, events = story
    assert played(design, events) == played(attrs.evolve(design), events)


@given(stories())
def test_one_batch_equals_event_by_event(story: Story) -> None:
    design, events = story
    state = make_initial_state(design)
    said: list[Effect] = []
    for event in events:
        state, effects = advance(design, state, event)
        said += effects
    assert advance_all(design, make_initial_state(design), events) == (state, tuple(said))


@given(stories(), st.data())
def test_time_told_often_equals_time_told_rarely(story: Story, data: st.DataObject) -> None:
    design, events = story
    watched: list[Event] = []
    now_ms = 0
    for event in events:
        for at_ms in sorted(data.draw(st.lists(st.integers(now_ms, event.at_ms), max_size=2))):
            watched.append(Wait(at_ms))
        watched.append(event)
        now_ms = event.at_ms
    assert advance_all(design, make_initial_state(design), events) == advance_all(
        design, make_initial_state(design), watched
    )


@given(stories())
def test_what_falls_due_is_announced_and_happens_then_and_not_before(story: Story) -> None:
    design, events = story
    state = played(design, events)
    for _ in range(len(state.path) + 4):
        due_ms = find_next_due_ms(design, state)
        if due_ms is None:
            break
        early, nothing = advance(design, state, Wait(max(due_ms - 1, state.at_ms)))
        assert nothing == () or due_ms <= state.at_ms
        later, effects = advance(design, early, Wait(max(due_ms, state.at_ms)))
        assert effects or later != early
        state = later
    assert find_next_due_ms(design, state) is None


@given(stories())
def test_a_device_with_an_idle_rule_always_comes_home_and_saves(story: Story) -> None:
    design, events = story
    state = played(design, events)
    levels = len(state.path) + 1
    later, _ = advance(design, state, Wait(state.at_ms + levels * design.idle.after_ms + design.save_after_ms))
    assert not later.unsaved
    if design.idle.after_ms:
        assert later.mode is Mode.HOME


@given(stories(designs().filter(lambda design: any(map(opens_an_editor, design.settings)))), st.data())
def test_reverting_restores_every_value_exactly(story: Story, data: st.DataObject) -> None:
    design, events = story
    edited = data.draw(st.sampled_from([setting.key for setting in design.settings if opens_an_editor(setting)]))
    patient = attrs.evolve(
        opening(design, edited),
        settings=[attrs.evolve(setting, on_idle="revert") for setting in design.settings],
        idle=attrs.evolve(design.idle, after_ms=500_000),
    )
    state, opened_at, reverted = make_initial_state(patient), None, 0
    for event in [Press(0), *events]:
        was_editing = isinstance(state.focus, Editing)
        before = state
        state, _ = advance(patient, state, event)
        if isinstance(state.focus, Editing) and not was_editing:
            opened_at = before.values
        if isinstance(state.focus, Editing):
            idled, effects = advance(patient, state, Wait(state.at_ms + 500_000))
            assert idled.values == opened_at
            assert not [effect for effect in effects if isinstance(effect, SaveDue) and effect.key not in state.unsaved]
            reverted += 1
    assert reverted


@given(stories(), stories())
def test_a_state_from_json_goes_on_as_the_original(story: Story, other: Story) -> None:
    design, events = story
    half = len(events) // 2
    state = played(design, events[:half])
    migrated = from_json(design, to_json(design, state))
    assert migrated.state == state
    assert migrated.dropped == ()
    assert hash(migrated.state) == hash(state)
    assert advance_all(design, migrated.state, events[half:]) == advance_all(design, state, events[half:])


@given(stories(), st.data())
def test_a_state_carried_into_a_changed_design_is_a_state_of_that_design(story: Story, data: st.DataObject) -> None:
    design, events = story
    changed = data.draw(designs())
    migrated = migrate(design, played(design, events), changed)
    check_state(changed, migrated.state)
    later = advance_all(changed, migrated.state, [Turn(migrated.state.at_ms, 1), Press(migrated.state.at_ms)])[0]
    check_state(changed, later)


@given(stories())
def test_what_is_kept_comes_back_at_power_on_and_the_rest_is_new(story: Story) -> None:
    design, events = story
    state = played(design, events)
    memory = json.loads(json.dumps(collect_saved_values(design, state)))
    again = power_on(design, memory)
    check_state(design, again.state)
    new = make_initial_state(design)
    if not again.dropped:
        for setting in design.settings:
            was = state if setting.saved else new
            assert get_value(design, again.state, setting.key) == get_value(design, was, setting.key)
    else:
        assert design.index.limits, "only limits between a kept and an unkept value can stand in the way"


@given(stories())
def test_an_event_makes_one_sound_and_one_flash_of_a_lamp_at_most(story: Story) -> None:
    design, events = story
    never_idle = attrs.evolve(design, idle=attrs.evolve(design.idle, after_ms=0))
    state = make_initial_state(never_idle)
    for event in events:
        before = state
        state, effects = advance(never_idle, before, event)
        assert sum(isinstance(effect, Sound) for effect in effects) <= 1
        flashes = [effect.lamp for effect in effects if isinstance(effect, Flash)]
        assert len(flashes) == len(set(flashes))
        assert sum(isinstance(effect, ScreenEntered) for effect in effects) <= 1
        if isinstance(event, Turn) and any(isinstance(effect, AtLimit) for effect in effects):
            assert len([effect for effect in effects if isinstance(effect, ValueChanged)]) <= len(design.settings)
