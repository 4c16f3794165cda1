"""Studies that any design can be put to as a clean one: tasks that name each entry of the way as the display does."""

from __future__ import annotations

from collections.abc import Iterator

from knobmenu.analysis.cost.routes import Model, Route, find_least_route_to_value
from knobmenu.design.domains import get_domain
from knobmenu.design.labels import get_label
from knobmenu.design.settings import Choice, Number, Scale
from knobmenu.design.whole import Design
from knobmenu.machine.changing import get_number
from knobmenu.machine.state import make_initial_state
from knobmenu.review.study_form import Setup, read_study
from knobmenu.review.trail import make_trail

STEPS = 6
"""How many values further each task sets its setting."""


def named_study(design: Design, most_tasks: int = 4) -> Setup:
    """Return a study of a design whose tasks are done by turning and pressing, and name each entry of the way.

    Args:
        design: Any design.
        most_tasks: How many tasks, spread over the menu.
    """
    found = list(_tasks(design))
    spread = found[:: max(1, len(found) // most_tasks)][:most_tasks]
    return read_study(
        {"name": design.name, "practice_s": 0, "variants": {"only": "only"}, "tasks": dict(spread)},
        lambda file: design,
    )


def _tasks(design: Design) -> Iterator[tuple[str, dict[str, object]]]:
    model, start = Model(design), make_initial_state(design)
    for setting in design.settings:
        if not isinstance(setting, Number | Scale | Choice):
            continue
        domain = list(get_domain(design, setting.key))
        at = domain.index(get_number(design, start.values, setting.key))
        target = domain[min(at + STEPS, len(domain) - 1)]
        if target == domain[at]:
            continue
        try:
            route = find_least_route_to_value(model, start, setting.key, target, most_states=5_000)
        except OverflowError:
            continue
        if route is not None and _is_plain(route):
            names = [
                get_label(design, key) for key in list(make_trail(route, route.tally.gestures).opened.values())[::-1]
            ]
            text = "Go to " + ", ".join(f'"{name}"' for name in names) + f" and set it to {target}."
            operand = setting.options[target].key if isinstance(setting, Choice) else target
            yield setting.key, {"text": text[:200], "done": {"equal": [setting.key, operand]}}


def _is_plain(route: Route) -> bool:
    """Tell whether a way goes through lists to one editor, by turning and pressing."""
    trail = make_trail(route, route.tally.gestures)
    kinds = {gesture.kind for gesture in route.way}
    return kinds <= {"turn", "press"} and len(trail.opened) > 0 and len(route.changed) == 1
