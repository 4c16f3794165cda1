"""The part of a design that a question depends on.

Whether a list can be reached depends on the conditions on the way there; those depend on the settings that they read;
those on their limit partners, on every place where any of them is edited, and on how to get to those places and away
again. The last is easily forgotten: if only a conditional entry leaves a list, the question depends on that condition.
Everything outside of this *cone* can be ignored, since a visit there changes nothing inside the cone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import attrs

from knobmenu.analysis.abstraction import find_tied
from knobmenu.analysis.sites import ALWAYS, HOME, Site, Sites, Way, walk_settings
from knobmenu.design.menu import BACK
from knobmenu.design.whole import Kind


@attrs.frozen
class Cone:
    """The settings and sites that an answer depends on."""

    keys: frozenset[str]
    sites: frozenset[Site]

    def __or__(self, other: Cone) -> Cone:
        return Cone(self.keys | other.keys, self.sites | other.sites)


Need = str | Site
"""A setting, or a site."""


@attrs.frozen(eq=False)
class Cones:
    """The cones of a design's questions; the needs of each part are computed once."""

    sites: Sites
    _needs: dict[Need, tuple[Need, ...]] = attrs.field(init=False, factory=dict, repr=False)
    _homeward: dict[str, bool] = attrs.field(init=False, factory=dict, repr=False)

    def build_cone(self, sites: Iterable[Site] = (), keys: Iterable[str] = ()) -> Cone:
        """Return the cone of a question about some sites and the values of some settings."""
        found: dict[Need, None] = dict.fromkeys((*sites, *keys, HOME))
        ahead = list(found)
        while ahead:
            need = ahead.pop()
            if need not in self._needs:
                more = self._walk_setting_needs(need) if isinstance(need, str) else self._walk_site_needs(need)
                self._needs[need] = tuple(dict.fromkeys(more))
            for other in self._needs[need]:
                if other not in found:
                    found[other] = None
                    ahead.append(other)
        return Cone(
            frozenset(need for need in found if isinstance(need, str)),
            frozenset(need for need in found if not isinstance(need, str)),
        )

    def _walk_setting_needs(self, key: str) -> Iterator[Need]:
        design = self.sites.design
        yield from find_tied(design, key)
        changers = [key, *(action.key for action in design.actions if key in action.resets)]
        for target in changers:
            for site in self.sites.of_target.get(target, ()):
                yield site
                yield from self._walk_settings_read(way for way in self.sites.list_ways(site) if way.target == target)

    def _walk_site_needs(self, site: Site) -> Iterator[Need]:
        if site == HOME:
            return
        yield site[:-1]
        yield from self._walk_settings_read(way for way in self.sites.list_ways(site[:-1]) if way.target == site[-1])
        ways = list(self.sites.list_ways(site))
        out = {to: [way for way in ways if way.to == to and self._leaves(way)] for to in (site[:-1], HOME)}
        if _is_sure(out[site[:-1]]):
            return  # repeated level by level, this leads home as well
        yield from self._walk_settings_read(out[site[:-1]])
        if not _is_sure(out[HOME]):
            yield from self._walk_settings_read(out[HOME])
            yield from ((*site, way.target) for way in ways if way.to == (*site, way.target) and self._goes_home(way))

    def _leaves(self, way: Way) -> bool:
        kind = self.sites.design.index.kinds[way.target]
        return way.target == BACK or kind is Kind.ACTION

    def _goes_home(self, way: Way) -> bool:
        """Return whether something inside a menu goes directly home, and so leaves the lists above it, too."""
        menu = way.target
        if menu not in self._homeward:
            index = self.sites.design.index
            targets = [entry.target for entry in index.menus[menu].entries]
            self._homeward[menu] = any(
                index.actions[target].then == "home"
                if target in index.actions
                else target in index.menus and self._goes_home(way._replace(target=target))
                for target in targets
            )
        return self._homeward[menu]

    def _walk_settings_read(self, ways: Iterable[Way]) -> Iterator[str]:
        for way in ways:
            yield from walk_settings(self.sites.design, way.when)


def _is_sure(ways: Iterable[Way]) -> bool:
    return any(way.when == ALWAYS for way in ways)
