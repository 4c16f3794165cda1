"""Proofs over all states of a design: which entries can be reached or lost, and which lists can be left."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import cached_property

from knobmenu.analysis.abstraction import TooLargeError
from knobmenu.analysis.check.findings import Finding
from knobmenu.analysis.check.subject import Searches, Subject
from knobmenu.analysis.cones import Cone
from knobmenu.analysis.reachability import Reached, find_edit_relation, search_back
from knobmenu.analysis.sites import ALWAYS, HOME, NEVER, Site, Way
from knobmenu.analysis.space import Bits, walk_positions
from knobmenu.analysis.walks import Hand, LostError, meet_all
from knobmenu.design.conditions import Resolved
from knobmenu.design.menu import BACK
from knobmenu.design.whole import Kind
from knobmenu.errors import one_of
from knobmenu.machine.changing import assign
from knobmenu.machine.walking import condition_holds


def _negate(condition: Resolved) -> Resolved:
    return Resolved("not", parts=(condition,))


def _join(*conditions: Resolved) -> Resolved:
    return Resolved("all", parts=conditions)


def report_undecided(place: str, error: TooLargeError) -> Finding:
    """Report that a question was not decided."""
    return Finding(
        "not-decided",
        place,
        f"Not decided: it depends on {error.states:,} states.",
        "Read fewer settings in one condition, or accept this finding.",
    )


# Entries.


def check_entries(subject: Subject) -> Iterator[Finding]:
    """Check every entry that has a condition: whether it can be seen, pressed, lost."""
    questions = [
        EntryQuestion(subject, menu.key, number)
        for menu in subject.design.menus
        if subject.sites.of_menu[menu.key]
        for number in range(len(menu.entries))
        if subject.sites.build_pressed_condition(menu.key, number) != ALWAYS
    ]
    for question in questions:  # plan all of them first, so that questions can share searches
        with suppress(TooLargeError):
            subject.plan([question.cone])
    for question in questions:
        try:
            yield from question.check()
        except TooLargeError as error:
            yield report_undecided(question.place, error)


class EntryQuestion:
    """One entry and the states in which its list is open."""

    def __init__(self, subject: Subject, menu: str, number: int) -> None:
        self.subject, self.menu, self.number = subject, menu, number
        entry = subject.design.index.menus[menu].entries[number]
        self.target = entry.target
        self.place = f"menus.{menu}.entries[{number}]"
        self.sites = subject.sites.of_menu[menu]
        self.shown = subject.sites.get_shown_condition(menu, number)
        self.pressed = subject.sites.build_pressed_condition(menu, number)

    @cached_property
    def cone(self) -> Cone:
        """What its answers depend on."""
        return self.subject.build_cone(self.sites, (self.pressed,))

    def check(self) -> Iterator[Finding]:
        """Walk its findings, up to the first one that makes the others pointless."""
        searches = self.subject.get_searches(self.cone)
        everything, free = searches.everything, searches.free
        if not _is_any_reached(everything, self.sites):
            return  # reported for the entry that leads to its list
        name = f'"{self.target}"'
        if not _is_any_reached(everything, self.sites, self.shown):
            hand = self._walk(free)
            yield self._make_finding("unreachable", f"No one can ever see {name} in this list.", _UNSHOWN, hand)
            return
        if not _is_any_reached(everything, self.sites, self.pressed) and self._can_be_pressed():
            hand = self._walk(free, self.shown, press=True)
            yield self._make_finding("never-enabled", f"{name} is shown but can never be pressed.", _UNSHOWN, hand)
            return
        if not _is_any_reached(free, self.sites, self.shown):
            message = f"{name} can be seen only after the device changed values by itself or was switched off and on."
            yield self._make_finding("after-device", message, "Make sure that this is meant.", None)
            return
        if not _is_any_reached(searches.frozen, self.sites, self.shown):
            yield self._make_after_report(searches, "seen", self.shown)
        elif self._can_be_pressed() and not _is_any_reached(searches.frozen, self.sites, self.pressed):
            yield self._make_after_report(searches, "pressed", self.pressed)
        yield from self._find_lost(searches)
        yield from self._find_always(everything)

    def _can_be_pressed(self) -> bool:
        return self.target == BACK or self.subject.design.index.kinds[self.target] is not Kind.READOUT

    def _make_finding(self, rule: str, message: str, advice: str, hand: Hand | None) -> Finding:
        return Finding(rule, self.place, message, advice, "" if hand is None else hand.write_trace())

    def _walk(self, reached: Reached, when: Resolved | None = None, press: bool = False) -> Hand | None:
        """Walk to the list; show the entry, and press it, if requested."""
        mask = reached.mask(ALWAYS if when is None else when)
        hand = self.subject.walk(reached, lambda site: mask if site in self.sites else 0)
        if hand is None or when is None:
            return hand
        try:
            meet_all(hand, [when]).select(self.number)
        except LostError:
            return None
        return hand.press() if press else hand

    def _make_after_report(self, searches: Searches, what: str, when: Resolved) -> Finding:
        hand = self._walk(searches.free, when)
        keys = list(dict.fromkeys(gesture.key for gesture in hand.gestures if gesture.key)) if hand else []
        which = f" of {one_of(keys)}" if len(keys) == 1 else f" of {', '.join(keys)}" if keys else ""
        message = f'"{self.target}" can be {what} only after a report{which}.'
        return self._make_finding("after-report", message, "Nothing needs to change if the device reports it.", hand)

    # Lost.

    def _find_lost(self, searches: Searches) -> Iterator[Finding]:
        free = searches.free
        if not _is_any_reached(free, self.sites, self.pressed):
            return
        goals = {site: free.mask(self.pressed) for site in self.sites}
        lost = 0 if searches.returns else _find_never_again(searches, goals, assumed=False)
        whole = dict.fromkeys(self.sites, searches.model.space.full)
        if not lost or not lost & ~_find_never_again(searches, whole, assumed=False):
            yield from self._find_hiding(free)
            return
        for_good = _find_never_again(searches, goals, assumed=True)
        rule, bits = ("lost-for-good", for_good) if for_good else ("lost-until-power-off", lost)
        hand = self.subject.walk_to_site(free, HOME, bits)
        how = "not even by switching off and on" if for_good else "until it is switched off and on"
        message = f'From here on "{self.target}" can no longer be reached, {how}.'
        yield self._make_finding(rule, message, _KEEP, hand)

    def _find_hiding(self, free: Reached) -> Iterator[Finding]:
        """Find whether editing the entry's own setting can hide the entry."""
        subject, space = self.subject, free.model.space
        settings = subject.design.index.settings
        if self.target not in settings:
            return
        keys = {subject.design.settings[at].key for at in walk_positions(self.shown) if at < len(settings)}
        variable = subject.abstraction.get_variable(self.target)
        if not keys & set(variable.keys):
            return
        place = space.variables.index(variable)
        way = Way("entry", self.target, self.number, self.pressed, ())
        relation = find_edit_relation(subject.abstraction, variable, way)
        hidden = free.model.space.full & ~free.mask(self.shown)
        for site in self.sites:
            if (
                space.image(free.get_states(site) & free.mask(self.pressed), ((place, relation),))
                & hidden
                & free.get_states(site)
            ):
                before = space.preimage(hidden & free.get_states(site), ((place, relation),)) & free.mask(self.pressed)
                hand = self.subject.walk_to_site(free, site, before)
                if hand is not None:
                    self._hide(free, hand, hidden & free.get_states(site), place)
                message = f'Some values of "{self.target}" hide its own entry here.'
                yield self._make_finding("hides-itself", message, "Read other settings in its condition.", hand)
                return

    def _hide(self, free: Reached, hand: Hand, hidden: Bits, place: int) -> None:
        """Set the setting to a value that hides its entry, including what that value pushes."""
        space, design = free.model.space, self.subject.design
        variable = space.variables[place]
        for state in range(len(variable.states)):
            if hidden & space.get_slice(place, state):
                item = variable.find_class(self.target, state)
                # The same value may be part of a hidden state that no edit leads to from here.
                edited = hand.state._replace(values=assign(design, hand.state.values, self.target, item.low))
                if condition_holds(design, edited, self.shown):
                    continue
                try:
                    hand.meet(self.pressed)  # a report may have to enable the entry
                    hand.edit(self.number, item.low, item.high)
                except LostError:
                    continue
                return

    # Conditions.

    def _find_always(self, everything: Reached) -> Iterator[Finding]:
        index = self.subject.design.index
        for field, rule, there in (
            ("shown_if", index.shown[self.menu][self.number], ALWAYS),
            ("enabled_if", index.enabled[self.menu][self.number], self.shown),
        ):
            if rule is not None and not _is_any_reached(everything, self.sites, _join(there, _negate(rule))):
                message = f'The condition of "{self.target}" always holds where its list is open.'
                yield Finding("condition-always", f"{self.place}.{field}", message, "Leave it out, or correct it.")


