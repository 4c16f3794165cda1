"""The home screen on a display of cells.

It shows the rows of the design, from the top. If the design has none, the first row shows the device's name and the
last row the value that turning changes; a single row shows the value alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from knobmenu.design.home import Row
from knobmenu.design.settings import Number, Scale
from knobmenu.machine.values import Value
from knobmenu.screen.cells import Screen
from knobmenu.screen.characters import EMPTY, CellText
from knobmenu.screen.editor import measure_fraction
from knobmenu.screen.face import Face
from knobmenu.screen.lines import Line, build_screen, compose_ends, compose_plain, draw_bar, label_value
from knobmenu.screen.panel import CellPanel
from knobmenu.screen.values import ValueText, get_longest_form, join_texts, write_value


def list_home_keys(face: Face) -> tuple[str, ...]:
    """List the keys of the settings and readouts whose values the home screen shows, in any order, each once."""
    return face.recall("home keys", lambda: _collect_keys(face))


def _collect_keys(face: Face) -> tuple[str, ...]:
    home = face.design.home
    if not home.rows:
        return (home.turn,) if home.turn else ()
    keys = [key for row in home.rows for text in (row.left, row.right) for key in face.fit_template(text).keys]
    return tuple(dict.fromkeys([*keys, *(row.bar for row in home.rows if row.bar)]))


def compose_home(face: Face, panel: CellPanel, values: Mapping[str, Value]) -> Screen:
    """Compose the home screen.

    Args:
        face: The design on its display.
        panel: The display.
        values: The values of `list_home_keys`.
    """
    return build_screen(_compose_lines(face, panel, values), panel)


def _compose_lines(face: Face, panel: CellPanel, values: Mapping[str, Value]) -> list[Line]:
    design = face.design
    if design.home.rows:
        return [_compose_row(face, panel, values, row) for row in design.home.rows]
    name = compose_plain(panel, face.fit_caption(design.name))
    if not design.home.turn:
        return [name]
    setting = design.index.settings[design.home.turn]
    value = write_value(face, setting.key, values[setting.key])
    turned = label_value(panel, "", face.fit_caption(setting.label), face.fit_caption(setting.short), value)
    if panel.rows == 1:
        return [turned]
    between = [compose_plain(panel)] * (panel.rows - 2)
    if between and isinstance(setting, Number | Scale) and setting.bar:
        between[-1] = draw_bar(panel, EMPTY, EMPTY, *measure_fraction(face, setting.key, values[setting.key]))
    return [name, *between, turned]


def fill(
    face: Face, text: str, values: Mapping[str, Value], choose: Callable[[ValueText], CellText] = get_longest_form
) -> CellText:
    """Replace the keys in a text with their values, each in its field.

    Args:
        face: The design on its display.
        text: A text of the design that contains ``{key}``.
        values: The values.
        choose: Chooses a form of each value.
    """
    template = face.fit_template(text)
    pieces = [template.texts[0]]
    for key, following in zip(template.keys, template.texts[1:], strict=True):
        pieces += [choose(write_value(face, key, values[key])), following]
    return join_texts(*pieces)


def _compose_row(face: Face, panel: CellPanel, values: Mapping[str, Value], row: Row) -> Line:
    left, right = fill(face, row.left, values), fill(face, row.right, values)
    if row.bar:
        return draw_bar(panel, left, right, *measure_fraction(face, row.bar, values[row.bar]))
    # A field at the right ends with its digits, so the blanks before them need not shorten the left text.
    return compose_ends(panel, left, right._replace(text=right.text.lstrip()))
