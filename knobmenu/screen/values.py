"""Values as text: what stands on the display for a whole number.

A number has a field as wide as the widest value of its setting, and stands at the right of it: so digits and units
keep their places while the knob turns. A unit follows after a blank, and without one where it is a degree, minute or
second of arc (Bureau international des poids et mesures, "The International System of Units", 9th edition, 5.4.3).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from knobmenu.design.menu import Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Setting, Switch, TextSetting
from knobmenu.machine.state import State, value_of
from knobmenu.machine.values import Value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

Words = Mapping[str, str]
"""The translations into one language: `design.index.words` of that language."""


class ValueText(NamedTuple):
    """A value as text, in two lengths."""

    full: str
    """The whole, with its unit."""
    short: str
    """What will do where there is no room: a number without its unit, an option's short label; may be empty."""
    in_words: bool
    """Whether it may be cut; a number that is cut is another number."""


_LIMITED = (Number, Scale)

NO_VALUE = ValueText("", "", True)


def value_text(design: Design, state: State, key: str, words: Words) -> ValueText:
    """Give the present value of a setting or readout as text."""
    return text_of(design, key, value_of(design, state, key), words)


def text_of(design: Design, key: str, value: Value, words: Words) -> ValueText:
    """Give a value of a setting or readout as text, such as a draft or a limit.

    Args:
        design: The device's design.
        key: Whose value; a setting or a readout.
        value: The value.
        words: The language.
    """
    index = design.index
    setting = index.settings.get(key)
    if setting is None:
        return _readout_text(index.readouts[key], value, words)
    if isinstance(setting, TextSetting):
        return ValueText(str(value), "", True)
    assert isinstance(value, int)
    if isinstance(setting, _LIMITED):
        limits = index.limits[key]
        names, unit = setting.names, setting.unit
        if words:
            names, unit = tuple([(named, words.get(text, text)) for named, text in names]), words.get(unit, unit)
        return _numeric(value, limits.low, limits.high, setting.decimals, unit, names)
    if isinstance(setting, Choice):
        option = setting.options[value]
        return ValueText(words.get(option.label, option.label), words.get(option.short, option.short), True)
    if isinstance(setting, Switch):
        return _switch(
            value, words.get(setting.on_label, setting.on_label), words.get(setting.off_label, setting.off_label)
        )
    if isinstance(setting, Clock):
        time = clock_text(setting, value)
        return ValueText(time, time, False)
    return _numeric(value, 0, setting.high, setting.decimals, words.get(setting.unit, setting.unit), ())


def draft_text(design: Design, key: str, draft: Value, words: Words) -> ValueText:
    """Give a draft as text: as `text_of`, but digits that are edited one by one are all there."""
    setting = design.index.settings[key]
    if isinstance(setting, Digits):
        assert isinstance(draft, int)
        number = number_text(draft, setting.decimals).rjust(_digit_cells(setting), "0")
        unit = words.get(setting.unit, setting.unit)
        return ValueText(with_unit(number, unit), number, False)
    return text_of(design, key, draft, words)


def number_text(value: int, decimals: int) -> str:
    """Write a whole number with its decimals: 125 with one is 12.5.

    Args:
        value: In units of the last place.
        decimals: Places after the point.
    """
    if not decimals:
        return str(value)
    digits = str(abs(value)).zfill(decimals + 1)
    return f"{'-' if value < 0 else ''}{digits[:-decimals]}.{digits[-decimals:]}"


def with_unit(number: str, unit: str) -> str:
    """Put a unit behind a number."""
    if not unit:
        return number
    return f"{number}{unit}" if unit[0] in "°′″'\"" and len(unit) == 1 else f"{number} {unit}"


def clock_text(setting: Clock, value: int) -> str:
    """Write a time: fields of two digits with colons between them; the first as wide as its largest value.

    Args:
        setting: The clock.
        value: In seconds, or in minutes without a field of seconds.
    """
    fields = []
    for size in reversed(setting.sizes):
        value, field = divmod(value, size)
        fields.append(str(field).zfill(len(str(size - 1))))
    return ":".join(reversed(fields))


def part_at_hand(setting: Setting, text: ValueText, place: int) -> tuple[int, int]:
    """Return which characters of a draft's text the knob changes now: first, and one beyond the last.

    Args:
        setting: The setting that is edited; not a text, which has a pick instead.
        text: Its draft, from `draft_text`.
        place: The field or digit, from the left.
    """
    if isinstance(setting, Clock):
        first = len(str(setting.sizes[0] - 1))
        return (0, first) if place == 0 else (first + 3 * place - 2, first + 3 * place)
    if isinstance(setting, Digits):
        beyond_point = setting.decimals and place >= setting.places - setting.decimals
        start = place + 1 if beyond_point else place
        return start, start + 1
    if text.in_words:
        return 0, len(text.full)
    return len(text.short) - len(text.short.lstrip()), len(text.short)


def _digit_cells(setting: Digits) -> int:
    return setting.places + (1 if setting.decimals else 0)


@lru_cache(maxsize=8192)
def _numeric(
    value: int, low: int, high: int, decimals: int, unit: str, names: tuple[tuple[int, str], ...]
) -> ValueText:
    """Write a value of a number in a field for all of its values."""
    bare = max(len(number_text(low, decimals)), len(number_text(high, decimals)))
    behind = len(with_unit("", unit))
    longest = max((len(text) for _, text in names), default=0)
    name = next((text for named, text in names if named == value), None)
    if name is not None:
        return ValueText(name.rjust(max(bare + behind, longest)), name.rjust(max(bare, longest)), True)
    number = number_text(value, decimals)
    return ValueText(
        with_unit(number, unit).rjust(max(bare + behind, longest)), number.rjust(max(bare, longest - behind)), False
    )


@lru_cache(maxsize=1024)
def _switch(value: int, on_label: str, off_label: str) -> ValueText:
    text = (on_label if value else off_label).rjust(max(len(on_label), len(off_label)))
    return ValueText(text, "", True)


def _readout_text(readout: Readout, value: Value, words: Words) -> ValueText:
    """Write what the device reports; it can be any number, so that its field has no width of its own."""
    assert isinstance(value, int)
    for named, text in readout.names:
        if named == value:
            return ValueText(words.get(text, text), "", True)
    number = number_text(value, readout.decimals)
    return ValueText(with_unit(number, words.get(readout.unit, readout.unit)), number, False)
