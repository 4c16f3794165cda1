"""What holds of every screen of every design, on generated designs and traces."""

from __future__ import annotations

import attrs
from hypothesis import assume, given
from hypothesis import strategies as st

from knobmenu.design.hardware import CharacterDisplay, SegmentDisplay
from knobmenu.design.kinds import Setting
from knobmenu.design.settings import Clock, Digits, Number, Scale
from knobmenu.design.whole import Design
from knobmenu.events import Press
from knobmenu.machine.advance import advance
from knobmenu.machine.state import Mode, NumberDraft, State, find_language, make_initial_state
from knobmenu.machine.walking import is_shown
from knobmenu.screen.cells import Screen
from knobmenu.screen.characters import get_code
from knobmenu.screen.face import get_face
from knobmenu.screen.lists import choose_window, find_list_sources, gather_list_view
from knobmenu.screen.panel import CellPanel, make_panel
from knobmenu.screen.render import render
from knobmenu.screen.segments import PATTERNS
from knobmenu.screen.values import format_number, write_draft
from tests.strategies import character_displays, designs, opening, opens_an_editor, pixel_displays, traces


def check_screen(design: Design, screen: Screen) -> None:
    """Assert that a screen fits its display."""
    display = design.display
    assert len(screen.rows) == display.rows
    assert all(len(row) == display.columns for row in screen.rows), screen
    for sign in "".join(screen.rows):
        if isinstance(display, SegmentDisplay):
            assert sign in PATTERNS
        else:
            characters = display.characters if isinstance(display, CharacterDisplay) else "unicode"
            own = [glyph.character for glyph in display.glyphs] if isinstance(display, CharacterDisplay) else []
            assert sign in own or get_code(characters, sign) is not None, (sign, characters)
    for span in screen.blinking:
        assert 0 <= span.row < display.rows
        assert 0 <= span.start < span.stop <= display.columns
    assert list(screen.points) == sorted(set(screen.points))
    assert all(0 <= point < display.columns for point in screen.points)
    assert not screen.points or isinstance(display, SegmentDisplay)
    assert len(set(screen.cut)) == len(screen.cut)
    assert all(screen.cut)
    assert all(len(sign) == 1 for sign in screen.replaced)
    hash(screen)


def states_of(data: st.DataObject, design: Design) -> list[State]:
    """Walk a generated trace after a press, and give every state on the way."""
    states = [make_initial_state(design)]
    for event in [Press(0), *data.draw(traces(design))]:
        states.append(advance(design, states[-1], event)[0])
    return states


@given(designs(), st.data())
def test_every_screen_has_the_size_of_its_display_and_only_its_characters(design: Design, data: st.DataObject) -> None:
    for state in states_of(data, design):
        check_screen(design, render(design, state))


@given(designs(), st.data())
def test_a_state_always_gives_the_same_screen(design: Design, data: st.DataObject) -> None:
    again = attrs.evolve(design)
    for state in states_of(data, design):
        assert render(design, state) == render(again, state._replace())


@given(designs(displays=st.one_of(character_displays(), pixel_displays())), st.data())
def test_the_selected_entry_is_always_in_view_and_it_alone_is_marked(design: Design, data: st.DataObject) -> None:
    display = design.display
    panel = make_panel(display)
    assert isinstance(panel, CellPanel)
    for state in states_of(data, opening(design, design.menus[0].key)):
        if state.mode is not Mode.BROWSING or state.path[-1].entry < 0:
            continue
        place = state.path[-1]
        size = display.rows if display.rows < 3 else display.rows - 1
        entries = list(choose_window(design, state, place, size))
        first = 1 if display.rows > 2 else display.rows - len(entries)
        marks = [row[0] for row in render(design, state).rows[first : first + len(entries)]]
        assert marks == [panel.selected if entry == place.entry else " " for entry in entries]


