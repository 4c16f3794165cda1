"""Better orders of a design's menus: trips under a profile, the designer's rules, and the design that results."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

import attrs

from knobmenu.analysis.cost.lists import list_shown
from knobmenu.analysis.cost.profile import Profile, make_even_profile
from knobmenu.analysis.cost.report import find_home_routes
from knobmenu.analysis.cost.routes import Model, find_least_routes
from knobmenu.analysis.cost.usage import Usage, Visit
from knobmenu.analysis.order.solvers import Solution, find_least_order
from knobmenu.analysis.order.trips import Constraints, Trip, Trips, merge
from knobmenu.design.menu import BACK
from knobmenu.errors import DesignError, Problem, nearest, one_of
from knobmenu.machine.state import make_initial_state

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


@attrs.frozen
class OrderRules:
    """The rules that an order must satisfy, by the targets of entries."""

    pinned: tuple[str, ...] = ()
    """Entries that stay where they are."""
    first: tuple[str, ...] = ()
    """Entries that stand at the top, in this order."""
    together: tuple[tuple[str, ...], ...] = ()
    """Groups of entries that follow each other, in any order."""
    sequence: tuple[tuple[str, ...], ...] = ()
    """Entries that come in this order, others between them or not."""
    moves_back: bool = False
    """Whether a back entry at an end of its list may stand elsewhere."""

    def walk_targets(self) -> Iterable[str]:
        """Walk every target that is named."""
        yield from self.pinned
        yield from self.first
        for group in (*self.together, *self.sequence):
            yield from group


@attrs.frozen
class MenuOrder:
    """The best order of one menu."""

    menu: str
    trips: Trips
    solution: Solution
    present: float
    """Detents of a use on average, in this list, as it is. A use that does not come here counts as 0."""

    @property
    def changes(self) -> bool:
        """Whether another order is better than the present one."""
        return self.solution.cost < self.present - 1e-9


def find_usage(design: Design, profile: Profile) -> Usage:
    """Find the entries that each use of a design turns to."""
    model, start = Model(design), make_initial_state(design)
    keys = [key for key in profile.use if profile.use[key]]
    home = find_home_routes(model, start, find_least_routes(model, start, keys).routes)
    return Usage(design, profile, tuple(Visit.of(key, profile, route) for key, route in home.items()))


def list_trips(usage: Usage, menu: str) -> Trips:
    """List the trips through a menu that its uses make.

    A list that opens at its first entry is turned from there. One that reopens at the entry used last is turned from
    the entry of the use before, or from the back entry where people left by that.
    """
    design, profile = usage.design, usage.profile
    entries = design.index.menus[menu].entries
    back = usage.find_back_entry(menu)
    by_back = profile.get_leaving_probability("back") if back is not None else 0.0
    reopens = design.index.menus[menu].reopens == "last-used"
    openings = usage.estimate_openings(menu) if reopens else {}
    trips = []
    for visit in usage.visits:
        end = next((place.entry for place in visit.places if place.menu == menu), None)
        if end is None:
            continue
        seen = set(list_shown(design, visit.state, menu))
        shown = tuple(
            1.0 if index == end else profile.shown.get(entry.target, float(index in seen))
            for index, entry in enumerate(entries)
        )
        often = visit.probability
        if reopens:
            trips += [Trip(start, end, often * part, shown) for start, part in openings.items() if start != end]
        else:
            trips.append(Trip(None, end, often, shown))
        if back is not None and by_back and back != end:
            trips.append(Trip(end, back, often * by_back, shown))
    return merge(len(entries), design.index.menus[menu].ends == "wrap", trips)


def order_menus(
    design: Design,
    *,
    profile: Profile | None = None,
    menus: Iterable[str] | None = None,
    rules: OrderRules | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[MenuOrder, ...]:
    """Find the best order of a design's menus.

    Args:
        design: The design.
        profile: How it is used; everything alike, without one.
        menus: Which menus; all, without any.
        rules: What the orders must keep.
        progress: Is called with the menus that are done and all of them.

    Raises:
        DesignError: A menu or a target is not one of the design, or the rules contradict each other.
    """
    profile = make_even_profile(design) if profile is None else profile
    rules = rules or OrderRules()
    chosen = list(design.index.menus) if menus is None else list(menus)
    _check(design, chosen, rules)
    usage = find_usage(design, profile)
    found = []
    for number, menu in enumerate(chosen):
        if progress is not None:
            progress(number, len(chosen))
        trips = list_trips(usage, menu)
        constraints = build_constraints(design, menu, rules)
        try:
            solution = find_least_order(trips, constraints)
        except ValueError as error:
            raise DesignError([Problem(f"menus.{menu}", str(error), "constraints that can all be kept")]) from None
        found.append(MenuOrder(menu, trips, solution, trips.compute_cost(range(trips.count))))
    return tuple(found)


def _check(design: Design, menus: Iterable[str], rules: OrderRules) -> None:
    known = [*design.index.menus]
    problems = [
        Problem("--menu", f'"{menu}"', one_of(known), nearest(menu, known)) for menu in menus if menu not in known
    ]
    targets = {entry.target for menu in design.menus for entry in menu.entries}
    problems += [
        Problem("constraints", f'"{key}", which no menu lists', one_of(sorted(targets)), nearest(key, targets))
        for key in rules.walk_targets()
        if key not in targets
    ]
    DesignError.raise_any(problems)


def build_constraints(design: Design, menu: str, rules: OrderRules) -> Constraints:
    """Convert rules to constraints on the positions of one menu's entries."""
    entries = design.index.menus[menu].entries
    places: dict[str, int] = {}
    for place, entry in enumerate(entries):
        places.setdefault(entry.target, place)
    pinned = {places[key]: places[key] for key in rules.pinned if key in places}
    for place, key in enumerate(key for key in rules.first if key in places):
        pinned[places[key]] = place
    last = len(entries) - 1
    if not rules.moves_back:
        pinned.update({place: place for place in (0, last) if entries[place].target == BACK})
    together = tuple(
        group for keys in rules.together if len(group := frozenset(places[key] for key in keys if key in places)) > 1
    )
    sequence = tuple(
        line for keys in rules.sequence if len(line := tuple(places[key] for key in keys if key in places)) > 1
    )
    return Constraints(pinned, together, sequence)


def reorder(design: Design, orders: Iterable[MenuOrder]) -> Design:
    """Return the design with its menus in better orders; optimal ones are unchanged."""
    entries: Mapping[str, tuple[int, ...]] = {item.menu: item.solution.order for item in orders if item.changes}
    return attrs.evolve(
        design,
        menus=[
            attrs.evolve(menu, entries=[menu.entries[place] for place in entries[menu.key]])
            if menu.key in entries
            else menu
            for menu in design.menus
        ],
    )
