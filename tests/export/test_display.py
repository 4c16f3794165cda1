"""The characters that a spec asks of a display are those that its screens show."""

from __future__ import annotations

from hypothesis import given

from knobmenu.design.hardware import CharacterDisplay, SegmentDisplay
from knobmenu.design.whole import Design
from knobmenu.export.display import build_display
from knobmenu.machine.advance import advance
from knobmenu.machine.state import make_initial_state
from knobmenu.screen.render import render
from knobmenu.screen.segments import PATTERNS
from tests.strategies import Story, designs, stories


@given(stories())
def test_no_screen_needs_a_character_that_the_spec_does_not_list(story: Story) -> None:
    design, events = story
    part = build_display(design)
    listed = {one["character"] for one in part["characters"]}
    replaced = {one["character"] for one in part["replaced"]}
    state = make_initial_state(design)
    for event in [None, *events]:
        if event is not None:
            state, _ = advance(design, state, event)
        screen = render(design, state)
        assert set("".join(screen.rows)) <= listed
        assert set(screen.replaced) <= replaced
        assert {len(row) for row in screen.rows} == {part["columns"]}
        assert len(screen.rows) == part["rows"]


@given(designs())
def test_every_listed_character_has_a_code_a_glyph_or_a_form(design: Design) -> None:
    part = build_display(design)
    glyphs = {glyph["character"] for glyph in part.get("glyphs", ())}
    for one in part["characters"]:
        if isinstance(design.display, SegmentDisplay):
            assert PATTERNS[one["character"]] == one["segments"]
        else:
            assert (one["code"] is None) == (one["character"] in glyphs)
    if isinstance(design.display, CharacterDisplay):
        assert {glyph.character for glyph in design.display.glyphs} == glyphs
    assert [one["character"] for one in part["characters"]] == sorted({one["character"] for one in part["characters"]})
