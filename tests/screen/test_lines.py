"""A row reports each text that is not whole in it, and no other; it is as long as the display is wide."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.screen.characters import EMPTY, CellText
from knobmenu.screen.lines import (
    Line,
    abridge,
    build_screen,
    compose_answers,
    compose_ends,
    compose_plain,
    draw_bar,
    frame_draft,
    label_draft,
    label_text,
    label_value,
    wrap,
    write_text,
)
from knobmenu.screen.panel import CellPanel, make_panel
from knobmenu.screen.values import ValueText
from tests.screen.drawing import glass


def _panel(columns: int, rows: int = 1) -> CellPanel:
    panel = make_panel(glass(columns, rows))
    assert isinstance(panel, CellPanel)
    return panel


PANELS = st.builds(_panel, st.integers(8, 24))


@st.composite
def written(draw: st.DrawFn, letter: str, fewest: int = 1, most: int = 26, blanks: bool = False) -> CellText:
    """A text of one letter that no other text has, perhaps with blanks inside, one of whose characters was replaced."""
    text = letter * draw(st.integers(fewest, most))
    if blanks:
        lengths = draw(st.lists(st.integers(1, 30), max_size=8))
        text = " ".join(letter * length for length in lengths)
    return CellText(text, (letter.upper(),) if text else (), f"<{letter}{len(text)}>" if text else "")


@st.composite
def labels(draw: st.DrawFn) -> tuple[CellText, CellText]:
    """A label and its short form, which is shorter, or no text."""
    label = draw(written("a"))
    return label, draw(written("a", 0, min(len(label.text) - 1, 8)))


@st.composite
def values(draw: st.DrawFn) -> ValueText:
    """A value in one or two forms, a number of them in its field or words."""
    full, short = draw(st.integers(1, 26)), draw(st.integers(1, 26))
    lengths = [full] if full <= short else [full, short]
    in_words = draw(st.booleans())
    letter = "v" if in_words else "7"
    blanks = 0 if in_words else draw(st.integers(0, 6))
    forms = [CellText(" " * blanks + letter * length, ("V",), f"<value{full}>") for length in lengths]
    return ValueText(tuple(forms), in_words)


def _check(panel: CellPanel, line: Line, *shown: Sequence[CellText]) -> None:
    """Assert that a row is whole and reports each text of which it shows no form, by its first form's source."""
    assert len(line.text) == panel.columns
    for forms in shown:
        is_whole = any(form.text.strip() in line.text for form in forms if form.text) or not forms[0].text
        assert (forms[0].source in line.cut) is not is_whole, (line, forms)
    assert len(line.cut) <= len(shown)
    for forms in shown:
        letters = {form.text.strip()[:1] for form in forms if form.text}
        if any(letter in line.text for letter in letters):
            assert set(forms[0].replaced) <= set(line.replaced), (line, forms)
    assert len(line.replaced) <= len(shown)


@given(PANELS, st.sampled_from(("", ">")), labels(), values(), st.sampled_from(("", "()")))
def test_a_label_or_a_value_that_is_cut_is_reported(
    panel: CellPanel, mark: str, names: tuple[CellText, CellText], value: ValueText, around: str
) -> None:
    _check(panel, label_value(panel, mark, *names, value, around), names, value.forms)


@given(PANELS, values(), st.none() | st.just((1, 3)))
def test_a_draft_that_has_no_form_short_enough_is_reported(
    panel: CellPanel, value: ValueText, bar: tuple[int, int] | None
) -> None:
    _check(panel, frame_draft(panel, value, bar), value.forms)


@given(PANELS, labels(), values())
def test_a_label_that_gives_way_to_a_draft_is_reported(
    panel: CellPanel, names: tuple[CellText, CellText], value: ValueText
) -> None:
    _check(panel, label_draft(panel, *names, value), names, value.forms)


@given(PANELS, written("w", 0, 26), st.booleans())
def test_a_text_whose_start_has_no_room_is_reported(panel: CellPanel, draft: CellText, apart: bool) -> None:
    pick = CellText("p", ("P",), "<p>")
    line = write_text(panel, draft, pick, apart)

    _check(panel, line, (draft,), (pick,))
    assert line.text[slice(*line.blinking)] == "p"


@given(PANELS, labels(), written("w", 0, 26), st.booleans(), st.integers(1, 40))
def test_a_label_and_a_text_that_is_written_in_one_row_are_reported(
    panel: CellPanel, names: tuple[CellText, CellText], draft: CellText, apart: bool, longest: int
) -> None:
    (label, short), pick = names, CellText("p", ("P",), "<p>")
    line = label_text(panel, label, short, draft, pick, apart, longest)

    assert len(line.text) == panel.columns
    assert (label.source in line.cut) is not (label.text in line.text or (short.text != "" and short.text in line.text))
    assert (draft.source in line.cut) is (draft.text not in line.text)
    assert line.text[slice(*line.blinking)] == "p"
    assert {"P", *draft.replaced} <= set(line.replaced)


