"""What the machine does, one sentence a test."""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import pytest

import knobmenu
from knobmenu.design.conditions import AtLeast, Equal
from knobmenu.design.home import Idle
from knobmenu.design.settings import Choice, Ends, Option
from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.machine.advance import advance_all, find_next_due_ms, identify_screen
from knobmenu.machine.effects import Effect
from knobmenu.machine.indicators import find_lit_lamps
from knobmenu.machine.state import Asking, Editing, Holding, Mode, State, get_value, make_initial_state
from knobmenu.trace import parse_trace


def play(design: Design, trace: str, state: State | None = None) -> tuple[State, tuple[Effect, ...]]:
    return advance_all(design, state or make_initial_state(design), parse_trace(trace))


def said(effects: Sequence[Effect], *kinds: type[Effect]) -> list[Effect]:
    return [effect for effect in effects if isinstance(effect, kinds)]


def selected(design: Design, state: State) -> str:
    place = state.path[-1]
    return design.index.menus[place.menu].entries[place.entry].target


# The home screen.


def test_turning_at_home_changes_the_value_and_keeps_it(radio: Design) -> None:
    state, effects = play(radio, "3")

    assert state.mode is Mode.HOME
    assert said(effects, knobmenu.ValueChanged, knobmenu.Committed) == [
        knobmenu.ValueChanged("volume", 13),
        knobmenu.Committed("volume", 13),
    ]


def test_turning_home_beyond_the_end_stops_and_says_so(radio: Design) -> None:
    state, effects = play(radio, "25 1")

    assert get_value(radio, state, "volume") == 30
    assert said(effects, knobmenu.AtLimit) == [knobmenu.AtLimit("volume", "high")] * 2


def test_an_accelerated_turn_counts_its_steps_where_the_setting_accelerates(radio: Design) -> None:
    fast = Turn(10, 2, times=5)
    at_home, _ = advance_all(radio, make_initial_state(radio), [fast])
    browsing, _ = advance_all(radio, make_initial_state(radio), [Press(0), fast])

    assert get_value(radio, at_home, "volume") == 20
    assert browsing.path[-1].entry == 2, "a list never accelerates"


def test_a_long_press_at_home_turns_the_switch_over(radio: Design) -> None:
    state, effects = play(radio, "hold")

    assert get_value(radio, state, "mute") == 1
    assert find_lit_lamps(radio, state) == (True, False)
    assert said(effects, knobmenu.SaveDue) == []


def test_turning_while_held_at_home_changes_its_own_setting_by_coarse_steps(radio: Design) -> None:
    state, _ = play(radio, "held 1")

    assert get_value(radio, state, "timeout") == 30


@pytest.mark.parametrize(
    ("ends", "trace", "place"), [("stop", "held 1", 1), ("stop", "held 9", 3), ("wrap", "held 5", 1)]
)
def test_turning_while_held_goes_through_a_choice_option_by_option(
    radio: Design, ends: Ends, trace: str, place: int
) -> None:
    options = tuple(Option(key=key, label=key) for key in ("air", "line", "tape", "tuner"))
    source = Choice(key="source", label="Source", options=options, ends=ends)
    design = attrs.evolve(radio, settings=(*radio.settings, source), home=attrs.evolve(radio.home, held_turn="source"))

    assert get_value(design, play(design, trace)[0], "source") == place


# Lists.


def test_a_press_opens_the_menu_at_its_first_entry(radio: Design) -> None:
    state, effects = play(radio, "press")

    assert (state.mode, selected(radio, state)) == (Mode.BROWSING, "sound")
    assert said(effects, knobmenu.ScreenEntered) == [knobmenu.ScreenEntered(Mode.BROWSING, "main")]


def test_turning_moves_the_selection_and_stops_at_the_end(radio: Design) -> None:
    state, effects = play(radio, "press 99 -1")

    assert selected(radio, state) == "mute"
    assert said(effects, knobmenu.AtLimit) == [knobmenu.AtLimit("main", "high")]


def test_a_list_that_wraps_goes_on_from_its_other_end(radio: Design) -> None:
    state, effects = play(radio, "press press -1")

    assert selected(radio, state) == "most"
    assert said(effects, knobmenu.AtLimit) == []


