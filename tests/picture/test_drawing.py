"""The drawings: right sizes, readable without colour, contrast as the guidelines ask, every character drawn."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import CharacterDisplay, Display, Glyph, PixelDisplay, SegmentDisplay
from knobmenu.picture import palettes
from knobmenu.picture.display import Blink, draw
from knobmenu.picture.dots import write_braille
from knobmenu.picture.font import find_dots
from knobmenu.picture.forms import Form, Manner, list_forms, measure_digit, measure_size
from knobmenu.picture.knob import HOLD_STEPS, compute_angle_degrees, describe_knob, draw_knob
from knobmenu.picture.palettes import LAMP_COLOURS, PALETTES, choose_palette, contrast, get_palette, luminance
from knobmenu.picture.runs import Drawing, extract_text
from knobmenu.picture.segments import draw_digit_levels, draw_digit_lines
from knobmenu.screen.cells import Screen, Span
from knobmenu.screen.characters import get_code
from knobmenu.screen.segments import PATTERNS

HOUSE = Glyph(character="⌂", dots=["..#..", ".###.", "#####", ".#.#.", ".#.#.", ".###.", ".....", "....."])

displays: st.SearchStrategy[Display] = st.one_of(
    st.builds(CharacterDisplay, columns=st.integers(8, 40), rows=st.integers(1, 4), glyphs=st.just((HOUSE,))),
    st.builds(SegmentDisplay, digits=st.integers(4, 8)),
    st.builds(
        PixelDisplay,
        width=st.just(128),
        height=st.sampled_from((32, 64)),
        cell_width=st.integers(4, 16),
        cell_height=st.integers(6, 32),
    ),
)
manners = st.builds(Manner, unlit=st.booleans(), solid=st.booleans())
blinks: st.SearchStrategy[Blink] = st.sampled_from(("shown", "other", "marked"))


@st.composite
def shown(draw_from: st.DrawFn) -> tuple[Display, Screen]:
    """A display, and a screen of its size."""
    display = draw_from(displays)
    signs = "".join(PATTERNS) if isinstance(display, SegmentDisplay) else "Hello ⌂äÅЖ漢█>0."
    rows = tuple(
        draw_from(st.text(signs, min_size=display.columns, max_size=display.columns)) for _ in range(display.rows)
    )
    points = draw_from(st.lists(st.integers(0, display.columns - 1), unique=True).map(tuple))
    first, last = sorted(draw_from(st.tuples(st.integers(0, display.columns), st.integers(0, display.columns))))
    blinking = (Span(draw_from(st.integers(0, display.rows - 1)), first, last),) if first < last else ()
    return display, Screen(rows, blinking, points if isinstance(display, SegmentDisplay) else ())


def cells(text: str) -> int:
    """Width in a terminal: the wide characters that these tests use take two cells."""
    return sum(2 if sign == "漢" else 1 for sign in text)


@given(shown(), manners, blinks)
def test_a_drawing_has_the_size_that_its_form_tells(on: tuple[Display, Screen], manner: Manner, blink: Blink) -> None:
    display, screen = on
    for form in list_forms(display):
        drawing = draw(display, screen, form, manner, blink)
        size = measure_size(display, form)
        assert len(drawing) == size.rows
        assert {sum(cells(run.text) for run in row) for row in drawing} == {size.columns}


@given(shown(), manners)
def test_every_ink_and_ground_of_a_drawing_is_in_every_palette(on: tuple[Display, Screen], manner: Manner) -> None:
    display, screen = on
    for form in list_forms(display):
        names = {
            name
            for row in draw(display, screen, form, manner, "marked")
            for run in row
            for name in (run.ink, run.ground)
        }
        for palette in PALETTES:
            assert names <= palette.colours.keys()


def quarters(character: str) -> set[tuple[int, int]]:
    """Read from a character's name which quarters are lit (The Unicode Standard, Block Elements)."""
    name = unicodedata.name(character)
    places = {
        (x, y): f"{side} {end}" for y, side in enumerate(("UPPER", "LOWER")) for x, end in enumerate(("LEFT", "RIGHT"))
    }
    halves = {f"{word} HALF BLOCK": word for word in ("UPPER", "LOWER", "LEFT", "RIGHT")}
    return {
        quarter
        for quarter, words in places.items()
        if words in name or name == "FULL BLOCK" or halves.get(name, "NONE") in words
    }


def lit_dots(drawing: Drawing, form: Form) -> set[tuple[int, int]]:
    """Read lit dots back from a drawing's characters, as one sees them without colour."""
    dots = set()
    for row, line in enumerate(extract_text(drawing).split("\n")):
        for column, sign in enumerate(line):
            if form.kind == "half":
                dots |= {(column, 2 * row) for _ in "x" if sign in "█▀"} | {
                    (column, 2 * row + 1) for _ in "x" if sign in "█▄"
                }
            elif form.kind == "quadrant":
                dots |= {(2 * column + x, 2 * row + y) for x, y in quarters(sign)}
            elif 0x2800 <= ord(sign) <= 0x28FF:
                # Bit n of the code point is dot n+1; dots 1 2 3 7 run down the left, 4 5 6 8 down the right
                # (The Unicode Standard, "Braille Patterns").
                for bit, (x, y) in enumerate(((0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3))):
                    if ord(sign) - 0x2800 >> bit & 1:
                        dots.add((2 * column + x, 4 * row + y))
    return dots


