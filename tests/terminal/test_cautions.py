"""Cautions that the display cannot show stand beside it, as long as they belong to what is done."""

from __future__ import annotations

import attrs
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import CharacterDisplay, SegmentDisplay
from knobmenu.design.home import Home, Row
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.picture.runs import extract_text
from knobmenu.session.facts import list_unseen_cautions
from knobmenu.session.variants import Variant
from tests.strategies import designs, traces
from tests.terminal.stage import Stage

HEATER = Design(
    name="Heater",
    display=SegmentDisplay(digits=4),
    settings=(Number(key="heat", label="Heat", low=0, high=9, initial=4, hazard="Hot parts can burn: let them cool."),),
    home=Home(rows=(Row("", right="{heat}"),), press="heat"),
)


def under(stage: Stage) -> str:
    """Read what stands in the place of the device, its display included, with single blanks."""
    return " ".join(extract_text(stage.pictures(80, 24)["device-0"][1]).split())


def test_a_caution_that_the_display_cannot_show_stands_under_it_while_one_edits() -> None:
    stage = Stage([Variant(HEATER, None)])
    assert "burn" not in under(stage)
    box = stage.pictures(80, 24)["device-0"][0]
    stage.do("press")
    assert "⚠ Hot parts can burn: let them cool." in under(stage)
    assert stage.pictures(80, 24)["device-0"][0] == box
    stage.do("press")
    assert "burn" not in under(stage)


def test_a_caution_that_the_display_shows_whole_is_not_repeated() -> None:
    heat = attrs.evolve(HEATER.settings[0], hazard="Hot: it can burn.")
    stage = Stage([Variant(attrs.evolve(HEATER, display=CharacterDisplay(columns=20, rows=4), settings=(heat,)), None)])
    stage.do("press")
    assert heat.hazard in " ".join(stage.session.parts[0].screen.rows)
    assert "⚠" not in under(stage)


@given(designs(), st.data())
def test_every_caution_is_on_the_display_or_beside_it(design: Design, data: st.DataObject) -> None:
    stage = Stage([Variant(design, None)])
    stage.session.tell(data.draw(traces(design, most=8)), 0)
    part = stage.session.parts[0]
    unseen = list_unseen_cautions(part.design, part.state, part.screen)
    for columns, rows in ((80, 24), (120, 40)):
        box, drawing = stage.pictures(columns, rows)["device-0"]
        assert len(drawing) <= box.rows
        if unseen:
            assert extract_text(drawing).count("⚠") == 1