def test_hidden_entries_are_stepped_over(radio: Design) -> None:
    state, _ = play(radio, "press 2 press 1 press -1")

    assert selected(radio, state) == "sound", "frequency is hidden on medium wave"


def test_an_entry_that_vanishes_under_the_cursor_leaves_the_nearest_selected(radio: Design) -> None:
    design = attrs.evolve(radio, home=attrs.evolve(radio.home, double_press="hidden"))
    empty, _ = play(design, "double")
    filled, _ = play(design, "double report signal 5")
    emptied, _ = play(design, "double report signal 5 report signal 0")

    assert empty.path[-1].entry == -1
    assert filled.path[-1].entry == 0
    assert emptied.path[-1].entry == -1


def test_an_empty_list_is_left_by_a_press_and_not_moved_by_a_turn(radio: Design) -> None:
    turned, _ = play(radio, "double 3")
    left, _ = play(radio, "double 3 press")

    assert turned.path[-1].entry == -1
    assert left.mode is Mode.HOME


def test_a_disabled_entry_is_refused(radio: Design) -> None:
    state, effects = play(radio, "hold press 3 press")

    assert state.mode is Mode.BROWSING
    assert said(effects, knobmenu.Refused, knobmenu.Sound, knobmenu.Flash)[-3:] == [
        knobmenu.Refused("timeout"),
        knobmenu.Sound("refused", 60, 2000),
        knobmenu.Flash("busy", 50),
    ]


def test_the_back_entry_a_long_press_and_a_double_press_leave(radio: Design) -> None:
    by_entry, _ = play(radio, "press 99 press")
    by_long_press, _ = play(radio, "press press hold")
    by_double_press, _ = play(radio, "press press double")

    assert by_entry.mode is Mode.HOME
    assert [place.menu for place in by_long_press.path] == ["main"]
    assert by_double_press.mode is Mode.HOME


def test_a_menu_reopens_where_it_was_left_if_it_says_so(radio: Design) -> None:
    state, _ = play(radio, "press 4 hold press")
    first, _ = play(radio, "press press 2 hold press")

    assert selected(radio, state) == "alarm"
    assert selected(radio, first) == "bass"


def test_a_readout_is_only_read(radio: Design) -> None:
    state, effects = play(radio, "press 6 press")

    assert (selected(radio, state), said(effects, knobmenu.Refused)) == ("signal", [])


def test_turning_while_held_moves_by_a_screen_of_rows(radio: Design) -> None:
    state, _ = play(radio, "press held 1")

    assert state.path[-1].entry == radio.display.rows


# Editing.


def test_a_draft_takes_effect_on_commit_only(radio: Design) -> None:
    open_, drafting = play(radio, "press 3 press 1")
    done, committing = play(radio, "press 3 press 1 press")

    assert isinstance(open_.focus, Editing)
    assert (open_.focus.draft, get_value(radio, open_, "timeout")) == (10, 5)
    assert said(drafting, knobmenu.ValueChanged) == []
    assert get_value(radio, done, "timeout") == 10
    assert said(committing, knobmenu.ValueChanged, knobmenu.Committed) == [
        knobmenu.ValueChanged("timeout", 10),
        knobmenu.Committed("timeout", 10),
    ]


def test_a_long_press_reverts_a_draft(radio: Design) -> None:
    state, effects = play(radio, "press 3 press 1 hold")

    assert (state.mode, get_value(radio, state, "timeout")) == (Mode.BROWSING, 5)
    assert said(effects, knobmenu.Reverted) == [knobmenu.Reverted("timeout", 5)]


def test_a_live_draft_takes_effect_at_once_and_is_put_back(radio: Design) -> None:
    turned, effects = play(radio, "press press press 2")
    reverted, undone = play(radio, "press press press 2 hold")

    assert said(effects, knobmenu.ValueChanged) == [knobmenu.ValueChanged("bass", 2)]
    assert get_value(radio, turned, "bass") == 2
    assert get_value(radio, reverted, "bass") == 0
    assert said(undone, knobmenu.ValueChanged, knobmenu.Reverted)[1:] == [
        knobmenu.ValueChanged("bass", 0),
        knobmenu.Reverted("bass", 0),
    ]
    assert said(undone, knobmenu.SaveDue) == []


