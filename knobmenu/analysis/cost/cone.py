"""What a question about the way to something can depend on.

The values of a device are far too many to search through. Only few of them bear on one question: those that conditions
read on the way, those that bind them by a limit, and the same again for the ways to change these. The rest can be left
as they are: no condition on the way reads them, so that changing them makes no way shorter.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

import attrs

from knobmenu.design.conditions import walk_comparisons
from knobmenu.design.domains import find_all_thresholds
from knobmenu.design.menu import BACK
from knobmenu.design.whole import Kind

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


@attrs.frozen
class Cone:
    """Settings and readouts that a question depends on, and the menus in which they and the goal are found."""

    settings: frozenset[str]
    readouts: frozenset[str]
    menus: frozenset[str]
    """Menus that can be on a way; others need not be opened."""


@attrs.frozen(slots=False)
class Reading:
    """Which conditions of a design read what; worked out once for all questions."""

    design: Design

    @cached_property
    def places(self) -> Mapping[str, tuple[tuple[str, int], ...]]:
        """For each target, the menus and positions at which it is listed."""
        found: dict[str, list[tuple[str, int]]] = {}
        for menu in self.design.menus:
            for position, entry in enumerate(menu.entries):
                found.setdefault(entry.target, []).append((menu.key, position))
        return {target: tuple(places) for target, places in found.items()}

    @cached_property
    def backs(self) -> Mapping[str, tuple[int, ...]]:
        """For each menu, the positions of its back entries."""
        return {
            menu.key: tuple(place for place, entry in enumerate(menu.entries) if entry.target == BACK)
            for menu in self.design.menus
        }

    @cached_property
    def shown(self) -> Mapping[str, frozenset[str]]:
        """For each menu, the keys that decide which of its entries are shown."""
        return {
            menu.key: frozenset(
                comparison.key
                for entry in menu.entries
                if entry.shown_if is not None
                for _, comparison in walk_comparisons(entry.shown_if)
            )
            for menu in self.design.menus
        }

    @cached_property
    def thresholds(self) -> Mapping[str, tuple[int, ...]]:
        """For each key that a condition reads, where its values begin to be judged differently."""
        return find_all_thresholds(self.design)

    def find_enabling(self, menu: str, position: int) -> frozenset[str]:
        """Return the keys that decide whether an entry can be pressed."""
        condition = self.design.index.menus[menu].entries[position].enabled_if
        return frozenset() if condition is None else frozenset(item.key for _, item in walk_comparisons(condition))

    def walk_bound(self, key: str) -> Iterator[str]:
        """Walk the settings that a limit ties to one, directly."""
        limits = self.design.index.limits.get(key)
        if limits is not None:
            for other in (limits.low_from, limits.high_from, *limits.pushed_down, *limits.pushed_up):
                if other:
                    yield other

    def build_cone(self, targets: Iterable[str], keys: Iterable[str] = ()) -> Cone:
        """Find what the ways to some targets depend on.

        Args:
            targets: Menus, settings, actions or readouts to be reached.
            keys: Settings and readouts whose values matter besides.
        """
        menus: set[str] = set()
        found: set[str] = set()
        waiting = [*targets]
        reached: set[str] = set()

        def read(more: Iterable[str]) -> None:
            for key in more:
                if key not in found:
                    found.add(key)
                    waiting.append(key)
                    read(self.walk_bound(key))

        read(keys)
        while waiting:
            target = waiting.pop()
            if target in reached:
                continue
            reached.add(target)
            for menu, position in self.places.get(target, ()):
                read(self.find_enabling(menu, position))
                if menu not in menus:
                    menus.add(menu)
                    waiting.append(menu)
                    read(self.shown[menu])
                    for other in self.backs[menu]:
                        read(self.find_enabling(menu, other))
            if target in self.design.index.menus:
                menus.add(target)
                read(self.shown[target])
        settings = self.design.index.settings
        return Cone(
            frozenset(key for key in found if key in settings),
            frozenset(key for key in found if key not in settings),
            frozenset(menus),
        )


def leads_anywhere(design: Design, target: str, cone: Cone, goals: frozenset[str]) -> bool:
    """Return whether pressing an entry with this target can be part of a way."""
    kind = design.index.kinds[target]
    match kind:
        case Kind.MENU:
            return target in cone.menus
        case Kind.SETTING:
            return target in cone.settings or target in goals
        case Kind.BACK:
            return True
        case Kind.ACTION | Kind.READOUT:
            return target in goals