_UNSHOWN = "Change its condition, or make what the condition reads reachable; else remove the entry."
_KEEP = "Leave a way back: another entry for what its condition reads, or a condition that cannot shut itself out."


def _is_any_reached(reached: Reached, sites: Iterable[Site], when: Resolved = ALWAYS) -> bool:
    mask = reached.mask(when)
    return any(reached.get_states(site) & mask for site in sites)


def _find_never_again(searches: Searches, goals: dict[Site, Bits], assumed: bool) -> Bits:
    """Find the reached states at home from which no goal can be reached any more."""
    back = search_back(searches.model, goals, assumed=assumed)
    return searches.free.get_states(HOME) & ~back.get(HOME, 0)


# Lists.


def check_lists(subject: Subject) -> Iterator[Finding]:
    """Check every list: whether it can be empty, and whether it can always be left."""
    for menu in subject.design.menus:
        place = f"menus.{menu.key}"
        try:
            yield from _find_empty(subject, menu.key, place)
            yield from _find_traps(subject, menu.key, place)
        except TooLargeError as error:
            yield report_undecided(place, error)


def _find_empty(subject: Subject, menu: str, place: str) -> Iterator[Finding]:
    empty = subject.sites.build_empty_condition(menu)
    if empty == NEVER or not subject.sites.of_menu[menu]:
        return
    sites = subject.sites.of_menu[menu]
    free = subject.get_searches(subject.build_cone(sites, (empty,))).free
    if _is_any_reached(free, sites, empty):
        hand = subject.walk(free, lambda site: free.mask(empty) if site in sites else 0)
        message = f'The list "{menu}" can be empty.'
        advice = "Give it an entry without a condition, such as back, or hide the entry that opens it."
        yield Finding(
            "empty-list", place, message, advice, "" if hand is None else meet_all(hand, [empty]).write_trace()
        )