@given(st.text("ABCdefg123 ⌂", min_size=8, max_size=8))
def test_half_blocks_quadrants_and_braille_show_the_same_dots_without_colour(text: str) -> None:
    display = CharacterDisplay(columns=8, rows=1, glyphs=(HOUSE,))
    plain = Manner(unlit=False, solid=False)
    half, quadrants, dots = (
        lit_dots(draw(display, Screen((text,)), form, plain), form)
        for form in (Form("half"), Form("quadrant"), Form("braille"))
    )

    # All frames take three columns and two rows of characters: of one by two dots, two by two, and two by four.
    assert {(x - 3, y - 4) for x, y in half} == {(x - 6, y - 8) for x, y in dots}
    assert {(x - 3, y - 4) for x, y in half} == {(x - 6, y - 4) for x, y in quadrants}


def test_a_glyph_of_the_design_is_drawn_dot_for_dot() -> None:
    display = CharacterDisplay(columns=8, rows=1, glyphs=(HOUSE,))
    drawing = draw(display, Screen(("⌂       ",)), Form("half"), Manner(unlit=False, solid=False))
    expected = {(x + 3, y + 4) for y, row in enumerate(HOUSE.dots) for x, dot in enumerate(row) if dot == "#"}

    assert lit_dots(drawing, Form("half")) == expected


def test_unlit_dots_can_be_seen_and_are_told_from_lit_ones() -> None:
    display = CharacterDisplay(columns=8, rows=1)
    inks = {run.ink for row in draw(display, Screen(("A       ",)), Form("half"), Manner()) for run in row}

    assert {"lcd-ink", "lcd-unlit"} <= inks


@pytest.mark.parametrize("character_set", ["ascii", "lcd-a00", "lcd-a02", "latin-1"])
def test_every_character_of_a_display_is_drawn(character_set: str) -> None:
    signs = [chr(code) for code in range(0x20, 0x2_0000) if get_code(character_set, chr(code)) is not None]
    missing = [sign for sign in signs if find_dots(sign) is None]

    assert len(signs) >= 95
    assert not missing


def test_no_two_ascii_characters_look_alike() -> None:
    signs = [chr(code) for code in range(0x20, 0x7F)]

    assert len({find_dots(sign) for sign in signs}) == len(signs)


def test_a_letter_with_a_mark_holds_the_dots_of_both() -> None:
    plain, marked, mark = find_dots("e"), find_dots("é"), find_dots("ˊ")
    assert plain is not None
    assert marked is not None
    assert mark is not None

    assert marked == tuple(letter | over for letter, over in zip(plain, mark, strict=True))
    assert find_dots("漢") is None


def test_a_row_that_looks_the_same_is_the_same_object() -> None:
    display = CharacterDisplay(columns=16, rows=2)
    before = draw(display, Screen(("Volume          ", "12              ")), Form("half"), Manner())
    after = draw(display, Screen(("Volume          ", "13              ")), Form("half"), Manner())
    changed = [number for number, (old, new) in enumerate(zip(before, after, strict=True)) if old is not new]

    assert changed == [7, 8, 9, 10]


def test_blinking_cells_alone_look_different() -> None:
    display = CharacterDisplay(columns=8, rows=1)
    screen = Screen(("AB      ",), blinking=(Span(0, 1, 2),))
    plain = Manner(unlit=False, solid=False)
    still, other = (
        lit_dots(draw(display, screen, Form("half"), plain, blink), Form("half")) for blink in ("shown", "other")
    )

    assert {x for x, _ in still ^ other} == {9, 10, 11, 12, 13}
    assert len(still ^ other) == 40


def test_braille_of_all_dots_is_the_full_pattern() -> None:
    """U+28FF is "braille pattern dots-12345678" (The Unicode Standard, code charts)."""
    assert write_braille([[1, 1]] * 4) == ("⣿",)
    assert write_braille([[1, 0], [0, 0], [0, 0], [0, 0]]) == ("⠁",)


# Seven segments.


DIGIT_FORMS = (*(Form("half", scale) for scale in (4, 3, 2, 1)), Form("braille"))


@pytest.mark.parametrize("form", DIGIT_FORMS, ids=str)
@pytest.mark.parametrize("sign", PATTERNS)
def test_a_digit_lights_as_many_segments_as_its_pattern_has(form: Form, sign: str) -> None:
    """Segments do not touch, so lit ones are the separate patches of lit dots (counted by flooding)."""
    levels = draw_digit_levels(measure_digit(form), sign, point=False)
    lit = {(x, y) for y, row in enumerate(levels) for x, level in enumerate(row) if level == 2}

    assert patches(lit) == PATTERNS[sign].bit_count()


