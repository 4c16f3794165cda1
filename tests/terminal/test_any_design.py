"""Whatever the design and whatever was done, everything that is shown fits its place."""

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from knobmenu.design.whole import Design
from knobmenu.picture.fitting import cut, wrap
from knobmenu.picture.palettes import PALETTES, Palette
from knobmenu.session.variants import Variant
from knobmenu.terminal.desk.layout import PANES
from tests.strategies import designs, traces
from tests.terminal.stage import Stage, text_on_screen

sizes = st.tuples(st.integers(60, 260), st.integers(18, 75))


@st.composite
def stages(draw: st.DrawFn) -> Stage:
    """A desk with one or two designs on which something was done."""
    tried: list[Design] = draw(st.lists(designs(), min_size=1, max_size=2))
    stage = Stage([Variant(design, None) for design in tried])
    if len(tried) == 1:
        stage.session.tell(draw(traces(tried[0], most=12)), 0)
    stage.do(" ".join(draw(st.lists(st.sampled_from(("up", "down", "press", "long", "back", "note:ok")), max_size=6))))
    return stage


@given(stages(), sizes, st.permutations(PANES), st.sampled_from(PALETTES))
def test_every_row_fits_its_place(stage: Stage, size: tuple[int, int], panes: list[str], palette: Palette) -> None:
    shown = stage.pictures(*size, palette, tuple(panes))
    text = text_on_screen(shown, *size)
    assert all(cell_len(line) <= size[0] for line in text.splitlines())
    for name, (box, rows) in shown.items():
        assert len(rows) <= box.rows, name
        assert all(palette.get_colour(ink) is not None for row in rows for run in row for ink in run[1:]), name


@given(st.text("ab 漢字", max_size=60), st.integers(10, 40))
def test_wrapped_lines_fit_and_lose_no_sign(text: str, columns: int) -> None:
    lines = wrap(text, columns)
    assert all(cell_len(line) <= columns for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(st.text("ab 漢字", max_size=60), st.integers(0, 40))
def test_a_text_that_is_cut_says_so_and_fits(text: str, columns: int) -> None:
    shown = cut(text, columns)
    assert cell_len(shown) <= columns
    assert shown == text if cell_len(text) <= columns else shown[-1:] in ("…", "")