@given(designs(), st.data(), st.integers(1, 9))
def test_a_window_is_an_unbroken_run_of_the_shown_entries_and_as_long_as_it_can_be(
    design: Design, data: st.DataObject, size: int
) -> None:
    states = states_of(data, opening(design, design.menus[0].key))
    browsing = [state for state in states if state.mode is Mode.BROWSING and state.path[-1].entry >= 0]
    assume(browsing)
    for state in browsing:
        place = state.path[-1]
        every = range(len(design.index.menus[place.menu].entries))
        shown = [entry for entry in every if is_shown(design, state, place.menu, entry)]
        seen = list(choose_window(design, state, place, size))
        assert place.entry in seen
        assert len(seen) == min(size, len(shown))
        start = shown.index(seen[0])
        assert shown[start : start + len(seen)] == seen
        middle = seen.index(place.entry) == (size - 1) // 2
        assert middle or seen[0] == shown[0] or seen[-1] == shown[-1]


@given(designs(), st.data(), st.integers(1, 9))
def test_the_list_of_a_menu_without_conditions_is_found_again_by_the_values_that_it_shows(
    design: Design, data: st.DataObject, rows: int
) -> None:
    states = states_of(data, opening(design, design.menus[0].key))
    browsing = [state for state in states if state.mode is Mode.BROWSING]
    assume(browsing)
    keys = list(design.index.positions)
    for state in browsing:
        place = state.path[-1]
        sources = find_list_sources(design, place, rows)
        entries = design.index.menus[place.menu].entries
        assert sources.conditional is any(entry.shown_if or entry.enabled_if for entry in entries)
        if not sources.conditional:
            shown = [
                entries[view.entry].target
                for view in gather_list_view(design, state, rows).entries
                if view.value is not None
            ]
            read = [*sources.positions, *(len(design.settings) + readout for readout in sources.readouts)]
            assert sorted(keys[position] for position in read) == sorted(shown)


@given(designs(), st.data())
def test_an_editor_blinks_and_nothing_else_does(design: Design, data: st.DataObject) -> None:
    edited = next(filter(opens_an_editor, design.settings), None)
    opened = design if edited is None else opening(design, edited.key)
    # On seven segments the answer to a question blinks as well.
    is_plain = not isinstance(design.display, SegmentDisplay)
    states = [state for state in states_of(data, opened) if is_plain or state.mode is Mode.EDITING]
    assume(states)
    for state in states:
        assert bool(render(opened, state).blinking) is (state.mode is Mode.EDITING)


def _numbers_of(design: Design) -> list[str]:
    """The settings whose editor shows a number, not words."""
    return [
        setting.key
        for setting in design.settings
        if isinstance(setting, Number | Scale | Digits | Clock) and opens_an_editor(setting)
    ]


@given(designs().filter(_numbers_of), st.data())
def test_what_blinks_is_the_number_at_hand_whole_or_hyphens_that_are_reported(
    design: Design, data: st.DataObject
) -> None:
    opened = opening(design, data.draw(st.sampled_from(_numbers_of(design))))
    compared = 0
    for state in states_of(data, opened):
        focus = state.focus
        if not isinstance(focus, NumberDraft):
            continue
        setting = opened.index.settings[focus.setting]
        text = write_draft(get_face(opened, find_language(opened, state)), focus.setting, focus.draft, focus.place)
        if text.in_words:
            continue
        screen = render(opened, state)
        (span,) = screen.blinking
        shown = screen.rows[span.row][span.start : span.stop]
        if set(shown) == {"-"} and len(shown) > 1:
            assert text.full.source in screen.cut
        else:
            assert shown == _part_at_hand(opened, setting, focus)
        compared += 1
    assume(compared)


def _part_at_hand(design: Design, setting: Setting, focus: NumberDraft) -> str:
    """Work out what the knob changes: a whole number, a digit, or a field of a clock."""
    value = focus.draft
    match setting:
        case Number() | Scale():
            number = format_number(value, setting.decimals)
            return number.replace(".", "") if isinstance(design.display, SegmentDisplay) else number
        case Digits():
            return str(value // 10 ** (setting.places - 1 - focus.place) % 10)
        case Clock():
            sizes = setting.sizes[focus.place :]
            for size in reversed(sizes[1:]):
                value //= size
            return str(value % sizes[0]).zfill(len(str(sizes[0] - 1)))
        case _:
            raise AssertionError(setting)