def test_a_number_that_wraps_goes_on_from_its_other_end(radio: Design) -> None:
    state, effects = play(radio, "press press press 7")

    assert get_value(radio, state, "bass") == -6
    assert said(effects, knobmenu.AtLimit) == []


def test_an_edit_stops_at_the_limit_that_the_setting_itself_declares(radio: Design) -> None:
    state, effects = play(radio, "press press 1 press 99 press")

    assert get_value(radio, state, "quiet") == get_value(radio, state, "loud") == 20
    assert said(effects, knobmenu.AtLimit) == [knobmenu.AtLimit("quiet", "high")]


def test_an_edit_pushes_the_setting_that_declares_it_as_its_limit_and_reverting_pulls_it_back(radio: Design) -> None:
    pushing, effects = play(radio, "press press 3 press 99 press 1 press -10 hold")
    least = "press press 3 press 25 press 1 press 99 hold"

    assert get_value(radio, pushing, "most") == 30
    state, effects = play(radio, "press press 4 press -10 press -1 press 25 press")
    assert get_value(radio, state, "least") == 25
    assert get_value(radio, state, "most") == 25, "least pushed most up"
    assert knobmenu.ValueChanged("most", 25) in effects
    assert get_value(radio, play(radio, least)[0], "most") == 30


def test_a_clock_is_edited_field_by_field_and_each_field_wraps_by_itself(radio: Design) -> None:
    state, _ = play(radio, "press 4 press 20 press -31 press")

    assert get_value(radio, state, "alarm") == 3 * 60 + 59


def test_a_number_is_edited_digit_by_digit_and_carries(radio: Design) -> None:
    """98.400 with 7 tens of kilohertz more is 98.470; a carry goes into the next digit."""
    state, _ = play(radio, "press 1 press press press press press 7 press press")
    carried, _ = play(radio, "press 1 press press press press 9 press press press")

    assert get_value(radio, state, "frequency") == 98_470
    assert get_value(radio, carried, "frequency") == 99_300


def test_digits_stop_at_their_limits(radio: Design) -> None:
    _, effects = play(radio, "press 1 press 1")

    assert said(effects, knobmenu.AtLimit) == [knobmenu.AtLimit("frequency", "high")]


def test_turning_while_held_goes_from_field_to_field_and_back(radio: Design) -> None:
    state, _ = play(radio, "press 4 press held 5 1 held -5 1 press press")

    assert get_value(radio, state, "alarm") == 8 * 60 + 31


@pytest.mark.parametrize(
    ("trace", "draft"),
    [
        ("press", "AA"),
        ("1 press", "AB"),
        ("2 press", ""),
        ("2 press press", ""),
    ],
)
def test_a_text_is_written_character_by_character(radio: Design, trace: str, draft: str) -> None:
    state, _ = play(radio, f"press 5 press {trace}")

    assert isinstance(state.focus, Editing)
    assert state.focus.draft == draft


def test_a_text_is_done_with_its_mark_or_when_it_is_full(radio: Design) -> None:
    marked, _ = play(radio, "press 5 press 1 press -1 press")
    full, _ = play(radio, "press 5 press 1 press 1 press")

    assert get_value(radio, marked, "name") == "AB"
    assert get_value(radio, full, "name") == "ABB"
    assert full.mode is Mode.BROWSING


def test_a_full_text_takes_no_more(radio: Design) -> None:
    state, effects = play(radio, "press 5 press press press press 1 press")

    assert isinstance(state.focus, Editing)
    assert state.focus.draft == "AAA"
    assert said(effects, knobmenu.AtLimit) == [knobmenu.AtLimit("name", "high")]


# Confirming.


def test_a_question_opens_at_no_and_a_press_then_does_nothing(radio: Design) -> None:
    asking, _ = play(radio, "press 7 press")
    declined, effects = play(radio, "press 7 press press")

    assert asking.focus == Asking("erase", yes=False)
    assert (declined.mode, said(effects, knobmenu.ActionRun)) == (Mode.BROWSING, [])


def test_an_answer_of_yes_does_it_and_goes_where_the_action_leads(radio: Design) -> None:
    state, effects = play(radio, "press 7 press 1 press")

    assert state.mode is Mode.HOME
    assert said(effects, knobmenu.ActionRun) == [knobmenu.ActionRun("erase")]


