"""Only what changed is drawn anew, and all of it."""

from hypothesis import given
from hypothesis import strategies as st

from knobmenu.picture.changes import list_changes
from knobmenu.picture.runs import Box, Drawing, Run, merge

BOX = Box(3, 2, 12, 4)

runs = st.builds(Run, st.text("ab漢 ", min_size=1, max_size=4), st.sampled_from(("text", "dim")))
rows = st.lists(runs, max_size=4).map(lambda found: _cut(merge(found)))
drawings = st.lists(rows, max_size=BOX.rows).map(tuple)


def _cut(row: tuple[Run, ...]) -> tuple[Run, ...]:
    """Leave out what would be wider than the box."""
    kept: list[Run] = []
    for run in row:
        if len(_cells((*kept, run))) <= BOX.columns:
            kept.append(run)
    return tuple(kept)


def _cells(row: tuple[Run, ...]) -> list[tuple[str, str]]:
    """Return what each cell of a row shows, and in which ink; a wide sign fills two."""
    return [(sign, run.ink) for run in row for sign in run.text for _ in range(2 if sign == "漢" else 1)]


def _field(drawing: Drawing) -> list[list[tuple[str, str]]]:
    cells = [_cells(row) for row in drawing] + [[]] * (BOX.rows - len(drawing))
    return [row + [(" ", "text")] * (BOX.columns - len(row)) for row in cells]


@given(drawings, drawings)
def test_outside_of_what_is_drawn_anew_nothing_changed(before: Drawing, after: Drawing) -> None:
    anew = {
        (x - BOX.x, y - BOX.y)
        for piece, _ in list_changes(BOX, before, after)
        for x in range(piece.x, piece.x + piece.columns)
        for y in range(piece.y, piece.y + piece.rows)
    }
    old, new = _field(before), _field(after)
    changed = {(x, y) for y in range(BOX.rows) for x in range(BOX.columns) if old[y][x] != new[y][x]}
    assert changed <= anew


@given(drawings, drawings)
def test_what_is_drawn_anew_is_inside_its_place(before: Drawing, after: Drawing) -> None:
    for piece, _ in list_changes(BOX, before, after):
        assert BOX.x <= piece.x < piece.x + piece.columns <= BOX.x + BOX.columns
        assert BOX.y <= piece.y < piece.y + piece.rows <= BOX.y + BOX.rows


@given(drawings)
def test_what_looks_the_same_is_not_drawn_anew(drawing: Drawing) -> None:
    assert list_changes(BOX, drawing, tuple(tuple(row) for row in drawing)) == []


def test_one_changed_word_is_drawn_and_not_its_row() -> None:
    before = ((Run("one ", "dim"), Run("two ", "text"), Run("also", "dim")),)
    after = ((Run("one ", "dim"), Run("six ", "text"), Run("also", "dim")),)
    ((piece, _),) = list_changes(BOX, before, after)
    assert (piece.x, piece.columns) == (BOX.x + 4, 4)
