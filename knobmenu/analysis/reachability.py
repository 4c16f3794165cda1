"""Reachability: sets of abstract states, searched forward and backward.

An abstract state is a site and a state of each variable of a cone. The states at one site are the bits of an integer: a
condition is a mask, an edit is a few shifts, and a search is a dozen operations on whole sets for each way of each
site. Ten million states take a fraction of a second.

What happens outside of the machine is *assumed*: a report of the device, a reset of settings by an action, a power
cycle. The parameters of a search state which of these it allows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import attrs

from knobmenu.analysis.abstraction import Abstraction, Relation, TooLargeError, Variable
from knobmenu.analysis.cones import Cone
from knobmenu.analysis.sites import ALWAYS, HOME, Site, Sites, Way
from knobmenu.analysis.space import Bits, Operation, Space, walk_positions
from knobmenu.design.conditions import Resolved
from knobmenu.design.settings import Number, Scale
from knobmenu.design.whole import Design

MOST_BITS = 2**28
"""The greatest number of abstract states of a search. [states]"""


class Move(NamedTuple):
    """One way between sites, and its effect on the variables."""

    way: Way
    source: Site
    to: Site
    operations: tuple[Operation, ...]
    assumed: bool
    """Whether the device or a power cycle causes it, and not the machine."""


@attrs.frozen(eq=False)
class Model:
    """The abstract states of a cone and the moves between them."""

    space: Space
    all_sites: Sites
    sites: tuple[Site, ...]
    moves: tuple[Move, ...]

    def list_ways(self, site: Site) -> tuple[Way, ...]:
        """List everything that can be done at a site, whether or not it is a move of this model."""
        return self.all_sites.list_ways(site)

    @property
    def size(self) -> int:
        """The number of abstract states, reachable or not."""
        return self.space.size * len(self.sites)


def build_model(abstraction: Abstraction, sites: Sites, cone: Cone) -> Model:
    """Build the model of a cone.

    Raises:
        TooLargeError: It has more than `MOST_BITS` states.
    """
    variables = tuple(dict.fromkeys(abstraction.get_variable(key) for key in sorted(cone.keys)))
    space = Space(abstraction, variables)
    if space.size * len(cone.sites) > MOST_BITS:
        raise TooLargeError(space.size * len(cone.sites))
    inside = tuple(site for site in sites.all if site in cone.sites)
    places = {key: place for place, variable in enumerate(variables) for key in variable.keys}
    moves = [move for site in inside for move in _walk_moves(abstraction, sites, cone, places, site)]
    restart = _plan_restart(abstraction, variables)
    moves += [Move(_POWER_CYCLE, site, HOME, restart, True) for site in inside]
    return Model(space, sites, inside, tuple(moves))


_POWER_CYCLE = Way("power", "", -1, ALWAYS, HOME)


def _plan_restart(abstraction: Abstraction, variables: Sequence[Variable]) -> tuple[Operation, ...]:
    """Return the operations of a power cycle: saved settings keep their values, the others are reset.

    If limits tie a saved setting to one that is not saved, any of their states is assumed.
    """
    settings = abstraction.design.index.settings
    operations: list[Operation] = []
    for place, variable in enumerate(variables):
        saved = {settings[key].saved for key in variable.keys}
        if saved == {False}:
            operations.append((place, ((0,),) * len(variable.states)))
        elif len(saved) == 2:
            operations.append((place, None))
    return tuple(operations)


def _walk_moves(
    abstraction: Abstraction, sites: Sites, cone: Cone, places: dict[str, int], site: Site
) -> Iterator[Move]:
    design = abstraction.design
    for way in sites.list_ways(site):
        if way.target in design.index.menus:
            if way.to in cone.sites:
                yield Move(way, site, way.to, (), False)
        elif way.target in design.index.settings:
            if way.target in places and not _is_coarser(design, way):
                variable = abstraction.get_variable(way.target)
                yield Move(
                    way, site, site, ((places[way.target], find_edit_relation(abstraction, variable, way)),), False
                )
        elif all(key in places for key in _walk_keys(abstraction, way.when)):
            if way.to != site:
                yield Move(way, site, way.to, (), False)
            resets = design.index.actions[way.target].resets if way.target in design.index.actions else ()
            if changed := {places[key] for key in resets if key in places}:
                yield Move(way, site, way.to, tuple((place, None) for place in sorted(changed)), True)


def _is_coarser(design: Design, way: Way) -> bool:
    """Return whether a way adjusts at home, by several steps, a setting that turning there adjusts by single steps."""
    return (
        way.by == "held_turn"
        and way.target == design.home.turn
        and isinstance(design.index.settings[way.target], Number | Scale)
    )


def find_edit_relation(abstraction: Abstraction, variable: Variable, way: Way) -> Relation:
    """Find where one edit of a setting, or one turn of it at home, can end."""
    key = way.target
    if way.by == "held_turn":
        return variable.held_turns.get(key, variable.assignments[key])
    relation = variable.assignments[key]
    live = abstraction.design.index.settings[key].applies == "live"
    return close(relation) if relation is not None and live else relation


def close(relation: Sequence[Sequence[int]]) -> tuple[tuple[int, ...], ...]:
    """Compute the transitive closure of a relation: each detent of a live edit pushes partners along."""
    closed = []
    for start in relation:
        found = dict.fromkeys(start)
        ahead = list(found)
        while ahead:
            for end in relation[ahead.pop()]:
                if end not in found:
                    found[end] = None
                    ahead.append(end)
        closed.append(tuple(sorted(found)))
    return tuple(closed)


def _walk_keys(abstraction: Abstraction, condition: Resolved) -> Iterator[str]:
    settings = abstraction.design.settings
    return (settings[at].key for at in walk_positions(condition) if at < len(settings))


@attrs.frozen(eq=False)
class Reached:
    """The result of a search, in layers: layer n holds the states that take at least n moves."""

    model: Model
    reports: bool
    assumed: bool
    layers: tuple[dict[Site, Bits], ...]
    total: dict[Site, Bits]

    def get_states(self, site: Site) -> Bits:
        """Return the states reached at a site."""
        return self.total.get(site, 0)

    def mask(self, condition: Resolved) -> Bits:
        """Return the states in which a condition can hold, given the reports that this search allows."""
        return self.model.space.mask(condition, self.reports)

    def get_all_states(self) -> Bits:
        """Return the states reached at any site."""
        bits = 0
        for part in self.total.values():
            bits |= part
        return bits

    def count(self) -> int:
        """Count the abstract states that were reached."""
        return sum(bits.bit_count() for bits in self.total.values())

    def find_first(self, wanted: Callable[[Site], Bits]) -> tuple[int, Site, int] | None:
        """Find the layer, site and state of one of the nearest states of a set; None if none was reached.

        Args:
            wanted: Returns the set's states at a site.
        """
        for depth, layer in enumerate(self.layers):
            for site, bits in layer.items():
                if found := bits & wanted(site):
                    return depth, site, (found & -found).bit_length() - 1
        return None

    def trace_moves(self, layer: int, site: Site, state: int) -> list[tuple[Move, int]]:
        """Trace a shortest way to a reached state: the moves, each with the state that it leads to."""
        steps: list[tuple[Move, int]] = []
        while layer > 0:
            layer -= 1
            for move in self.model.moves:
                if move.to != site or (move.assumed and not self.assumed):
                    continue
                before = self.layers[layer].get(move.source, 0)
                found = before and before & self.mask(move.way.when) & self.model.space.preimage(
                    1 << state, move.operations
                )
                if found:
                    steps.append((move, state))
                    site, state = move.source, (found & -found).bit_length() - 1
                    break
        return steps[::-1]


def search(model: Model, reports: bool = True, assumed: bool = False) -> Reached:
    """Search forward from a new device at home, by number of moves.

    Args:
        model: The states and moves of a cone.
        reports: Whether the device can report any value at any time.
        assumed: Whether to allow assumed moves: resets by actions, and power cycles.
    """
    start = 1 << model.space.join_number([0] * len(model.space.variables))
    outgoing = _group_by_site(model, assumed, lambda move: move.source)
    total = {HOME: start}
    layers = [{HOME: start}]
    while layers[-1]:
        following: dict[Site, Bits] = {}
        for site, bits in layers[-1].items():
            for move in outgoing.get(site, ()):
                if able := bits & model.space.mask(move.way.when, reports):
                    following[move.to] = following.get(move.to, 0) | model.space.image(able, move.operations)
        layers.append({})
        for site, bits in following.items():
            if more := bits & ~total.get(site, 0):
                layers[-1][site] = more
                total[site] = total.get(site, 0) | more
    return Reached(model, reports, assumed, tuple(layers), total)


def search_back(model: Model, goals: dict[Site, Bits], reports: bool = True, assumed: bool = False) -> dict[Site, Bits]:
    """Search backward: return, for each site, the states from which a goal can be reached."""
    incoming = _group_by_site(model, assumed, lambda move: move.to)
    total = dict(goals)
    ahead = dict(goals)
    while ahead:
        site, bits = ahead.popitem()
        for move in incoming.get(site, ()):
            before = model.space.preimage(bits, move.operations) & model.space.mask(move.way.when, reports)
            if more := before & ~total.get(move.source, 0):
                total[move.source] = total.get(move.source, 0) | more
                ahead[move.source] = ahead.get(move.source, 0) | more
    return total


def _group_by_site(model: Model, assumed: bool, end: Callable[[Move], Site]) -> dict[Site, list[Move]]:
    found: dict[Site, list[Move]] = {}
    for move in model.moves:
        if assumed or not move.assumed:
            found.setdefault(end(move), []).append(move)
    return found