@pytest.mark.parametrize("other", ["press", "1", "-1", "held 1", "double"])
def test_only_holding_confirms_what_wants_to_be_held(radio: Design, other: str) -> None:
    waiting, _ = play(radio, "press 8 press")
    closed, nothing = play(radio, f"press 8 press {other}")
    held, effects = play(radio, "press 8 press hold")

    assert waiting.focus == Holding("restart")
    assert (closed.mode, said(nothing, knobmenu.ActionRun)) == (Mode.BROWSING, [])
    assert (held.mode, said(effects, knobmenu.ActionRun)) == (Mode.HOME, [knobmenu.ActionRun("restart")])


def test_a_confirmation_is_refused_when_its_entry_was_disabled_meanwhile(radio: Design) -> None:
    entries = [
        attrs.evolve(entry, enabled_if=radio.menus[2].entries[0].shown_if) if entry.target == "erase" else entry
        for entry in radio.menus[0].entries
    ]
    design = attrs.evolve(radio, menus=(attrs.evolve(radio.menus[0], entries=entries), *radio.menus[1:]))
    state, effects = play(design, "report signal 1 press 7 press 1 report signal 0 press")

    assert said(effects, knobmenu.ActionRun, knobmenu.Refused) == [knobmenu.Refused("erase")]
    assert state.focus is None


# Time.


def test_idling_reverts_the_draft_and_goes_home(radio: Design) -> None:
    state, effects = play(radio, "press 3 press 1 wait 10000")

    assert (state.mode, get_value(radio, state, "timeout")) == (Mode.HOME, 5)
    assert said(effects, knobmenu.Reverted) == [knobmenu.Reverted("timeout", 5)]


def test_idling_keeps_the_draft_where_the_setting_says_so(radio: Design) -> None:
    settings = [attrs.evolve(setting, on_idle="commit") for setting in radio.settings]
    state, _ = play(attrs.evolve(radio, settings=settings), "press 3 press 1 wait 10000")

    assert get_value(radio, state, "timeout") == 10


def test_idling_can_go_up_a_level_at_a_time(radio: Design) -> None:
    design = attrs.evolve(radio, idle=Idle(after_ms=1000, to="parent"))
    trace = "press press press wait "

    assert [identify_screen(play(design, trace + str(ms))[0])[1] for ms in (999, 1000, 2000, 3000)] == [
        "bass",
        "sound",
        "main",
        "",
    ]


def test_what_changed_is_saved_once_after_it_came_to_rest(radio: Design) -> None:
    _, effects = play(radio, "1 1 1 wait 1999")
    resting, later = play(radio, "1 1 1 wait 2000")

    assert said(effects, knobmenu.SaveDue) == []
    assert said(later, knobmenu.SaveDue) == [knobmenu.SaveDue("volume", 13)]
    assert find_next_due_ms(radio, resting) is None


def test_without_a_delay_it_is_saved_with_the_change_itself(radio: Design) -> None:
    _, effects = play(attrs.evolve(radio, save_after_ms=0), "1 1")

    assert said(effects, knobmenu.SaveDue) == [knobmenu.SaveDue("volume", 11), knobmenu.SaveDue("volume", 12)]


# Answers.


def test_a_turn_that_changes_nothing_is_not_answered_as_a_turn(radio: Design) -> None:
    _, heard = play(radio, "1")
    _, limit = play(radio, "press -1")

    assert said(heard, knobmenu.Sound) == [knobmenu.Sound("turn", 2, 2000)]
    assert said(limit, knobmenu.Sound, knobmenu.Flash) == [
        knobmenu.Sound("limit", 60, 2000),
        knobmenu.Flash("busy", 50),
    ]


@pytest.mark.parametrize("trace", ["press 4 press held -1", "press 5 press 4", "press 4 press 24"])
def test_a_turn_that_leaves_an_editor_as_it_is_is_silent(radio: Design, trace: str) -> None:
    """At the first field already, once around the two characters and two marks, once around the hours."""
    _, effects = play(radio, trace)

    assert said(effects, knobmenu.Sound) == [knobmenu.Sound("turn", 2, 2000)], (
        "the selection moved to the entry, and nothing after that"
    )


@pytest.mark.parametrize("event", [Press(1), LongPress(1), DoublePress(1), Turn(1, 1), HeldTurn(1, 1), Wait(1)])
def test_every_event_is_taken_at_home(radio: Design, event: Event) -> None:
    state, _ = advance_all(radio, make_initial_state(radio), [event])

    assert state.at_ms == 1