@given(PANELS, written("a", 0), written("z", 0))
def test_of_two_texts_at_the_ends_the_one_that_is_cut_is_reported(
    panel: CellPanel, left: CellText, right: CellText
) -> None:
    _check(panel, compose_ends(panel, left, right), (left,), (right,))
    _check(panel, draw_bar(panel, left, right, 1, 3), (left,), (right,))


@given(PANELS, written("n"), written("y"), st.booleans())
def test_an_answer_that_is_cut_is_reported(panel: CellPanel, no: CellText, yes: CellText, yes_selected: bool) -> None:
    line = compose_answers(panel, no, yes, yes_selected)

    _check(panel, line, (no,), (yes,))
    mark = line.text.index("y") - 1 if yes_selected else 0
    assert [cell for cell, character in enumerate(line.text) if character == panel.selected] == [mark]


@pytest.mark.parametrize("columns", [8, 9, 16, 17, 20])
def test_two_answers_are_whole_where_they_leave_a_blank_or_fit_their_halves(columns: int) -> None:
    """docs/reference/spec.md, 11.9.3: together less than 2 x H wide; else *no* is cut to H - 1 and *yes* to H."""
    panel, half = _panel(columns), columns // 2 - 1
    for first, last in product(range(1, columns), repeat=2):
        line = compose_answers(panel, CellText("n" * first, (), "<n>"), CellText("y" * last, (), "<y>"), False)
        together = first + last < 2 * half

        assert ("<n>" not in line.cut) is (together or first <= half - 1)
        assert ("<y>" not in line.cut) is (together or last <= half)


@given(PANELS, written("a", 0, 60, blanks=True), st.integers(1, 5))
def test_a_wrapped_text_is_reported_where_its_last_row_is_cut(panel: CellPanel, text: CellText, most: int) -> None:
    lines = wrap(panel, text, most)
    shown = " ".join(" ".join(line.text for line in lines).split())
    whole = "".join(text.text.split())

    assert len(lines) <= most
    assert all(len(line.text) == panel.columns for line in lines)
    assert bool(lines) is bool(text.text)
    assert {cut for line in lines for cut in line.cut} == (set() if shown.replace(" ", "") == whole else {text.source})
    assert all(line.replaced == text.replaced for line in lines)
    for line, following in pairwise([line.text.rstrip() for line in lines]):
        assert len(line) == panel.columns or len(line) + 1 + len(following.split()[0]) > panel.columns


@given(PANELS, written("a", 0))
def test_a_text_alone_in_its_row_is_reported_where_it_is_cut(panel: CellPanel, text: CellText) -> None:
    _check(panel, compose_plain(panel, text), (text,))
    assert compose_plain(panel) == compose_plain(panel, EMPTY) == Line(" " * panel.columns)


@given(st.text("ab .,:;-", max_size=20), st.integers(-2, 20))
def test_a_cut_text_is_its_beginning_and_the_mark(text: str, cells: int) -> None:
    """docs/reference/spec.md, 11.3.1."""
    cut = abridge(text, cells, "…")

    assert len(cut) <= max(cells, 0)
    if len(text) <= cells:
        assert cut == text
    elif cells < 3:
        assert cut == text[: max(cells, 0)]
    else:
        assert cut[-1] == "…"
        assert text.startswith(cut[:-1])
        assert not cut[:-1] or cut[-2] not in " .,:;-"
        assert set(text[len(cut) - 1 : cells - 1]) <= set(" .,:;-")


@given(st.integers(8, 24), st.lists(written("a", 0, 30), max_size=4))
def test_a_screen_reports_what_its_rows_do_each_once_and_fills_up_with_blank_rows(
    columns: int, texts: list[CellText]
) -> None:
    panel = _panel(columns, 4)
    lines = [compose_plain(panel, text)._replace(blinking=(row, 2)) for row, text in enumerate(texts)]
    screen = build_screen(lines, panel)

    assert screen.rows == (*(line.text for line in lines), *[" " * columns] * (4 - len(lines)))
    assert [(span.row, span.start, span.stop) for span in screen.blinking] == [
        (row, row, 2) for row in range(len(lines)) if row < 2
    ]
    assert screen.cut == tuple(dict.fromkeys(cut for line in lines for cut in line.cut))
    assert screen.replaced == (("A",) if any(text.text for text in texts) else ())
