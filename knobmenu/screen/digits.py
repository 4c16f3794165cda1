"""What a row of seven-segment digits shows: one thing at a time.

- Home: its row with the values filled in; or the value that turning changes; or the device's name.
- A list: the selected entry by its label, or by its short one where the label does not fit or cannot be spelled. A
  switch and a readout have nowhere else to show their value, so it stands at the right, if both fit. If not, a switch
  that is on lights the last point, and a readout shows its value alone. An entry that cannot be pressed lights the
  first point.
- An editor: the value at the right; the part that turning changes blinks. A text shows its end and what is picked,
  and ``dEL`` and ``End`` for deleting and being done.
- A question: the selected answer, blinking. The question itself is not shown, and the screen says so.
- A request to hold: its words, as far as they go.

A number keeps its unit where the widest value and the unit fit. A number that does not fit becomes hyphens. Words are
cut at their end, with no mark.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import attrs

from knobmenu.design.settings import Switch, TextSetting
from knobmenu.design.whole import Kind
from knobmenu.machine.state import Asking, Editing, Holding, State, value_of
from knobmenu.machine.walking import is_enabled
from knobmenu.screen.cells import Screen, Span
from knobmenu.screen.home import filled
from knobmenu.screen.lists import captions
from knobmenu.screen.question import asked
from knobmenu.screen.segments import MISSING, Spelled, spelled
from knobmenu.screen.values import ValueText, Words, draft_text, part_at_hand, value_text

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def digits_screen(design: Design, state: State, digits: int, words: Words) -> Screen:
    """Compose what a row of digits shows.

    Args:
        design: The device's design.
        state: The device.
        digits: How many there are. [cells]
        words: The language.
    """
    focus = state.focus
    if isinstance(focus, Editing):
        caution = design.index.settings[focus.setting].hazard
        screen = _editor(design, focus, digits, words)
        return attrs.evolve(screen, cut=(*screen.cut, words.get(caution, caution))) if caution else screen
    if isinstance(focus, Asking):
        question, _, caution = asked(design, focus.target, words)
        answer = design.wording.yes if focus.yes else design.wording.no
        screen = _worded(words.get(answer, answer), digits)
        return _with(screen, blinking=(0, len(screen.rows[0].rstrip())), cut=(question, caution))
    if isinstance(focus, Holding):
        question, _, caution = asked(design, focus.target, words)
        return _with(_worded(words.get(design.wording.hold, design.wording.hold), digits), cut=(question, caution))
    return _entry(design, state, digits, words) if state.path else _home(design, state, digits, words)


def _home(design: Design, state: State, digits: int, words: Words) -> Screen:
    home = design.home
    if home.rows:
        left, right = (filled(design, state, words, text) for text in (home.rows[0].left, home.rows[0].right))
        both = _beside(spelled(left.rstrip()), spelled(right.lstrip()), digits)
        if both is not None:
            return both
        whole = f"{left} {right}".strip()
        return _hyphens(whole, digits) if "{" in home.rows[0].left + home.rows[0].right else _worded(whole, digits)
    if home.turn:
        return _value(value_text(design, state, home.turn, words), digits, 0, 0)
    return _worded(words.get(design.name, design.name), digits)


def _entry(design: Design, state: State, digits: int, words: Words) -> Screen:
    place = state.path[-1]
    if place.entry < 0:
        return _worded(words.get(design.wording.empty, design.wording.empty), digits)
    label, short = captions(design, words, place.menu, place.entry)
    target = design.index.menus[place.menu].entries[place.entry].target
    whole = spelled(label)
    screen = _worded(short if short and (len(whole.text) > digits or whole.replaced) else label, digits)
    setting = design.index.settings.get(target)
    readout = design.index.kinds[target] is Kind.READOUT
    if readout or isinstance(setting, Switch):
        value = value_text(design, state, target, words)
        both = _named(label, short, value, digits)
        if both is not None:
            screen = both
        elif readout:
            screen = _value(value, digits, 0, 0)
        elif value_of(design, state, target):
            screen = _pointed(screen, digits - 1)
    return screen if is_enabled(design, state, place.menu, place.entry) else _pointed(screen, 0)


def _named(label: str, short: str, value: ValueText, digits: int) -> Screen | None:
    """Compose a label and a value beside each other; None where no form of both fits."""
    for name in (label, short) if short else (label,):
        for text in (value.full, value.short):
            both = _beside(spelled(name), spelled(text.strip()), digits) if text else None
            if both is not None:
                return both
    return None


def _beside(left: Spelled, right: Spelled, digits: int) -> Screen | None:
    """Compose two texts at the two ends, with an empty cell between them; None where they do not fit."""
    between = digits - len(left.text) - len(right.text)
    if between < (1 if left.text and right.text else 0):
        return None
    offset = digits - len(right.text)
    return Screen(
        rows=(f"{left.text}{' ' * between}{right.text}",),
        points=(*left.points, *(offset + point for point in right.points)),
        replaced=tuple(dict.fromkeys((*left.replaced, *right.replaced))),
    )


def _editor(design: Design, focus: Editing, digits: int, words: Words) -> Screen:
    setting = design.index.settings[focus.setting]
    if isinstance(setting, TextSetting):
        return _written(setting, str(focus.draft), focus.pick, digits)
    text = draft_text(design, focus.setting, focus.draft, words)
    return _value(text, digits, *part_at_hand(setting, text, focus.place))


def _written(setting: TextSetting, draft: str, pick: int, digits: int) -> Screen:
    """Compose the end of a text, and what is picked after it; the editor's own marks have the display to themselves."""
    if pick >= len(setting.characters):
        screen = _worded("dEL" if pick == len(setting.characters) else "End", digits)
        return _with(screen, blinking=(0, 3))
    # Spelled one by one, so that each has a cell: a point too, which would else share the one before it.
    each = [spelled(sign) for sign in (*draft, setting.characters[pick])]
    shown = each[-digits:]
    return Screen(
        rows=("".join((one.text or MISSING)[0] for one in shown).ljust(digits),),
        blinking=(Span(0, len(shown) - 1, len(shown)),),
        points=tuple(cell for cell, one in enumerate(shown) if one.points[:1] == (0,)),
        replaced=tuple(dict.fromkeys(sign for one in shown for sign in one.replaced)),
        cut=(draft,) if len(each) > digits else (),
    )