def test_reports_set_readouts_and_are_no_touch_of_the_knob(radio: Design) -> None:
    state, _ = advance_all(radio, make_initial_state(radio), [Press(1), Report(9000, "signal", 42), Wait(10_001)])

    assert get_value(radio, state, "signal") == 42
    assert state.mode is Mode.HOME


def test_an_entry_that_hides_itself_leaves_the_nearest_selected(radio: Design) -> None:
    main = radio.menus[0]
    entries = [
        attrs.evolve(entry, shown_if=Equal("mute", False)) if entry.target == "mute" else entry
        for entry in main.entries
    ]
    design = attrs.evolve(radio, menus=(attrs.evolve(main, entries=entries), *radio.menus[1:]))
    state, _ = play(design, "press 9 press")

    assert selected(design, state) == "back"


def test_a_confirmation_is_refused_when_its_entry_is_hidden_meanwhile(radio: Design) -> None:
    main = radio.menus[0]
    entries = [
        attrs.evolve(entry, shown_if=AtLeast("signal", 1)) if entry.target == "restart" else entry
        for entry in main.entries
    ]
    design = attrs.evolve(radio, menus=(attrs.evolve(main, entries=entries), *radio.menus[1:]))
    state, effects = play(design, "report signal 1 press 8 press report signal 0 hold")

    assert said(effects, knobmenu.ActionRun, knobmenu.Refused) == [knobmenu.Refused("restart")]
    assert selected(design, state) == "mute"


def test_saving_comes_before_idling_where_both_fall_due_at_one_moment(radio: Design) -> None:
    design = attrs.evolve(radio, idle=Idle(after_ms=1000), save_after_ms=900)
    _, effects = play(design, "1 press wait 5000")

    assert said(effects, knobmenu.SaveDue, knobmenu.ScreenEntered) == [
        knobmenu.ScreenEntered(Mode.BROWSING, "main"),
        knobmenu.SaveDue("volume", 11),
        knobmenu.ScreenEntered(Mode.HOME, ""),
    ]
    together = attrs.evolve(design, save_after_ms=1100)
    assert said(play(together, "1 press wait 5000")[1], knobmenu.SaveDue, knobmenu.ScreenEntered)[1:] == [
        knobmenu.SaveDue("volume", 11),
        knobmenu.ScreenEntered(Mode.HOME, ""),
    ]


def test_reaching_an_end_exactly_is_not_going_beyond_it(radio: Design) -> None:
    assert said(play(radio, "20")[1], knobmenu.AtLimit) == []
    assert said(play(radio, "-10")[1], knobmenu.AtLimit) == []
    assert said(play(radio, "21")[1], knobmenu.AtLimit) == [knobmenu.AtLimit("volume", "high")]


@pytest.mark.parametrize(
    ("turns", "entry"), [("1", "loud"), ("-1", "most"), ("-2", "loud"), ("3", "bass"), ("-3", "bass")]
)
def test_a_list_that_wraps_steps_over_hidden_entries_in_both_directions(radio: Design, turns: str, entry: str) -> None:
    sound = radio.menus[1]
    entries = [
        attrs.evolve(entry, shown_if=Equal("band", "mw")) if entry.target in ("quiet", "least") else entry
        for entry in sound.entries
    ]
    design = attrs.evolve(radio, menus=(radio.menus[0], attrs.evolve(sound, entries=entries), radio.menus[2]))

    assert selected(design, play(design, f"press press {turns}")[0]) == entry


def test_a_tuner_turns_its_frequency_at_home_digit_and_carry_and_stops_at_the_end(radio: Design) -> None:
    tuner = attrs.evolve(radio, home=attrs.evolve(radio.home, turn="frequency", held_turn="frequency"))
    state, effects = play(tuner, "3 -1")
    assert get_value(tuner, state, "frequency") == 98_402
    assert said(effects, knobmenu.Committed)[-1] == knobmenu.Committed("frequency", 98_402)
    state, effects = play(tuner, "held 2 9999")
    assert get_value(tuner, state, "frequency") == 108_000
    assert said(effects, knobmenu.AtLimit) == [knobmenu.AtLimit("frequency", "high")]
