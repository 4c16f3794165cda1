"""The display, and every character that a device of a design can ever put on it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from knobmenu.design.hardware import CharacterDisplay, PixelDisplay, SegmentDisplay
from knobmenu.design.settings import TextSetting
from knobmenu.design.words import PLACEHOLDER, texts, translated
from knobmenu.export.parts import Plain
from knobmenu.screen.characters import code_of
from knobmenu.screen.glass import Glass, glass_of
from knobmenu.screen.segments import PATTERNS, spelled

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

_FIXED = " 0123456789-.:/[]()"
"""Blanks, numbers, times, places among others, edit marks, and the brackets around what cannot be pressed."""

_SEGMENT_WORDS = "0123456789 dEL End - _"
"""Numbers, what the editor of a text says on seven segments, and what stands for a character that has no form."""


def display_part(design: Design) -> Plain:
    """Spell the display out: its size, its marks, its own glyphs, and the characters that the design needs on it."""
    display = design.display
    if isinstance(display, SegmentDisplay):
        return {
            "kind": "segments",
            "columns": display.columns,
            "rows": display.rows,
            **_segment_signs(design),
        }
    glass = glass_of(display)
    part: Plain = {
        "kind": "character" if isinstance(display, CharacterDisplay) else "pixels",
        "columns": display.columns,
        "rows": display.rows,
    }
    if isinstance(display, CharacterDisplay):
        part |= {
            "character_set": display.characters,
            "glyphs": [{"sign": glyph.sign, "dots": list(glyph.dots)} for glyph in display.glyphs],
        }
    else:
        part |= _pixels(display)
    return part | {"marks": _marks(glass), **_cell_signs(design, glass)}


def _pixels(display: PixelDisplay) -> Plain:
    return {
        "width": display.width,
        "height": display.height,
        "cell_width": display.cell_width,
        "cell_height": display.cell_height,
    }


def _marks(glass: Glass) -> dict[str, str]:
    return {
        "selected": glass.selected,
        "inside": glass.inside.full,
        "above": glass.above,
        "below": glass.below,
        "cut": glass.cut,
        "delete": glass.delete,
        "done": glass.done,
        "bar": glass.bar,
    }


def _shown_texts(design: Design) -> Iterator[str]:
    """Walk every text that the design can show in any language, without the braces of home's rows."""
    for _, text in texts(design):
        for language in range(len(design.languages)):
            yield PLACEHOLDER.sub("", translated(design, language, text))
    yield from (setting.characters for setting in design.settings if isinstance(setting, TextSetting))


def _cell_signs(design: Design, glass: Glass) -> Plain:
    signs = dict.fromkeys(_FIXED + "".join(_marks(glass).values()))
    replaced: dict[str, str] = {}
    for text in _shown_texts(design):
        for fitted in (glass.fitted(text), glass.fitted_in_place(text)):
            signs |= dict.fromkeys(fitted.text)
            replaced |= {sign: glass.fitted(sign).text for sign in fitted.replaced}
    return {
        "signs": [
            {"sign": sign, "code": None if sign in glass.glyphs else code_of(glass.characters, sign)}
            for sign in sorted(signs)
        ],
        "replaced": _replaced_part(replaced),
    }


def _segment_signs(design: Design) -> Plain:
    signs: dict[str, None] = {}
    replaced: dict[str, str] = {}
    for text in (_SEGMENT_WORDS, *_shown_texts(design)):
        signs |= dict.fromkeys(spelled(text).text)
        replaced |= {sign: form for sign in dict.fromkeys(text) if (form := _segment_form(sign)) != sign}
    return {
        "signs": [{"sign": sign, "segments": PATTERNS[sign]} for sign in sorted(signs)],
        "replaced": _replaced_part({sign: form for sign, form in replaced.items() if sign not in ",:"}),
    }


def _segment_form(sign: str) -> str:
    """Write out what seven segments show for a character; a point for each point that it lights."""
    shown = spelled(sign)
    cells = [f"{cell}." if place in shown.points else cell for place, cell in enumerate(shown.text)]
    return "".join("." if cell == " ." else cell for cell in cells)


def _replaced_part(replaced: dict[str, str]) -> list[Plain]:
    return [{"sign": sign, "shown_as": replaced[sign]} for sign in sorted(replaced)]
