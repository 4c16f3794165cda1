"""Everything that the desk shows, one function of the scene, no state."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import attrs

from knobmenu.picture.disc import Shading
from knobmenu.picture.display import Blink
from knobmenu.picture.forms import Kind
from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Box, Drawing, Pictures
from knobmenu.session.facts import list_differing_rows
from knobmenu.session.session import Session
from knobmenu.session.variants import Variant
from knobmenu.terminal.desk.layout import LEAST, PANES, Plan, plan
from knobmenu.terminal.desk.views.bar import draw_bar
from knobmenu.terminal.desk.views.cost import draw_cost
from knobmenu.terminal.desk.views.device import draw_device, find_longest_caution
from knobmenu.terminal.desk.views.events import draw_events
from knobmenu.terminal.desk.views.header import draw_header
from knobmenu.terminal.desk.views.knob import draw_knob_and_words
from knobmenu.terminal.desk.views.menu import draw_menu
from knobmenu.terminal.desk.views.notes import draw_notes
from knobmenu.terminal.desk.views.place import draw_place
from knobmenu.terminal.desk.views.problems import draw_problems
from knobmenu.terminal.drawing.frame import draw_needed_keys, draw_too_small
from knobmenu.terminal.input.keymap import ALL, FIRST
from knobmenu.terminal.notice import Notice

if TYPE_CHECKING:
    from knobmenu.bench.simulated import SimulatedEncoder


@attrs.frozen(eq=False, repr=False)
class Scene:
    """What is to be shown."""

    session: Session
    variants: Sequence[Variant]
    palette: Palette
    shading: Shading | None
    """The colours of the knob as a shaded disc; None: a ring of dots."""
    columns: int
    """Width of the terminal. [terminal cells]"""
    rows: int
    """Height of it. [terminal cells]"""
    plan: Plan | None
    """The layout; None if the terminal is too small."""
    notice: Notice
    """The message in the header."""
    pressing: str
    """How to press the knob in this terminal."""
    clicked: bool
    """Whether a click is still visible."""
    blink: Blink
    """The present phase of blinking."""
    tree_variant: int
    """The index of the variant whose tree is shown."""
    real_ms: int
    """Real time. [ms]"""
    simulated: SimulatedEncoder | None = None
    """The simulated encoder; None while the ideal one is in use."""


def plan_desk(
    columns: int, rows: int, variants: Sequence[Variant], panes: tuple[str, ...], least: Kind = "half"
) -> Plan | None:
    """Lay out what variants need; None where the terminal is too small."""
    designs = [variant.design for variant in variants]
    displays = tuple(design.display for design in designs)
    return plan(columns, rows, displays, panes, least, tuple(map(find_longest_caution, designs)))


def hide_tools(plan: Plan) -> Plan:
    """Return a plan of the device and its knob alone: what only a designer reads is left out."""
    return attrs.evolve(plan, boxes={name: box for name, box in plan.boxes.items() if name not in _TOOLS})


_TOOLS = ("header", "bar", "footer")


def pictures(scene: Scene) -> Pictures:
    """Draw everything that has a place."""
    if scene.plan is None:
        advice = "Make it larger, or leave with q and use knobmenu try --plain."
        return draw_too_small(scene.columns, scene.rows, LEAST, advice)
    shown = {name: (box, _draw_picture(scene, scene.plan, name, box)) for name, box in scene.plan.boxes.items()}
    problems = tuple(problem for variant in scene.variants for problem in variant.problems)
    if problems and "header" in scene.plan.boxes:
        box = _find_problems_box(scene, scene.plan)
        shown = {name: picture for name, picture in shown.items() if not _meet(picture[0], box)}
        shown["problems"] = box, draw_problems(problems, box.columns, box.rows)
    return shown


@lru_cache(maxsize=16)
def _draw_footer(columns: int) -> Drawing:
    return draw_needed_keys((("← →", "turn"),), ALL, FIRST, columns)


def _find_problems_box(scene: Scene, plan: Plan) -> Box:
    """Return the place of the problems: over the largest pane, and everything to its right."""
    panes = [box for name, box in plan.boxes.items() if name in PANES]
    if not panes:
        return Box(0, scene.rows - 8, scene.columns, 6)
    largest = max(panes, key=lambda box: box.columns * box.rows)
    return Box(largest.x, largest.y, scene.columns - largest.x, largest.rows)


def _meet(one: Box, other: Box) -> bool:
    across = one.x < other.x + other.columns and other.x < one.x + one.columns
    return across and one.y < other.y + other.rows and other.y < one.y + one.rows


def _name(variants: Sequence[Variant]) -> tuple[tuple[str, str], ...]:
    """Return the title of each variant and a shorter name, by which it still differs from the other."""
    alike = len({one.design.name for one in variants}) < len(variants)
    return tuple((one.title, one.path.name if alike and one.path else one.design.name) for one in variants)


def _describe_tally(simulated: SimulatedEncoder | None) -> tuple[str, str] | None:
    if simulated is None:
        return None
    # Late, as all of the bench: the first frame need not wait for it.
    from knobmenu.bench.tally import format_tally

    return format_tally(simulated.tally)


def _draw_picture(scene: Scene, plan: Plan, name: str, box: Box) -> Drawing:
    session, parts = scene.session, scene.session.parts
    columns, rows = box.columns, box.rows
    match name:
        case "header":
            names = _name(scene.variants)
            mode = scene.pressing if scene.simulated is None else "simulated (k)"
            return draw_header(names, scene.notice.text, scene.notice.ink, mode, columns)
        case "knob":
            tally = _describe_tally(scene.simulated)
            return draw_knob_and_words(session, columns, rows, scene.real_ms, scene.clicked, tally, scene.shading)
        case "events":
            return draw_events(session, columns, rows)
        case "place":
            return draw_place(parts, columns, rows)
        case "cost":
            return draw_cost(parts, columns, rows)
        case "menu":
            return draw_menu(parts[scene.tree_variant], columns, rows)
        case "notes":
            return draw_notes(session, columns, rows)
        case "bar":
            return draw_bar(session, columns)
        case "footer":
            return _draw_footer(columns)
    number = int(name.removeprefix("device-"))
    label = "AB"[number] if len(parts) > 1 else ""
    differing = list_differing_rows(*parts) if len(parts) > 1 else ()
    return draw_device(parts[number], plan.form, scene.palette.manner, scene.blink, rows, label, differing)
