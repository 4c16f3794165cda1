"""Where people have been in the menus: the entries that a use turns to, and where a list stands when it opens again."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import attrs

from knobmenu.analysis.cost.gestures import perform
from knobmenu.analysis.cost.lists import list_shown, make_list_track
from knobmenu.analysis.cost.profile import Profile
from knobmenu.analysis.cost.routes import Route
from knobmenu.analysis.cost.track import weigh_turning
from knobmenu.analysis.cost.weights import Weights, count_weighed_gestures
from knobmenu.design.menu import BACK
from knobmenu.machine.state import Place, State

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


@attrs.frozen
class Visit:
    """One use: what it is of, how often, and the entries that are pressed on the way."""

    key: str
    probability: float
    places: tuple[Place, ...]
    state: State
    """A state with the values at which it is used."""

    @classmethod
    def of(cls, key: str, profile: Profile, route: Route) -> Visit:
        """Read the entries off a route from home."""
        return cls(key, profile.get_probability(key), _list_pressed(route), route.start)


def _list_pressed(route: Route) -> tuple[Place, ...]:
    """Return the entries that lead from home to the end of a route; all lists on the way stay open until then."""
    state = route.start
    places: tuple[Place, ...] = ()
    for gesture in route.way:
        if state.focus is None:
            places = state.path
        state, _ = perform(route.design, state, gesture)
    return places if route.way else ()


@attrs.frozen(slots=False)
class Usage:
    """All uses of a design under a profile."""

    design: Design
    profile: Profile
    visits: tuple[Visit, ...]

    @cached_property
    def _by_key(self) -> dict[str, Visit]:
        return {visit.key: visit for visit in self.visits}

    def get_visit(self, key: str) -> Visit:
        """Return the use of a setting or action."""
        return self._by_key[key]

    @cached_property
    def _through(self) -> dict[str, dict[int, float]]:
        found: dict[str, dict[int, float]] = {}
        for visit in self.visits:
            for place in visit.places:
                entries = found.setdefault(place.menu, {})
                entries[place.entry] = entries.get(place.entry, 0.0) + visit.probability
        return found

    def get_pressed(self, menu: str) -> dict[int, float]:
        """Return how often each entry of a menu is used; at most 1 in total."""
        return self._through.get(menu, {})

    def find_back_entry(self, menu: str) -> int | None:
        """Return the position of a menu's first back entry."""
        entries = self.design.index.menus[menu].entries
        return next((position for position, entry in enumerate(entries) if entry.target == BACK), None)

    def estimate_openings(self, menu: str) -> dict[int, float]:
        """Estimate how likely a menu opens at each entry, for a menu that reopens at the entry used last.

        It is the entry of the use before, whatever that was, or the back entry where people left by that.
        """
        pressed = self.get_pressed(menu)
        total = sum(pressed.values())
        if not total:
            return {}
        back = self.find_back_entry(menu)
        by_back = self.profile.get_leaving_probability("back") if back is not None else 0.0
        found = {entry: often / total * (1 - by_back) for entry, often in pressed.items()}
        if back is not None and by_back:
            found[back] = found.get(back, 0.0) + by_back
        return found

    def count_extra_turning(self, key: str, weights: Weights) -> float:
        """Count the detents of a use more, or less, than from where lists open on a new device."""
        visit, extra = self.get_visit(key), 0.0
        for place in visit.places:
            if self.design.index.menus[place.menu].reopens != "last-used":
                continue
            shown = list_shown(self.design, visit.state, place.menu)
            if place.entry not in shown:
                continue
            track, end = make_list_track(self.design, place.menu, len(shown)), shown.index(place.entry)
            for entry, often in self.estimate_openings(place.menu).items():
                start = next((index for index, other in enumerate(shown) if other >= entry), len(shown) - 1)
                extra += often * count_weighed_gestures(weigh_turning(track, start, end, weights))
                extra -= often * count_weighed_gestures(weigh_turning(track, 0, end, weights))
        return extra