def _value(value: ValueText, digits: int, start: int, stop: int) -> Screen:
    """Compose a value at the right, its characters from `start` to `stop` blinking; words blink whole or not."""
    for text in (value.full, value.short):
        shown = spelled(text)
        if not text or len(shown.text) > digits or (text is value.full and shown.replaced and value.short):
            continue
        offset = digits - len(shown.text)
        if value.in_words and stop:
            start, stop = len(text) - len(text.lstrip()), len(text)
        first, last = (offset + len(spelled(text[:end]).text) for end in (start, min(stop, len(text))))
        return Screen(
            rows=(shown.text.rjust(digits),),
            blinking=(Span(0, first, last),) if first < last else (),
            points=tuple(offset + point for point in shown.points),
            replaced=shown.replaced,
        )
    if value.in_words:
        screen = _worded(value.short or value.full.strip(), digits)
        return _with(screen, blinking=(0, digits if stop else 0))
    return _with(_hyphens(value.full.strip(), digits), blinking=(0, digits if stop else 0))


def _worded(text: str, digits: int) -> Screen:
    """Compose words at the left, cut to the display."""
    shown = spelled(text)
    return Screen(
        rows=(shown.text[:digits].ljust(digits),),
        points=tuple(point for point in shown.points if point < digits),
        replaced=shown.replaced,
        cut=(text,) if len(shown.text) > digits else (),
    )


def _hyphens(text: str, digits: int) -> Screen:
    return Screen(rows=("-" * digits,), cut=(text,))


def _pointed(screen: Screen, cell: int) -> Screen:
    return attrs.evolve(screen, points=tuple(sorted({*screen.points, cell})))


def _with(screen: Screen, blinking: tuple[int, int] = (0, 0), cut: tuple[str, ...] = ()) -> Screen:
    """Mark cells of a screen as blinking, and add texts that it does not show; empty ones are left out."""
    return attrs.evolve(
        screen,
        blinking=(Span(0, *blinking),) if blinking[0] < blinking[1] else (),
        cut=tuple(dict.fromkeys((*screen.cut, *filter(None, cut)))),
    )
