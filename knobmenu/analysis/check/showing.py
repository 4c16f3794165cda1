"""Traces to screens: how to see what does not fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from knobmenu.analysis.abstraction import TooLargeError
from knobmenu.analysis.check.screens import Shot
from knobmenu.analysis.check.subject import Subject
from knobmenu.analysis.sites import ALWAYS, HOME, TURNS
from knobmenu.analysis.walks import Hand, LostError, meet_all
from knobmenu.machine.state import NumberDraft
from knobmenu.screen.cells import Screen
from knobmenu.screen.render import render

MOST_TRIES = 4
"""How many screens with the same fault are tried before a finding goes without a trace."""


def find_first_trace(subject: Subject, shown: Sequence[Shot], shows: Callable[[Screen], bool]) -> tuple[Shot, str]:
    """Find the first of some shots that a trace leads to; return it and the trace, or the first shot and no trace.

    Shots may show values that limits and conditions do not allow together, so each trace is tried.

    Args:
        subject: The design.
        shown: Screens with the same fault.
        shows: Returns whether a screen has the fault.
    """
    for shot in shown[:MOST_TRIES]:
        hand = _reach(subject, shot)
        if hand is not None and shows(render(subject.design, hand.state)):
            return shot, hand.write_trace()
    return shown[0], ""


def _reach(subject: Subject, shot: Shot) -> Hand | None:
    design, sites = subject.design, subject.sites
    spoken = (design.language,) if design.language and shot.language else ()
    where = sites.of_menu[shot.menu] if shot.menu else (HOME,)
    when = ALWAYS
    if shot.menu:
        when = (sites.build_pressed_condition if shot.target else sites.get_shown_condition)(shot.menu, shot.entry)
    try:
        free = subject.get_searches(subject.build_cone(where, (when,), spoken)).free
    except TooLargeError:
        return None
    bits = free.mask(when)
    if spoken:
        variable = subject.abstraction.get_variable(design.language)
        place = free.model.space.variables.index(variable)
        bits &= free.model.space.get_slice(place, variable.find_state({design.language: shot.language}))
    hand = subject.walk(free, lambda site: bits if site in where else 0)
    if hand is None:
        return None
    try:
        return _go_to_entry(hand, subject, shot) if shot.menu else _go_from_home(hand, subject, shot)
    except LostError:
        return None


def _go_from_home(hand: Hand, subject: Subject, shot: Shot) -> Hand | None:
    if not shot.target:
        return hand if shot.value is None else None
    hand.start(next(way for way in subject.sites.list_ways(HOME) if way.target == shot.target and way.by not in TURNS))
    return _dial(hand, shot)


def _go_to_entry(hand: Hand, subject: Subject, shot: Shot) -> Hand:
    sites = subject.sites
    target = subject.design.index.menus[shot.menu].entries[shot.entry].target
    if not shot.target:
        if shot.value is not None and target in subject.design.index.settings:
            meet_all(hand, [sites.build_pressed_condition(shot.menu, shot.entry)]).edit(
                shot.entry, shot.value, shot.value
            )
        elif shot.value is not None:
            meet_all(hand, [sites.get_shown_condition(shot.menu, shot.entry)]).hear(target, shot.value)
            hand.select(shot.entry)
        else:
            meet_all(hand, [sites.get_shown_condition(shot.menu, shot.entry)]).select(shot.entry)
        return hand
    meet_all(hand, [sites.build_pressed_condition(shot.menu, shot.entry)]).select(shot.entry)
    return _dial(hand.press(), shot)


def _dial(hand: Hand, shot: Shot) -> Hand:
    """Turn the open editor to the value of a shot."""
    if shot.value is not None:
        hand.confirm()
        if isinstance(hand.state.focus, NumberDraft):
            hand.dial(hand.state.focus, shot.value, shot.value)
    return hand
