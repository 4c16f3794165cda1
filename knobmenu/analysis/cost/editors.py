"""The least that a hand does in an open editor to keep a certain value.

Each kind of value has a rule of its own, so that a number of a billion values costs no more than one of ten. What an
editor does is written in `knobmenu.machine`; the tests hold every rule to a search over `advance`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from heapq import heappop, heappush
from typing import TYPE_CHECKING, assert_never

import attrs

from knobmenu.analysis.cost.gestures import HOLD, PRESS, WAIT, Gesture, Way
from knobmenu.analysis.cost.track import Track, find_least_turning
from knobmenu.analysis.cost.weights import Weights
from knobmenu.design.kinds import count_parts
from knobmenu.design.limits import count_steps, find_step_at_most
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.machine.actions import COARSE
from knobmenu.machine.changing import find_bounds, get_delete_pick, get_done_pick, turn_digit
from knobmenu.machine.state import Editing, NumberDraft, State, TextDraft
from knobmenu.machine.values import Value, Values

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def list_exits(design: Design, key: str, waits: bool = False) -> tuple[Gesture, ...]:
    """Return the gestures that keep a draft of a setting; the press only from its last place."""
    setting = design.index.settings[key]
    found = [PRESS]
    if setting.on_long_press == "commit":
        found.append(HOLD)
    if waits and design.idle.after_ms and setting.on_idle == "commit":
        found.append(WAIT)
    return tuple(found)


def find_least_commit(
    design: Design, state: State, focus: Editing, value: Value, weights: Weights, held: bool = True
) -> Way | None:
    """Find the least way from an open editor to the moment at which its setting is kept at a value.

    Args:
        design: The device's design.
        state: A state with an open editor.
        focus: Its draft.
        value: The value to keep.
        weights: What gestures weigh.
        held: Whether to turn the knob while it is held, too, where the design allows it.

    Returns:
        The way, or None where this editor cannot reach the value now.
    """
    ways = [
        way
        for leave in list_exits(design, focus.setting)
        for way in walk_commit_ways(design, state, focus, value, leave, weights, held)
    ]
    return min(ways, key=weights.weigh_way, default=None)


def walk_commit_ways(
    design: Design, state: State, focus: Editing, value: Value, leave: Gesture, weights: Weights, held: bool = True
) -> Iterator[Way]:
    """Give ways from an open editor that keep a value with a certain last gesture, the least among them."""
    held = held and design.knob.turns_while_held
    match focus:
        case NumberDraft():
            if isinstance(value, int):
                yield from _walk_number_ways(design, state, focus, value, leave, weights, held)
        case TextDraft():
            setting = design.index.texts[focus.setting]
            if isinstance(value, str) and len(value) <= setting.longest and not set(value) - set(setting.characters):
                yield _find_text_way(setting, focus, value, leave, weights, held)
        case _:
            assert_never(focus)


def _walk_number_ways(
    design: Design, state: State, focus: NumberDraft, value: int, leave: Gesture, weights: Weights, held: bool
) -> Iterator[Way]:
    setting = design.index.numeric[focus.setting]
    match setting:
        case Number() | Scale() | Choice():
            found = make_value_track(design, state.values, setting, held)
            start, end = (find_place_on_track(design, state.values, setting, at) for at in (focus.draft, value))
            if end is not None:
                assert start is not None
                yield (*find_least_turning(found, start, end, weights), leave)
        case Clock():
            yield from _walk_clock_ways(setting, focus, value, leave, weights, held)
        case Digits():
            yield from _walk_digit_ways(setting, focus, value, leave, weights, held)
        case Switch():
            return
        case _:
            assert_never(setting)


# Numbers, scales and choices.


Turned = Number | Scale | Choice | Digits
"""The kinds whose values lie in a line that turning walks: in their editors, or at home, as for digits."""


def make_value_track(design: Design, values: Values, setting: Turned, held: bool) -> Track:
    """Return the track of the values that a setting may have now; for digits, that of turning them at home."""
    match setting:
        case Choice():
            # A held detent goes to the next option as a plain one does.
            return Track(len(setting.options), setting.ends == "wrap")
        case Digits():
            # At home every detent, held or not, is one unit of the last place.
            return Track(setting.high - setting.low + 1)
        case Number() | Scale():
            low, high = find_bounds(design, values, setting.key)
            return Track(count_steps(setting, low, high) + 1, setting.ends == "wrap", COARSE if held else 0)
        case _:
            assert_never(setting)


def find_place_on_track(design: Design, values: Values, setting: Turned, value: int) -> int | None:
    """Return the place of a value on `make_value_track`, or None where the setting cannot have it now."""
    match setting:
        case Choice():
            return value if 0 <= value < len(setting.options) else None
        case Digits():
            return value - setting.low if setting.low <= value <= setting.high else None
        case Number() | Scale():
            low, high = find_bounds(design, values, setting.key)
            if not low <= value <= high or find_step_at_most(setting, value) != value:
                return None
            return count_steps(setting, low, value)
        case _:
            assert_never(setting)


# Values with parts.


def _make_moves(places_on: int, weights: Weights, held: bool) -> Way:
    """Move a number of parts on or back; only held turns go back."""
    if not places_on:
        return ()
    if held and (places_on < 0 or weights.held < weights.press):
        return (Gesture("held", places_on),)
    return (PRESS,) * places_on


def _walk_first_parts(focus: NumberDraft, held: bool) -> Iterator[int]:
    """Return the parts that an editing may begin with; only held turns go back."""
    yield from range(focus.place, -1, -1) if held else (focus.place,)


def _walk_clock_ways(
    setting: Clock, focus: NumberDraft, value: int, leave: Gesture, weights: Weights, held: bool
) -> Iterator[Way]:
    if not 0 <= value <= setting.highest:
        return
    before, after = _split_fields(setting, focus.draft), _split_fields(setting, value)
    changed = [place for place, size in enumerate(setting.sizes) if before[place] != after[place]]
    for first in _walk_first_parts(focus, held):
        if changed and changed[0] < first:
            continue
        way: Way = _make_moves(first - focus.place, weights, held)
        at = first
        for place in changed:
            way += _make_moves(place - at, weights, held)
            way += find_least_turning(Track(setting.sizes[place], wraps=True), before[place], after[place], weights)
            at = place
        if leave is PRESS:
            way += _make_moves(count_parts(setting) - 1 - at, weights, held)
        yield (*way, leave)


def _split_fields(setting: Clock, value: int) -> list[int]:
    fields = []
    for size in reversed(setting.sizes):
        value, field = divmod(value, size)
        fields.append(field)
    return fields[::-1]


def _walk_digit_ways(
    setting: Digits, focus: NumberDraft, value: int, leave: Gesture, weights: Weights, held: bool
) -> Iterator[Way]:
    if not setting.low <= value <= setting.high:
        return
    forwards = list(_walk_forward_digits(setting, focus, value, leave))
    if not held:
        yield from forwards
        return
    # Near a limit it can pay to turn a later digit before an earlier one, which held turns allow.
    least = _DigitBound(setting, value, leave, weights).estimate(focus.place, focus.draft)
    best = min(forwards, key=weights.weigh_way, default=None)
    if best is not None and weights.weigh_way(best) <= least + weights.weigh(leave):
        yield best
    else:
        yield _search_digits(setting, focus, value, leave, weights)


def _walk_forward_digits(setting: Digits, focus: NumberDraft, value: int, leave: Gesture) -> Iterator[Way]:
    """Turn each digit in its order.

    At each digit the two numbers nearest to the value and the two limits are tried. Any other number would leave at
    least one whole detent of this digit to the digits after it, each of which needs ten detents for it.
    """
    last = count_parts(setting) - 1
    found: dict[int, tuple[int, Way]] = {focus.draft: (0, ())}
    for place in range(focus.place, last + 1):
        if place > focus.place:
            found = {number: (detents, (*way, PRESS)) for number, (detents, way) in found.items()}
        found = _turn_digit_near(setting, found, value, 10 ** (last - place))
        if value in found and (leave is not PRESS or place == last):
            yield (*found[value][1], leave)


def _turn_digit_near(
    setting: Digits, found: dict[int, tuple[int, Way]], value: int, weight: int
) -> dict[int, tuple[int, Way]]:
    best: dict[int, tuple[int, Way]] = {}

    def offer(number: int, turned: int, way: Way, *runs: int) -> None:
        detents = turned + sum(map(abs, runs))
        if number not in best or detents < best[number][0]:
            best[number] = (detents, (*way, *(Gesture("turn", run) for run in runs if run)))

    for number, (turned, way) in found.items():
        starts = [(number, 0)]
        for limit in (setting.low, setting.high):
            if limit != number:
                detents = -(-abs(limit - number) // weight) * (1 if limit > number else -1)
                starts.append((limit, detents))
                offer(limit, turned, way, detents)
        for start, before in starts:
            fewest = (value - start) // weight
            for detents in (fewest, fewest + 1):
                if setting.low <= start + detents * weight <= setting.high:
                    offer(start + detents * weight, turned, way, before, detents)
    return best


@attrs.frozen
class _DigitBound:
    """What turning to a value takes at least, whatever the order of the digits."""

    setting: Digits
    value: int
    leave: Gesture
    weights: Weights

    def estimate(self, place: int, number: int) -> int:
        """Weigh what is left at least: the detents without limits, or those to a limit and on from there."""
        last, value = count_parts(self.setting) - 1, self.value
        detents = _count_signed_digits(abs(value - number), last)
        for limit in (self.setting.low, self.setting.high):
            to_limit = -(-abs(limit - number) // 10**last)
            if to_limit < detents:
                detents = min(detents, to_limit + _count_signed_digits(abs(value - limit), last))
        move = min(self.weights.press, self.weights.held)
        return detents * self.weights.turn + ((last - place) * move if self.leave is PRESS else 0)


def _search_digits(setting: Digits, focus: NumberDraft, value: int, leave: Gesture, weights: Weights) -> Way:
    """Search over digit and number, guided by what is left at least."""
    last = count_parts(setting) - 1
    bound = _DigitBound(setting, value, leave, weights)
    start = (focus.place, focus.draft)
    best = {start: 0}
    before: dict[tuple[int, int], tuple[tuple[int, int], Gesture]] = {}
    heap = [(bound.estimate(*start), start)]
    while heap:
        estimate, node = heappop(heap)
        place, number = node
        if number == value and (leave is not PRESS or place == last):
            break
        if estimate > best[node] + bound.estimate(*node):
            continue
        for gesture, following in _walk_digit_moves(setting, place, number, last):
            weighed = best[node] + weights.weigh(gesture)
            if following not in best or weighed < best[following]:
                best[following], before[following] = weighed, (node, gesture)
                heappush(heap, (weighed + bound.estimate(*following), following))
    way = [leave]
    while node != start:
        node, gesture = before[node]
        way.append(gesture)
    return _join(reversed(way))


def _walk_digit_moves(setting: Digits, place: int, number: int, last: int) -> Iterator[tuple[Gesture, tuple[int, int]]]:
    for detents in (1, -1):
        turned, _ = turn_digit(setting, number, place, detents)
        yield Gesture("turn", detents), (place, turned)
        if 0 <= place + detents <= last:
            yield Gesture("held", detents), (place + detents, number)
    if place < last:
        yield PRESS, (place + 1, number)


@lru_cache(maxsize=65_536)
def _count_signed_digits(distance: int, last: int) -> int:
    """Count the detents that a distance needs over all digits, each turned up or down, without limits."""
    if not last:
        return distance
    above, digit = divmod(distance, 10)
    return min(digit + _count_signed_digits(above, last - 1), 10 - digit + _count_signed_digits(above + 1, last - 1))


def _join(way: Iterable[Gesture]) -> Way:
    """Join equal turns that follow each other into runs."""
    joined: list[Gesture] = []
    for gesture in way:
        if joined and gesture.detents and joined[-1].kind == gesture.kind and joined[-1].amount * gesture.amount > 0:
            gesture = Gesture(gesture.kind, joined.pop().amount + gesture.amount)
        joined.append(gesture)
    return tuple(joined)


# Texts.


def make_pick_track(setting: TextSetting, held: bool) -> Track:
    """Return the ring of characters, delete and done."""
    return Track(len(setting.characters) + 2, True, COARSE if held else 0)


def _find_text_way(
    setting: TextSetting, focus: TextDraft, value: str, leave: Gesture, weights: Weights, held: bool
) -> Way:
    draft, pick = focus.draft, focus.pick
    ring = make_pick_track(setting, held)
    kept = 0
    while kept < min(len(draft), len(value)) and draft[kept] == value[kept]:
        kept += 1
    way: Way = ()
    if len(draft) > kept:
        way += find_least_turning(ring, pick, get_delete_pick(setting), weights) + (PRESS,) * (len(draft) - kept)
        pick = get_delete_pick(setting)
    for character in value[kept:]:
        place = setting.characters.index(character)
        way += (*find_least_turning(ring, pick, place, weights), PRESS)
        pick = place if setting.after_each == "stay" else 0
    if len(value) > kept and len(value) == setting.longest:
        return way  # the press that fills a text keeps it
    if leave is PRESS:
        way += find_least_turning(ring, pick, get_done_pick(setting), weights)
    return (*way, leave)
