"""Values as text: how the display shows a whole number.

A number has a field as wide as the widest value of its setting, and is right-aligned in it, so that digits and units
keep their places while the knob turns. Widths are in cells of the display. A unit follows a blank, except for degree,
minute and second of arc (Bureau international des poids et mesures, "The International System of Units", 9th edition,
5.4.3).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple, assert_never

from knobmenu.design.menu import Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch
from knobmenu.design.whole import Design
from knobmenu.machine.values import Value
from knobmenu.screen.characters import EMPTY, CellText
from knobmenu.screen.face import UNSPACED, Face


class ValueText(NamedTuple):
    """A value as the display shows it, in one or more forms."""

    forms: tuple[CellText, ...]
    """Its forms, the longest first: with and without its unit, or a label and its short form. A number is right-aligned
    in its field."""
    in_words: bool = True
    """Whether it is words, which can be cut; a number that is cut would be another number."""
    at_hand: tuple[int, int] = (0, 0)
    """Of a draft that is a number: the cells of its longest form, without the blanks before it, that the knob changes
    now: the first, and one beyond the last. Words are changed as a whole."""

    @property
    def full(self) -> CellText:
        """Its longest form."""
        return self.forms[0]


NO_VALUE = ValueText((EMPTY,))


def get_longest_form(value: ValueText) -> CellText:
    """Return the longest form of a value."""
    return value.forms[0]


def get_shortest_form(value: ValueText) -> CellText:
    """Return the shortest form of a value, in its field."""
    return value.forms[-1]


def get_bare_form(value: ValueText) -> CellText:
    """Return the shortest form of a value, without the blanks at its ends."""
    return value.forms[-1]._replace(text=value.forms[-1].text.strip())


def write_value(face: Face, key: str, value: Value) -> ValueText:
    """Write a value of a setting or readout, such as its present one or a limit.

    Args:
        face: The design on its display.
        key: The key of the setting or readout.
        value: The value.
    """
    match value:
        case str():
            return _write_text(face, value)
        case int():
            return _write_whole(face, key, value)
        case _:
            assert_never(value)


def _write_whole(face: Face, key: str, value: int) -> ValueText:
    setting = face.design.index.numeric.get(key)
    match setting:
        case None:
            return _write_readout(face, face.design.index.readouts[key], value)
        case Number() | Scale():
            limits = face.design.index.limits[key]
            return _write_number(face, setting, value, limits.low, limits.high, setting.names)
        case Digits():
            return _write_number(face, setting, value, setting.low, setting.high, ())
        case Choice():
            option = setting.options[value]
            return _write_label(face, option.label, option.short)
        case Switch():
            on, off = face.fit_caption(setting.on_label), face.fit_caption(setting.off_label)
            field = max(face.panel.measure(on.text), face.panel.measure(off.text))
            shown = on if value else off
            return ValueText((_justify(face, shown, field),))
        case Clock():
            time = face.panel.fit(format_time(setting, value))
            return ValueText((time,), in_words=False)
        case _:
            assert_never(setting)


def write_draft(face: Face, key: str, draft: int, place: int) -> ValueText:
    """Write a draft like `write_value`, but with all digits that are edited one by one.

    Args:
        face: The design on its display.
        key: The key of the setting, which is not a text.
        draft: The draft.
        place: The current field or digit, from the left.
    """
    setting = face.design.index.numeric[key]
    match setting:
        case Digits():
            return _write_digits_draft(face, setting, draft, place)
        case Clock():
            text = _write_whole(face, key, draft)
            first = len(str(setting.sizes[0] - 1))
            start, stop = (0, first) if place == 0 else (first + 3 * place - 2, first + 3 * place)
            return text._replace(at_hand=_locate_cells(face, text.full.text, start, stop))
        case Number() | Scale() | Choice() | Switch():
            return _write_whole(face, key, draft)
        case _:
            assert_never(setting)


def describe_value(design: Design, key: str, value: Value, language: int = 0) -> str:
    """Describe a value of a setting or readout for people, whatever the display can show.

    Args:
        design: The device's design.
        key: The key of the setting or readout.
        value: The value.
        language: The index of the language among the design's languages.
    """
    match value:
        case str():
            return value if value.strip() else "empty"
        case int():
            return _describe_whole(design, key, value, design.index.translations[language])
        case _:
            assert_never(value)


def _describe_whole(design: Design, key: str, value: int, translations: Mapping[str, str]) -> str:
    part = design.index.numeric.get(key) or design.index.readouts[key]
    match part:
        case Choice():
            label = part.options[value].label
            return translations.get(label, label)
        case Switch():
            label = part.on_label if value else part.off_label
            return translations.get(label, label)
        case Clock():
            return format_time(part, value)
        case Digits():
            return _add_unit(format_number(value, part.decimals), translations.get(part.unit, part.unit))
        case Number() | Scale() | Readout():
            for number, name in part.names:
                if number == value:
                    return translations.get(name, name)
            return _add_unit(format_number(value, part.decimals), translations.get(part.unit, part.unit))
        case _:
            assert_never(part)


def format_number(value: int, decimals: int) -> str:
    """Write a whole number with its decimals: 125 with one is 12.5.

    Args:
        value: In units of the last place.
        decimals: Places after the point.
    """
    if not decimals:
        return str(value)
    digits = str(abs(value)).zfill(decimals + 1)
    return f"{'-' if value < 0 else ''}{digits[:-decimals]}.{digits[-decimals:]}"


def format_time(setting: Clock, value: int) -> str:
    """Write a time: fields of two digits, separated by colons; the first is as wide as its largest value.

    Args:
        setting: The clock.
        value: In seconds, or in minutes without a field of seconds.
    """
    fields = []
    for size in reversed(setting.sizes):
        value, field = divmod(value, size)
        fields.append(str(field).zfill(len(str(size - 1))))
    return ":".join(reversed(fields))


def join_texts(*texts: CellText) -> CellText:
    """Concatenate texts."""
    return CellText(
        "".join([text.text for text in texts]),
        tuple(dict.fromkeys([character for text in texts for character in text.replaced])),
        "".join([text.source for text in texts]),
    )


def _write_number(
    face: Face, setting: Number | Scale | Digits, value: int, low: int, high: int, names: tuple[tuple[int, str], ...]
) -> ValueText:
    """Write a value of a number in a field wide enough for all of its values."""
    width = face.panel.measure
    bare = max(width(format_number(end, setting.decimals)) for end in (low, high))
    suffix = face.fit_suffix(setting.unit)
    behind = width(suffix.text)
    captions = {number: face.fit_caption(name) for number, name in names}
    longest = max((width(caption.text) for caption in captions.values()), default=0)
    name = captions.get(value)
    if name is not None:
        forms = (_justify(face, name, max(bare + behind, longest)), _justify(face, name, max(bare, longest)))
        return ValueText(forms)
    return _write_numeric(face, format_number(value, setting.decimals), setting.unit, max(bare, longest - behind))


def _write_numeric(face: Face, number: str, unit: str, field: int = 0) -> ValueText:
    """Write a number with and without its unit, in a field for the number alone."""
    suffix = face.fit_suffix(unit)
    source = _add_unit(number, face.translate(unit))
    bare = _justify(face, CellText(number, (), source), field)
    full = CellText(bare.text + suffix.text, suffix.replaced, source)
    return ValueText((full, bare) if suffix.text else (full,), False, (0, face.panel.measure(number)))


def _write_digits_draft(face: Face, setting: Digits, value: int, place: int) -> ValueText:
    number = format_number(value, setting.decimals)
    number = number.zfill(setting.places + (1 if setting.decimals else 0))
    start = place + (1 if setting.decimals and place >= setting.places - setting.decimals else 0)
    return _write_numeric(face, number, setting.unit)._replace(at_hand=_locate_cells(face, number, start, start + 1))


def _write_readout(face: Face, readout: Readout, value: int) -> ValueText:
    """Write a value of a readout; it can be any number, so it has no field."""
    for number, name in readout.names:
        if number == value:
            return _write_label(face, name, "")
    return _write_numeric(face, format_number(value, readout.decimals), readout.unit)


def _write_text(face: Face, text: str) -> ValueText:
    """Write a text, one cell for each character."""
    shown = join_texts(*face.panel.fit_each(text))
    return ValueText((shown,))


def _write_label(face: Face, label: str, short: str) -> ValueText:
    full, abbreviated = face.fit_caption(label), face.fit_caption(short)
    forms = (full, abbreviated) if abbreviated.text else (full,)
    return ValueText(forms)


def _add_unit(number: str, unit: str) -> str:
    return number + (unit if not unit or unit in UNSPACED else f" {unit}")


def _justify(face: Face, text: CellText, field: int) -> CellText:
    """Right-align a text in a field."""
    blanks = field - face.panel.measure(text.text)
    return text._replace(text=" " * blanks + text.text) if blanks > 0 else text


def _locate_cells(face: Face, text: str, start: int, stop: int) -> tuple[int, int]:
    """Return the cells of the characters of a text from `start` to `stop`."""
    return face.panel.measure(text[:start]), face.panel.measure(text[:stop])
