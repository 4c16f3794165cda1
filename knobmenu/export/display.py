"""The display in a spec: how it shows each text, and every character that it can ever need."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, assert_never

from knobmenu.design.hardware import CharacterDisplay, PixelDisplay, SegmentDisplay
from knobmenu.design.menu import Readout
from knobmenu.design.settings import Digits, Number, Scale, TextSetting
from knobmenu.design.texts import walk_texts
from knobmenu.export.parts import Plain
from knobmenu.screen.characters import get_code
from knobmenu.screen.face import Face, Template, get_face
from knobmenu.screen.panel import CellPanel, Panel, make_panel
from knobmenu.screen.segments import PATTERNS, lay_out

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

_ON_CELLS = " 0123456789-.:/[]()"
"""Blanks, numbers, times, places among options, edit marks, and the brackets around disabled entries."""

_ON_SEGMENTS = " 0123456789-dELEnd"
"""Numbers, hyphens, and what the editor of a text shows for delete and done."""


def build_display(design: Design) -> Plain:
    """Build the display part: its size, its marks, its custom glyphs, and the characters that the design needs."""
    display = design.display
    size: Plain = {"columns": display.columns, "rows": display.rows}
    match display:
        case SegmentDisplay():
            return {"kind": "segments", **size, **_build_characters(design)}
        case CharacterDisplay():
            glyphs = [{"character": glyph.character, "dots": list(glyph.dots)} for glyph in display.glyphs]
            part = {"kind": "character", **size, "character_set": display.characters, "glyphs": glyphs}
        case PixelDisplay():
            part = {
                "kind": "pixels",
                **size,
                "width": display.width,
                "height": display.height,
                "cell_width": display.cell_width,
                "cell_height": display.cell_height,
            }
        case _:
            assert_never(display)
    return {**part, "marks": _list_marks(make_panel(display)), **_build_characters(design)}


def build_texts(design: Design) -> list[Plain]:
    """List every text, its translation into each language, and what the display shows of it.

    The texts of home rows are in `build_row`.
    """
    faces = _get_faces(design)
    each = dict.fromkeys(text for path, text in walk_texts(design) if not path.startswith("home."))
    return [
        {
            "text": text,
            "in": {language: face.translate(text) for language, face in faces.items()},
            "cells": {language: face.fit_caption(text).text for language, face in faces.items()},
        }
        for text in each
    ]


def build_units(design: Design) -> list[Plain]:
    """List every unit, and what follows a number with that unit in each language."""
    faces = _get_faces(design)
    return [
        {"unit": unit, "suffix": {language: face.fit_suffix(unit).text for language, face in faces.items()}}
        for unit in _list_units(design)
    ]


def build_row(design: Design, text: str) -> Plain:
    """Split a text of a home row, in each language, into fitted texts and the positions of values."""
    positions = design.index.positions
    return {
        language: list(_walk_pieces(face.fit_template(text), positions.__getitem__))
        for language, face in _get_faces(design).items()
    }


def _walk_pieces(template: Template, position_of: Callable[[str], int]) -> Iterator[str | int]:
    for text, key in zip(template.texts, (*template.keys, ""), strict=True):
        if text.text:
            yield text.text
        if key:
            yield position_of(key)


def _get_faces(design: Design) -> dict[str, Face]:
    return {language: get_face(design, place) for place, language in enumerate(design.languages)}


def _walk_numbers(design: Design) -> Iterator[Number | Scale | Digits | Readout]:
    yield from (setting for setting in design.settings if isinstance(setting, Number | Scale | Digits))
    yield from design.readouts


def _list_units(design: Design) -> list[str]:
    return list(dict.fromkeys(part.unit for part in _walk_numbers(design) if part.unit))


def _list_marks(panel: Panel) -> dict[str, str]:
    if not isinstance(panel, CellPanel):
        return {}
    return {
        "selected": panel.selected,
        "inside": panel.inside,
        "above": panel.above,
        "below": panel.below,
        "cut": panel.cut,
        "delete": panel.delete,
        "done": panel.done,
        "bar": panel.bar,
    }


def _build_characters(design: Design) -> Plain:
    """List the characters that the display must have, and those of the design's texts that it lacks."""
    panel = make_panel(design.display)
    shown = set(_walk_characters(design, panel))
    replaced = {
        character: panel.fit(character).text
        for face in _get_faces(design).values()
        for text in _walk_texts(design, face)
        for character in panel.fit(text).replaced
    }
    return {
        "characters": [
            _build_cell_character(panel, character)
            if isinstance(panel, CellPanel)
            else {"character": character, "segments": PATTERNS[character]}
            for character in sorted(shown)
        ],
        "replaced": [{"character": character, "shown_as": replaced[character]} for character in sorted(replaced)],
    }


def _build_cell_character(panel: CellPanel, character: str) -> Plain:
    code = None if character in panel.glyphs else get_code(panel.characters, character)
    return {"character": character, "code": code}


def _walk_texts(design: Design, face: Face) -> Iterator[str]:
    """Walk all texts of a design that its display shows, in one language."""
    yield from (face.translate(text) for path, text in walk_texts(design) if not path.startswith("home."))
    for row in design.home.rows:
        yield from (piece.source for text in (row.left, row.right) for piece in face.fit_template(text).texts)
    yield from (setting.characters for setting in design.settings if isinstance(setting, TextSetting))


def _walk_characters(design: Design, panel: Panel) -> Iterator[str]:
    """Walk every character that can ever be in a cell; some appear several times."""
    yield from _ON_CELLS + "".join(_list_marks(panel).values()) if isinstance(panel, CellPanel) else _ON_SEGMENTS
    for setting in design.settings:
        if isinstance(setting, TextSetting):
            yield from _split_cells(panel, "".join(one.text for one in panel.fit_each(setting.characters)))
    for face in _get_faces(design).values():
        for path, text in walk_texts(design):
            if path.startswith("home."):
                yield from (cell for piece in face.fit_template(text).texts for cell in _split_cells(panel, piece.text))
            else:
                yield from _split_cells(panel, face.fit_caption(text).text)
        for unit in _list_units(design):
            yield from _split_cells(panel, face.fit_suffix(unit).text)


def _split_cells(panel: Panel, text: str) -> str:
    return text if isinstance(panel, CellPanel) else lay_out(text).cells
