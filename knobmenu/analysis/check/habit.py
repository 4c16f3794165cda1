"""Find violations of what people expect of a knob, from published guidance and common practice."""

from __future__ import annotations

import re
from collections.abc import Iterator

from knobmenu.analysis.check.findings import Finding
from knobmenu.analysis.check.subject import Subject
from knobmenu.analysis.sites import HOME
from knobmenu.design.domains import get_domain
from knobmenu.design.kinds import Limited
from knobmenu.design.settings import Choice
from knobmenu.design.whole import Design
from knobmenu.machine.actions import COARSE

SHORTEST_IDLE_MS = 20_000
"""The least time to react to a time limit by WCAG 2.2, success criterion 2.2.1 (from memory). [ms]"""

LONGEST_DOUBLE_PRESS_MS = 300
"""The longest double-tap time among published platform constants (Android ViewConfiguration). [ms]"""

MOST_TURNS = 5
"""Turns of the knob to the farthest value of a setting; common practice. [revolutions]"""


def check_habits(subject: Subject) -> Iterator[Finding]:
    """Find usability faults."""
    design = subject.design
    idle_ms = design.idle.after_ms
    if 0 < idle_ms < SHORTEST_IDLE_MS:
        message = f"The device idles after {idle_ms} ms; published guidance is {SHORTEST_IDLE_MS} ms or more."
        advice = f"Write after_ms = {SHORTEST_IDLE_MS} or more, or 0 for never."
        yield Finding("short-timeout", "idle.after_ms", message, advice)
    if design.knob.clockwise == "down":
        message = "Turning clockwise goes down; IEC 60447 and MIL-STD-1472 have it go up."
        yield Finding("direction", "knob.clockwise", message, 'Write clockwise = "up", unless the knob is a valve.')
    yield from _check_double_press(design)
    yield from _find_unannounced(subject)
    yield from _find_many_detents(subject)
    for action in design.actions:
        if action.resets and action.confirm == "none" and action.key in subject.sites.of_target:
            what = f"{len(action.resets)} setting" + ("s" if len(action.resets) > 1 else "")
            message = f'"{action.key}" resets {what} without asking.'
            yield Finding("unconfirmed-reset", f"actions.{action.key}", message, 'Write confirm = "ask" or "hold".')


def _check_double_press(design: Design) -> Iterator[Finding]:
    waits_ms = design.knob.double_press_ms
    if not waits_ms:
        return
    if not design.home.double_press and design.gestures.double_press == "nothing":
        message = f"Every press is reported {waits_ms} ms late, and no double press does anything."
        yield Finding("double-press-delay", "knob.double_press_ms", message, "Write double_press_ms = 0.")
    elif waits_ms > LONGEST_DOUBLE_PRESS_MS:
        message = f"Every press is reported {waits_ms} ms late; {LONGEST_DOUBLE_PRESS_MS} ms is the usual limit."
        advice = f"Write double_press_ms = {LONGEST_DOUBLE_PRESS_MS} or less."
        yield Finding("double-press-delay", "knob.double_press_ms", message, advice)


_HIDDEN_GESTURES = {"long_press": "a long press", "double_press": "a double press", "held_turn": "a held turn"}


def _find_unannounced(subject: Subject) -> Iterator[Finding]:
    """Find targets that only an invisible gesture at home leads to, unless the home screen names them."""
    design = subject.design
    shown = " ".join(f"{row.left} {row.right} {{{row.bar}}}" for row in design.home.rows)
    for field, words in _HIDDEN_GESTURES.items():
        key = design.home.targets[field]
        if not key or subject.sites.of_target.get(key) != (HOME,):
            continue
        if key in (design.home.press, design.home.turn):
            continue
        index = design.index
        part = index.settings.get(key) or index.menus.get(key) or index.actions[key]
        names = (part.label, part.short) if part.short else (part.label,)
        if f"{{{key}}}" in shown or any(re.search(rf"\b{re.escape(name)}\b", shown) for name in names):
            continue
        message = f'Only {words} at home leads to "{key}", and the home screen does not name it.'
        advice = "List it in a menu as well, name it on the home screen, or print it beside the knob."
        yield Finding("unannounced", f"home.{field}", message, advice)


def _find_many_detents(subject: Subject) -> Iterator[Finding]:
    design = subject.design
    most = MOST_TURNS * design.knob.detents_per_turn
    fastest = max((rule.times for rule in design.knob.acceleration), default=1)
    for setting in design.settings:
        if not isinstance(setting, Limited | Choice) or setting.key not in subject.sites.of_target:
            continue
        steps = len(get_domain(design, setting.key)) - 1
        steps = (steps + 1) // 2 if setting.ends == "wrap" else steps
        worth = 1
        if isinstance(setting, Limited):
            worth = max(fastest if setting.accelerates else 1, COARSE if design.knob.turns_while_held else 1)
        if (detents := -(-steps // worth)) > most:
            message = f'The farthest value of "{setting.key}" is {detents} detents away, {MOST_TURNS} turns are {most}.'
            advice = "Let it accelerate, take larger steps, or make it a setting of digits."
            yield Finding("many-detents", f"settings.{setting.key}", message, advice)