def _find_traps(subject: Subject, menu: str, place: str) -> Iterator[Finding]:
    for site in subject.sites.of_menu[menu]:
        if any(way.when == ALWAYS and len(way.to) < len(site) for way in subject.sites.walk_gestures_out(site)):
            return
        searches = subject.get_searches(subject.build_cone([site]))
        back = search_back(searches.model, {HOME: searches.model.space.full})
        if stuck := searches.free.get_states(site) & ~back.get(site, 0):
            hand = subject.walk_to_site(searches.free, site, stuck)
            message = f'Nothing leads out of the list "{menu}".'
            advice = "Add a back entry without a condition, let a long press leave lists, or set idle.after_ms."
            yield Finding("trapped", place, message, advice, "" if hand is None else hand.write_trace())
            return


# Parts and lamps.


def check_parts(subject: Subject) -> Iterator[Finding]:
    """Find settings, menus and actions that nothing leads to."""
    design, offered = subject.design, subject.sites.of_target
    orphans = {menu.key for menu in design.menus if menu.key not in offered}
    inside = {entry.target for menu in design.menus if menu.key in orphans for entry in menu.entries}
    for kind, parts in (("settings", design.settings), ("menus", design.menus), ("actions", design.actions)):
        for part in parts:
            if part.key not in offered and part.key not in inside:
                yield Finding(
                    "no-way",
                    f"{kind}.{part.key}",
                    f'No entry and no gesture at home leads to "{part.key}".',
                    "List it in a menu, or remove it.",
                )


def check_lamps(subject: Subject) -> Iterator[Finding]:
    """Find lamps that are never lit or always lit by their condition."""
    for key, condition in subject.design.index.lit.items():
        if condition is None:
            continue
        place = f"lamps.{key}.lit_if"
        try:
            everything = subject.get_searches(subject.build_cone(conditions=(condition,))).everything
        except TooLargeError as error:
            yield report_undecided(place, error)
            continue
        values = everything.get_all_states()
        if not values & everything.mask(condition):
            yield Finding("lamp-never", place, f'The condition of the lamp "{key}" never holds.', "Change it.")
        elif not values & everything.mask(_negate(condition)):
            yield Finding("lamp-always", place, f'The condition of the lamp "{key}" always holds.', "Change it.")
