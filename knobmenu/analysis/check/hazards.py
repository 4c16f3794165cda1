"""Find hazards that are too easily triggered by mistake."""

from __future__ import annotations

from collections.abc import Iterator

from knobmenu.analysis.abstraction import TooLargeError
from knobmenu.analysis.check.findings import Finding
from knobmenu.analysis.check.proofs import report_undecided
from knobmenu.analysis.check.subject import Subject
from knobmenu.analysis.sites import TURNS, Site, Way
from knobmenu.analysis.walks import Hand, LostError
from knobmenu.design.kinds import Setting
from knobmenu.design.menu import Action
from knobmenu.design.settings import Switch, TextSetting


def check_hazards(subject: Subject) -> Iterator[Finding]:
    """Check every hazardous setting and action."""
    design = subject.design
    for key, part in design.index.hazards.items():
        place = f"actions.{key}" if isinstance(part, Action) else f"settings.{key}"
        ways = [
            (site, way) for site in subject.sites.of_target.get(key, ()) for way in _walk_ways_to(subject, site, key)
        ]
        try:
            yield from _find_immediate(subject, place, part, ways)
        except TooLargeError as error:
            yield report_undecided(place, error)
        if not ways:
            continue
        edited = not isinstance(part, Action | Switch)
        if edited and part.on_idle == "commit" and design.idle.after_ms:  # type: ignore[union-attr]
            message = f'A draft of "{key}" that is left alone takes effect after {design.idle.after_ms} ms.'
            yield Finding("hazard-on-idle", place, message, 'Write on_idle = "revert".')
        if part.confirm != "none" and not design.idle.after_ms:
            message = f'The question before "{key}" waits for any length of time, since nothing idles.'
            yield Finding("hazard-stays-open", place, message, "Set idle.after_ms, so that it closes by itself.")


def _walk_ways_to(subject: Subject, site: Site, key: str) -> Iterator[Way]:
    return (way for way in subject.sites.list_ways(site) if way.target == key)


def _find_immediate(
    subject: Subject, place: str, part: Setting | Action, ways: list[tuple[Site, Way]]
) -> Iterator[Finding]:
    key = part.key
    turned = [(site, way) for site, way in ways if way.by in TURNS]
    if not isinstance(part, Action | Switch) and (part.applies == "live" or turned):
        hand = _find_nearest(subject, turned or ways, part)
        if hand is not None:
            message = f'Every detent changes "{key}" immediately.'
            advice = 'Write applies = "on-commit", and do not let turning at home change it.'
            yield Finding("hazard-live", place, message, advice, hand.write_trace())
    if part.confirm == "none" or turned:
        hand = _find_nearest(subject, turned if part.confirm != "none" else ways, part)
        if hand is not None:
            count = len(hand.gestures)
            does = "runs" if isinstance(part, Action) else "changes"
            message = f'"{key}" {does} within {count} gesture{"s" if count > 1 else ""}, and nothing asks first.'
            yield Finding("hazard-unconfirmed", place, message, 'Write confirm = "ask" or "hold".', hand.write_trace())


def _find_nearest(subject: Subject, ways: list[tuple[Site, Way]], part: Setting | Action) -> Hand | None:
    """Trigger the hazard with the fewest gestures; None if no way can be played."""
    hands = []
    for site, way in ways:
        free = subject.get_searches(subject.build_cone([site], (way.when,))).free
        hand = subject.walk_to_site(free, site, free.mask(way.when))
        if hand is not None:
            try:
                hands.append(_do(hand, way, part))
            except LostError:
                continue
    return min(hands, key=lambda hand: len(hand.gestures), default=None)


def _do(hand: Hand, way: Way, part: Setting | Action) -> Hand:
    if way.by in TURNS:
        hand.nudge(held=way.by == "held_turn")
        return hand
    hand.start(way)
    hand.confirm()
    if not isinstance(part, Action | Switch):
        if isinstance(part, TextSetting):
            hand.write()
        else:
            hand.nudge()
        if part.applies == "on-commit":
            hand.finish()
    return hand
