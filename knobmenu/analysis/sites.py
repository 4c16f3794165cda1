"""Sites: the lists that can be open, where their entries lead, and how they are left.

A *site* is the sequence of open menus, outermost first; an empty one is the home screen. The selected entry is not part
of it: turning reaches every entry that a list shows, so reachability does not depend on the selection. Conditions
determine which entries are shown and can be pressed; each *way* has its condition.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Literal, NamedTuple

import attrs

from knobmenu.analysis.abstraction import TooLargeError
from knobmenu.design.conditions import Resolved
from knobmenu.design.menu import BACK
from knobmenu.design.whole import Design, Kind

Site = tuple[str, ...]
"""The open menus, outermost first."""

HOME: Site = ()

MOST_SITES = 200_000
"""The greatest number of sites; menus that are listed in many places multiply."""

ALWAYS = Resolved("all")
NEVER = Resolved("any")

By = Literal["turn", "held_turn", "press", "long_press", "double_press", "entry", "empty", "idle", "power"]


TURNS = ("turn", "held_turn")
"""The gestures that change a setting at home without an editor."""


class Way(NamedTuple):
    """Something that a user can do at a site."""

    by: By
    """The gesture at home; in a list: a press of an entry, or a gesture or idle time that leaves the list."""
    target: str
    """Its target: the key of a menu, a setting or an action; or `back`."""
    entry: int
    """The entry's place in the list; -1 if no entry is pressed."""
    when: Resolved
    """The condition under which it can be done."""
    to: Site
    """The site afterwards, once it is confirmed and done."""


@attrs.frozen(eq=False)
class Sites:
    """All sites of a design, and the ways from each."""

    design: Design
    _ways: dict[Site, tuple[Way, ...]] = attrs.field(init=False, factory=dict, repr=False)

    @cached_property
    def all(self) -> tuple[Site, ...]:
        """Every site, the outer ones first, whether or not conditions allow it.

        Raises:
            TooLargeError: There are more than `MOST_SITES`.
        """
        menus = self.design.index.menus
        found: dict[Site, None] = {HOME: None}
        for site in walk_growing(found):
            targets = (
                (way.target for way in self.list_ways(site)) if site == HOME else _walk_targets(self.design, site[-1])
            )
            found.update({(*site, key): None for key in targets if key in menus})
            if len(found) > MOST_SITES:
                raise TooLargeError(len(found))
        return tuple(found)

    @cached_property
    def of_menu(self) -> Mapping[str, tuple[Site, ...]]:
        """For each menu, the sites at which its list is the innermost one."""
        found: dict[str, list[Site]] = {menu.key: [] for menu in self.design.menus}
        for site in self.all:
            if site:
                found[site[-1]].append(site)
        return {key: tuple(sites) for key, sites in found.items()}

    @cached_property
    def of_target(self) -> Mapping[str, tuple[Site, ...]]:
        """For each menu, setting and action, the sites that offer it."""
        found: dict[str, dict[Site, None]] = {}
        for site in self.all:
            targets = (
                (way.target for way in self.list_ways(site)) if site == HOME else _walk_targets(self.design, site[-1])
            )
            for target in targets:
                found.setdefault(target, {})[site] = None
        return {target: tuple(sites) for target, sites in found.items()}

    def list_ways(self, site: Site) -> tuple[Way, ...]:
        """List everything that can be done at a site."""
        if site not in self._ways:
            self._ways[site] = tuple(self._walk_home_ways() if site == HOME else self._walk_list_ways(site))
        return self._ways[site]

    def _walk_list_ways(self, site: Site) -> Iterator[Way]:
        menu = self.design.index.menus[site[-1]]
        for number, entry in enumerate(menu.entries):
            yield Way(
                "entry",
                entry.target,
                number,
                self.build_pressed_condition(menu.key, number),
                self._find_site_after(site, entry.target),
            )
        yield from self.walk_gestures_out(site)
        if (empty := self.build_empty_condition(menu.key)) != NEVER:
            yield Way("empty", BACK, -1, empty, site[:-1])

    def walk_gestures_out(self, site: Site) -> Iterator[Way]:
        """Walk the unconditional ways out of a list: gestures, and idle time."""
        design = self.design
        by_idling = ("home" if design.idle.to == "home" else "back") if design.idle.after_ms else "nothing"
        doubled = design.gestures.double_press if design.knob.double_press_ms else "nothing"
        for by, does in (("long_press", design.gestures.long_press), ("double_press", doubled), ("idle", by_idling)):
            if does != "nothing":
                yield Way(by, BACK, -1, ALWAYS, HOME if does == "home" else site[:-1])  # type: ignore[arg-type]

    def get_shown_condition(self, menu: str, entry: int) -> Resolved:
        """Return the condition under which an entry is shown."""
        return self.design.index.shown[menu][entry] or ALWAYS

    def build_pressed_condition(self, menu: str, entry: int) -> Resolved:
        """Build the condition under which an entry is shown and can be pressed."""
        rules = (self.design.index.shown[menu][entry], self.design.index.enabled[menu][entry])
        parts = tuple(rule for rule in rules if rule is not None)
        return parts[0] if len(parts) == 1 else Resolved("all", parts=parts)

    def build_empty_condition(self, menu: str) -> Resolved:
        """Build the condition under which a list is empty; `NEVER` if an entry has no condition."""
        rules = self.design.index.shown[menu]
        if any(rule is None for rule in rules):
            return NEVER
        return Resolved("all", parts=tuple(Resolved("not", parts=(rule,)) for rule in rules if rule is not None))

    def _walk_home_ways(self) -> Iterator[Way]:
        home, knob = self.design.home, self.design.knob
        gestures: tuple[tuple[By, str, bool], ...] = (
            ("turn", home.turn, True),
            ("held_turn", home.held_turn, knob.turns_while_held),
            ("press", home.press, True),
            ("long_press", home.long_press, True),
            ("double_press", home.double_press, bool(knob.double_press_ms)),
        )
        for by, target, there in gestures:
            if target and there:
                yield Way(by, target, -1, ALWAYS, self._find_site_after(HOME, target))

    def _find_site_after(self, site: Site, target: str) -> Site:
        """Find the site after pressing something, once it is confirmed and done."""
        kind = self.design.index.kinds[target]
        if kind is Kind.MENU:
            return (*site, target)
        if kind is Kind.BACK:
            return site[:-1]
        if kind is Kind.ACTION:
            then = self.design.index.actions[target].then
            return {"stay": site, "back": site[:-1], "home": HOME}[then]
        return site


def _walk_targets(design: Design, menu: str) -> Iterator[str]:
    return (entry.target for entry in design.index.menus[menu].entries)


def walk_growing(found: Mapping[Site, None]) -> Iterator[Site]:
    """Walk sites, including those that are added while walking."""
    done = 0
    while done < len(found):
        batch = list(found)[done:]
        done = len(found)
        yield from batch


def walk_settings(design: Design, condition: Resolved) -> Iterator[str]:
    """Walk the settings that a condition reads."""
    if condition.operator in ("all", "any", "not"):
        for part in condition.parts:
            yield from walk_settings(design, part)
    elif condition.position < len(design.settings):
        yield design.settings[condition.position].key
