"""The reference of the design file names every key that a file may have."""

from pathlib import Path

import attrs
import pytest

from knobmenu.design import hardware, home, menu, series, settings

TEXT = (Path(__file__).parents[2] / "docs" / "reference" / "design-file.md").read_text(encoding="utf-8")

PARTS = (
    hardware.CharacterDisplay, hardware.SegmentDisplay, hardware.PixelDisplay, hardware.Glyph, hardware.Knob,
    hardware.Acceleration, hardware.Lamp, hardware.Tone, home.Home, home.Row, home.Idle, home.Gestures, home.Wording,
    menu.Menu, menu.Entry, menu.Action, menu.Readout, series.Series, settings.Option, *settings.SETTINGS,
)  # fmt: skip


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_every_key_of_a_part_has_a_row(part: type[attrs.AttrsInstance]) -> None:
    keys = [field.name for field in attrs.fields(part) if field.init and field.name != "key"]

    assert [key for key in keys if f"| `{key}` |" not in TEXT] == []
