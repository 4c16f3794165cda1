"""A design under check: its abstraction, its cones, and the searches that questions share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property

import attrs

from knobmenu.analysis.abstraction import Abstraction
from knobmenu.analysis.cones import Cone, Cones
from knobmenu.analysis.reachability import Model, Reached, build_model, search, search_back
from knobmenu.analysis.sites import HOME, Site, Sites, walk_settings
from knobmenu.analysis.space import Bits
from knobmenu.analysis.walks import Hand, LostError, walk_to
from knobmenu.design.conditions import Resolved
from knobmenu.design.whole import Design

SHARED_STATES = 4096
"""Cones are merged while their settings have no more joint states than this, so that one search serves all."""

RECENT = 8
"""How many groups are tried for a cone, so that thousands of cones are merged quickly."""


@attrs.frozen(eq=False)
class Searches:
    """The model of a group of cones, with one search of each kind."""

    model: Model

    @cached_property
    def free(self) -> Reached:
        """What the knob and any reports can reach, which can be played."""
        return search(self.model)

    @cached_property
    def frozen(self) -> Reached:
        """What the knob alone can reach, with every readout at its initial value."""
        return search(self.model, reports=False) if self.model.space.abstraction.design.readouts else self.free

    @cached_property
    def everything(self) -> Reached:
        """What can be reached if the device itself resets settings or is switched off and on, too."""
        return search(self.model, assumed=True)

    @cached_property
    def returns(self) -> bool:
        """Whether a new device's state can be restored from every state at home, so that nothing is ever lost."""
        start = self.model.space.join_number([0] * len(self.model.space.variables))
        back = search_back(self.model, {HOME: 1 << start})
        return not self.everything.get_states(HOME) & ~back.get(HOME, 0)


@attrs.define
class _Group:
    keys: set[str]
    sites: set[Site]
    states: int


@attrs.frozen(eq=False)
class Subject:
    """A design under check."""

    design: Design
    extra_cuts: Mapping[str, tuple[int, ...]] = attrs.field(factory=dict)
    """Values at which more classes begin, for questions about certain values."""
    _groups: list[_Group] = attrs.field(init=False, factory=list, repr=False)
    _searches: dict[int, Searches] = attrs.field(init=False, factory=dict, repr=False)
    _group_of: dict[Cone, int] = attrs.field(init=False, factory=dict, repr=False)

    @cached_property
    def abstraction(self) -> Abstraction:
        """The classes of its values."""
        return Abstraction(self.design, self.extra_cuts)

    @cached_property
    def sites(self) -> Sites:
        """Where a user can be."""
        return Sites(self.design)

    @cached_property
    def cones(self) -> Cones:
        """What each question depends on."""
        return Cones(self.sites)

    def build_cone(
        self, sites: Iterable[Site] = (), conditions: Iterable[Resolved] = (), keys: Iterable[str] = ()
    ) -> Cone:
        """Build the cone of a question about sites, conditions and settings."""
        read = (key for condition in conditions for key in walk_settings(self.design, condition))
        return self.cones.build_cone(sites, (*read, *keys))

    def plan(self, cones: Iterable[Cone]) -> None:
        """Merge cones that can share a search.

        Raises:
            TooLargeError: A variable has too many states.
        """
        for cone in cones:
            if cone not in self._group_of:
                self._group_of[cone] = self._join(cone)

    def _join(self, cone: Cone) -> int:
        # A larger closed cone gives the same answers, so any two can be merged.
        first = max(len(self._groups) - RECENT, 0)
        for number in range(first, len(self._groups)):
            group = self._groups[number]
            states = self._count_states(group.keys | cone.keys)
            if number not in self._searches and (cone.keys <= group.keys or states <= SHARED_STATES):
                group.keys |= cone.keys
                group.sites |= cone.sites
                return number
            if cone.keys <= group.keys and cone.sites <= group.sites:
                return number
        self._groups.append(_Group(set(cone.keys), set(cone.sites), 0))
        return len(self._groups) - 1

    def _count_states(self, keys: Iterable[str]) -> int:
        states = 1
        for variable in {self.abstraction.get_variable(key) for key in keys}:
            states *= len(variable.states)
        return states

    def get_searches(self, cone: Cone) -> Searches:
        """Return the searches that answer for a cone.

        Raises:
            TooLargeError: It has too many states.
        """
        self.plan([cone])
        number = self._group_of[cone]
        if number not in self._searches:
            group = self._groups[number]
            whole = Cone(frozenset(group.keys), frozenset(group.sites))
            self._searches[number] = Searches(build_model(self.abstraction, self.sites, whole))
        return self._searches[number]

    @property
    def states(self) -> int:
        """Count the abstract states that were reached so far."""
        return sum(searches.everything.count() for searches in self._searches.values())

    def walk_to_site(self, reached: Reached, site: Site, bits: Bits) -> Hand | None:
        """Walk to the nearest of some states at one site; None if no way can be played."""
        return self.walk(reached, lambda at: bits if at == site else 0)

    def walk(self, reached: Reached, wanted: Callable[[Site], Bits]) -> Hand | None:
        """Walk to the nearest of some states; None if no way can be played."""
        found = reached.find_first(wanted)
        if found is None:
            return None
        try:
            return walk_to(reached, *found)
        except LostError:
            return None
