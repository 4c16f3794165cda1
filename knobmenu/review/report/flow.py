"""The paths that people took with a task, counted and laid out on the map of the menu; `flow_plot` draws them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

import attrs

from knobmenu.design.labels import get_label
from knobmenu.design.menu import BACK
from knobmenu.design.whole import Design
from knobmenu.review.attempts import Attempt
from knobmenu.review.report.collection import Collection
from knobmenu.review.study import Trial
from knobmenu.review.walk import Node

HOME = ""
"""The key of home on the map."""

MOST_UNVISITED = 6
"""How many unvisited entries of a menu are on the map; the others are only counted."""


@attrs.frozen
class Place:
    """A place of the map: home, a menu, a setting or an action."""

    key: str
    label: str
    depth: int
    """The nesting level; 0 is home. [menus]"""
    row: float
    """The row, from the top."""
    people: int
    """The number of people who visited it."""
    on_way: bool
    """Whether the least way goes there."""
    ended: tuple[tuple[str, int], ...] = ()
    """For each outcome other than done, the number of attempts that ended there."""


@attrs.frozen
class Passage:
    """A transition from one place to another."""

    start: str
    end: str
    people: int
    """The number of people who took it; 0 if only the least way does."""
    on_way: bool
    """Whether the least way takes it."""
    forward: bool
    """Whether it leads deeper."""


@attrs.frozen
class Flow:
    """The paths of all people who tried a task with a variant."""

    tried: int
    places: tuple[Place, ...]
    passages: tuple[Passage, ...]
    rows: int

    @property
    def depth(self) -> int:
        """The deepest nesting level. [menus]"""
        return max(place.depth for place in self.places)


def find_flow(collection: Collection, trial: Trial) -> Flow:
    """Count where people went, and lay out the map."""
    design = collection.setup.designs[trial.variant]
    trail = collection.setup.trails[trial.variant, trial.task]
    attempts = [attempt for _, attempt in collection.list_attempts(trial.variant, trial.task)]
    way = _list_keys(trail.path) if trail is not None else ()
    paths = [_list_keys(attempt.path) for attempt in attempts]
    visitors = Counter(key for path in paths for key in set(path))
    passages = Counter(passage for path in paths for passage in set(pairwise(path)))
    tree = _build_tree(design, {*visitors, *way})
    depths, rows = _lay_out(tree)
    ended = _count_ends(attempts)
    on_way = set(pairwise(way))
    places = tuple(
        Place(
            key=key,
            label=_format_label(design, key),
            depth=depths[key],
            row=rows[key],
            people=visitors[key],
            on_way=key in way,
            ended=tuple(sorted(ended.get(key, Counter()).items())),
        )
        for key in depths
    )
    found = tuple(
        Passage(start, end, passages[start, end], (start, end) in on_way, depths[end] > depths[start])
        for start, end in sorted({*passages, *on_way})
    )
    return Flow(len(attempts), places, found, 1 + int(max(rows.values())))


def _list_keys(path: Sequence[Node]) -> tuple[str, ...]:
    """List the keys of a path; the question about a setting is at the place of the setting."""
    keys = [key for _, key in path]
    return tuple(key for place, key in enumerate(keys) if place == 0 or key != keys[place - 1])


def _count_ends(attempts: Iterable[Attempt]) -> Mapping[str, Counter[str]]:
    ended: dict[str, Counter[str]] = {}
    for attempt in attempts:
        if not attempt.succeeded:
            ended.setdefault(attempt.path[-1][1], Counter())[attempt.outcome] += 1
    return ended


def _build_tree(design: Design, visited: set[str]) -> Mapping[str, tuple[str, ...]]:
    """Return for each place on the map the places below it; each key is at its first place."""
    home = design.home
    targets = (home.turn, home.held_turn, home.press, home.long_press, home.double_press)
    known = {*design.index.menus, *design.index.settings, *design.index.actions}
    placed: set[str] = {HOME}
    tree: dict[str, tuple[str, ...]] = {}

    def place(key: str, below: Iterable[str]) -> None:
        children = [one for one in dict.fromkeys(below) if one in known and one not in placed]
        unvisited = [one for one in children if one not in visited]
        left_out = set(unvisited[MOST_UNVISITED:])
        kept = [one for one in children if one not in left_out]
        placed.update(kept)
        if left_out:
            kept.append(f"{_MORE}{len(left_out)} {key}")
        tree[key] = tuple(kept)
        for child in kept:
            if child in visited and child in design.index.menus:
                place(child, (entry.target for entry in design.index.menus[child].entries if entry.target != BACK))

    place(HOME, targets)
    # Places that are not reached by home or a menu are beside those of home.
    tree[HOME] = (*tree[HOME], *sorted((visited & known) - placed))
    return tree


_MORE = "+"
"""The prefix of the key of a row that represents several entries; keys of a design cannot begin with it."""


def _format_label(design: Design, key: str) -> str:
    if key == HOME:
        return "home"
    if key.startswith(_MORE):
        return f"{key[1:].partition(' ')[0]} more"
    return get_label(design, key)


def _lay_out(tree: Mapping[str, tuple[str, ...]]) -> tuple[dict[str, int], dict[str, float]]:
    """Compute the depth and the row of each place: a leaf has its own row, others the middle of those below."""
    depths: dict[str, int] = {}
    rows: dict[str, float] = {}
    free = iter(range(10_000))

    def walk(key: str, depth: int) -> Iterator[float]:
        depths[key] = depth
        below = [row for child in tree.get(key, ()) for row in walk(child, depth + 1)]
        rows[key] = (min(below) + max(below)) / 2 if below else float(next(free))
        yield rows[key]

    list(walk(HOME, 0))
    return depths, rows