def patches(dots: set[tuple[int, int]]) -> int:
    """Count groups of dots that touch side by side."""
    count = 0
    left = set(dots)
    while left:
        count += 1
        edge = [left.pop()]
        while edge:
            x, y = edge.pop()
            for near in ((x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)):
                if near in left:
                    left.remove(near)
                    edge.append(near)
    return count


def test_a_digit_of_lines_is_read_as_a_digit() -> None:
    assert draw_digit_lines("2", point=True) == (" _  ", " _| ", "|_ .")
    assert draw_digit_lines("7", point=False) == (" _  ", "  | ", "  | ")


# The knob.


@pytest.mark.parametrize(("detent", "degrees"), [(0, 0), (6, 90), (9, 135), (-1, 345), (24, 0), (51, 45)])
def test_the_angle_goes_clockwise_from_the_top(detent: int, degrees: int) -> None:
    assert compute_angle_degrees(detent, 24) == degrees


def test_the_knob_is_said_in_words() -> None:
    assert describe_knob(33, 24) == "135°, detent 9 of 24"
    assert describe_knob(0, 20, pressed=True) == "0°, detent 0 of 20, pressed"


@given(
    st.integers(-500, 500),
    st.integers(1, 200),
    st.integers(8, 40),
    st.integers(4, 20),
    st.booleans(),
    st.integers(0, 16),
)
def test_a_knob_has_the_size_that_is_asked_for(
    detent: int, detents: int, columns: int, rows: int, pressed: bool, held: int
) -> None:
    drawing = draw_knob(detent, detents, columns, rows, pressed, held)

    assert len(drawing) == rows
    assert {sum(len(run.text) for run in row) for row in drawing} == {columns}


def test_every_detent_of_a_knob_looks_different_and_a_whole_turn_the_same() -> None:
    drawings = [extract_text(draw_knob(detent, 24, 18, 8)) for detent in range(24)]

    assert len(set(drawings)) == 24
    assert extract_text(draw_knob(24, 24, 18, 8)) == drawings[0]


def test_the_press_and_the_hold_of_a_knob_can_be_seen_without_colour() -> None:
    looks = [
        extract_text(draw_knob(3, 24, 18, 8, pressed, held)) for pressed, held in ((False, 0), (True, 0), (True, 8))
    ]

    assert len(set(looks)) == 3


def test_the_arc_of_a_hold_grows() -> None:
    dots = [
        len(lit_dots(draw_knob(0, 24, 28, 14, True, held), Form("braille"))) for held in range(0, HOLD_STEPS + 1, 4)
    ]

    assert dots == sorted(set(dots))


# Palettes.


def test_contrast_is_that_of_the_guidelines() -> None:
    """W3C, WCAG 2.2: black on white is 21 to 1; #777777 on white, 4.48 to 1, is their well-known near miss."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
    assert luminance("#ffffff") == pytest.approx(1.0)


HEX = [palette for palette in PALETTES if palette.colours["text"].startswith("#")]


@pytest.mark.parametrize("palette", HEX, ids=lambda palette: palette.name)
@pytest.mark.parametrize("ground", ["panel", "ground"])
def test_words_have_the_contrast_that_the_guidelines_ask_for(palette: palettes.Palette, ground: str) -> None:
    """At least 4.5 to 1 for text, 7 to 1 in the high contrast look (WCAG 2.2, success criteria 1.4.3 and 1.4.6)."""
    least = 7.0 if palette.name == "high contrast" else 4.5
    ratios = {ink: contrast(palette.colours[ink], palette.colours[ground]) for ink in palettes.PANEL_INKS}

    assert {ink: ratio for ink, ratio in ratios.items() if ratio < least} == {}


@pytest.mark.parametrize("palette", HEX, ids=lambda palette: palette.name)
def test_what_the_device_shows_has_contrast(palette: palettes.Palette) -> None:
    """At least 4.5 to 1 on glass, 3 to 1 for shapes (WCAG 2.2, success criteria 1.4.3 and 1.4.11)."""
    colours = palette.colours
    glass = [(f"{kind}-{ink}", f"{kind}-glass") for kind in ("lcd", "pixel", "segment") for ink in ("ink", "mark")]
    shapes = (
        "knob",
        "knob-pressed",
        "detent",
        "pointer",
        "hold",
        "lamp-off",
        *(f"lamp-{name}" for name in LAMP_COLOURS),
    )

    assert [pair for pair in glass if contrast(colours[pair[0]], colours[pair[1]]) < 4.5] == []
    assert [ink for ink in shapes if contrast(colours[ink], colours["panel"]) < 3.0] == []


@pytest.mark.parametrize("palette", PALETTES, ids=lambda palette: palette.name)
def test_every_palette_names_every_ink(palette: palettes.Palette) -> None:
    assert set(palette.colours) == set(palettes.NAMES)
    assert set(palette.attributes) <= set(palettes.NAMES)
    assert get_palette(palette.name) is palette


@pytest.mark.parametrize(
    ("colours", "name"), [(0, "no colour"), (8, "no colour"), (16, "16 colours"), (256, "dark"), (2**24, "dark")]
)
def test_a_terminal_begins_in_a_look_that_it_can_show(colours: int, name: str) -> None:
    assert choose_palette(colours).name == name
