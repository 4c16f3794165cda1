"""Generated designs and traces, shared by all suites.

`designs()` gives whole designs that are valid by construction, so that nothing is drawn to be thrown away: every kind
of setting and display, nested menus, conditions, limits that refer to other settings, languages, lamps and a sounder.
`traces(design)` gives events in order of time for one of them, and `stories()` both together. Every part has a
strategy of its own below.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import cache
from itertools import count
from typing import Any, TypeVar

import attrs
from hypothesis import strategies as st

from knobmenu.design import hardware
from knobmenu.design.acceptance import Accepted
from knobmenu.design.conditions import All, AtLeast, Comparison, Condition, Equal, Less, Not, Unequal
from knobmenu.design.conditions import Any as AnyOf
from knobmenu.design.fields import INT32_HIGH, INT32_LOW
from knobmenu.design.generators import GENERATOR_KINDS, Generator, GeneratorKind, generate_values
from knobmenu.design.home import Gestures, Home, Idle, Row, Wording
from knobmenu.design.kinds import Setting, Turnable
from knobmenu.design.menu import BACK, Action, Entry, Menu, Readout
from knobmenu.design.settings import (
    APPLIES,
    CONFIRM,
    DRAFT,
    ENDS,
    Choice,
    Clock,
    Digits,
    Number,
    Option,
    Scale,
    Switch,
    TextSetting,
)
from knobmenu.design.simulation import Approach, Behaviour, Case, Countdown, End, Noise, Ramp, SetBy, SimulationKey
from knobmenu.design.texts import PLACEHOLDER, walk_texts
from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait

KEYS = (
    *("volume", "bass", "treble", "balance", "source", "tuner", "alarm", "alarm-time", "snooze", "sleep"),
    *("brightness", "contrast", "language", "mode", "heat", "fan", "timer", "target_temp", "low-alarm", "high-alarm"),
    *("gain", "rate", "filter", "name", "code", "preset", "sound", "clock", "display", "expert"),
    *("main", "setup", "reset", "start", "stop", "save", "load", "signal", "battery", "humidity"),
    *("a", "b", "c", "x1", "y2", "z-9", "on", "true", "inf", "nan", "a-very-long-key_of_exactly_40_characters"),
)
"""Keys to choose from: short ones, words, a longest one, and some that a file form might take for something else."""

LABELS = (
    *("Volume", "Bass", "On", "Source", "Alarm clock", "Größe", "Température", "♪ Sound", "µ-range", "Ω", "音量"),
    *(
        'Say "yes"',
        "It's",
        "C:\\path",
        "# no comment",
        "a = [1]",
        "true",
        "12",
        "Label of more than sixteen signs",
        "😀",
    ),
)
"""Labels to choose from, some with signs that mean something in a file."""

_SIGNS = st.characters(codec="utf-8", exclude_categories=("C", "Z"), include_characters=" ", exclude_characters="{}")

Thing = TypeVar("Thing", bound=Hashable)

Item = TypeVar("Item")

Draw = Callable[[st.SearchStrategy[Any]], Any]


@cache
def labels(shortest: int = 1, longest: int = 40) -> st.SearchStrategy[str]:
    """Texts for a display: mostly words, sometimes any printable characters but braces."""
    fitting = [label for label in LABELS if shortest <= len(label) <= longest]
    return st.one_of(st.sampled_from(fitting), st.text(_SIGNS, min_size=shortest, max_size=min(longest, 12)))


@cache
def _among(things: tuple[Thing, ...]) -> st.SearchStrategy[Thing]:
    """Draw one of these; kept, since a strategy is costlier to make than to draw from."""
    return st.sampled_from(things)


def _pick(draw: Draw, things: Sequence[Item]) -> Item:
    """Draw one of things that are known only now."""
    return things[draw(st.integers(0, len(things) - 1))]


def _sometimes(**fields: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    """Leave every field at its default, or draw each of them or not."""
    return st.one_of(st.just({}), st.fixed_dictionaries({}, optional=fields))


_COMMON = _sometimes(
    short=labels(0, 8),
    applies=_among(APPLIES),
    on_long_press=_among(DRAFT),
    on_idle=_among(DRAFT[:2]),
    saved=st.booleans(),
    confirm=_among(CONFIRM),
    question=labels(),
    hazard=labels(),
)

_STEPPED = _sometimes(
    unit=_among(("", "dB", "°C", "kHz", "%")),
    ends=_among(ENDS),
    accelerates=st.booleans(),
    bar=st.booleans(),
)


_SWITCH = _sometimes(initial=st.booleans(), on_label=labels(), off_label=labels())

_READOUT = _sometimes(
    short=labels(),
    initial=st.integers(INT32_LOW, INT32_HIGH),
    decimals=st.integers(0, 9),
    unit=_among(("dB", "%")),
)

_ACTION = _sometimes(
    short=labels(),
    confirm=_among(CONFIRM),
    question=labels(),
    then=_among(("stay", "back", "home")),
    hazard=labels(),
)

_LAMP = _sometimes(
    colour=_among(("red", "green")),
    blink_ms=st.integers(334, 10_000),
    flash_ms=st.integers(1, 10_000),
)

_TONE = _sometimes(length_ms=st.integers(1, 10_000), pitch_hz=st.integers(20, 20_000))

_MENU = _sometimes(short=labels(), ends=_among(ENDS), reopens=_among(("first", "last-used")))

_OPTION = _sometimes(short=labels())


def _label_and_common(draw: Draw) -> dict[str, Any]:
    return {"label": draw(labels()), **draw(_COMMON)}


def _names_of(draw: Draw, values: Sequence[int]) -> tuple[tuple[int, str], ...]:
    named = draw(st.lists(st.sampled_from(values), max_size=2, unique=True))
    return tuple((value, draw(labels())) for value in named)


@st.composite
def numbers(draw: st.DrawFn, key: str = "volume") -> Number:
    """A number with fixed limits; small ranges mostly, the whole of 32 bits sometimes."""
    step = draw(_among((1, 1, 2, 5, 7, 100, 2**20)))
    low = draw(st.one_of(st.integers(-20, 20), st.integers(INT32_LOW, INT32_HIGH - step)))
    most = min(INT32_HIGH - low, INT32_HIGH) // step
    count = draw(st.one_of(st.integers(1, min(30, most)), st.integers(1, most)))
    high = low + count * step
    initial = low + draw(st.integers(0, count)) * step
    return Number(
        key=key,
        low=low,
        high=high,
        initial=initial,
        step=step,
        decimals=draw(_among((0, 0, 1, 2, 9))),
        names=_names_of(draw, sorted({low, initial, high})),
        **draw(_STEPPED),
        **_label_and_common(draw),
    )


@st.composite
def generators(draw: st.DrawFn) -> Generator:
    """A series of any kind, with at least two values and not too many for a quick test."""
    kind: GeneratorKind = draw(_among(GENERATOR_KINDS))
    if kind == "f-numbers":
        return Generator(kind=kind, low=draw(st.integers(10, 40)), high=draw(st.integers(56, 220)))
    if kind in ("grid", "decibels", "airband"):
        step, count = (5, 25) if kind == "airband" else (draw(st.integers(1, 50)), draw(st.integers(1, 60)))
        low = draw(st.integers(-1000, 1000)) + (120_000 if kind == "airband" else 0)
        return Generator(kind=kind, low=low, high=low + step * count, step=step)
    low = draw(st.integers(100, 1000))
    high = low * draw(st.integers(10, 40))
    return Generator(kind=kind, low=low, high=high, parts=draw(st.integers(1, 12)) if kind == "doublings" else 3)


@st.composite
def scales(draw: st.DrawFn, key: str = "range") -> Scale:
    """A scale of given or made values, sometimes with limits inside of them."""
    if draw(st.booleans()):
        rule = draw(generators())
        made: dict[str, Any] = {"generator": rule}
        steps = generate_values(rule)
    else:
        whole = st.one_of(st.integers(-50, 50), st.integers(INT32_LOW // 2, INT32_HIGH // 2))
        steps = tuple(sorted(draw(st.lists(whole, min_size=2, max_size=8, unique=True))))
        made = {"values": steps}
    first = draw(st.integers(0, len(steps) - 2))
    last = draw(st.integers(first + 1, len(steps) - 1))
    if draw(st.booleans()):
        made |= {"low": steps[first], "high": steps[last]}
    inside = steps[first : last + 1]
    return Scale(
        key=key,
        initial=_pick(draw, inside),
        decimals=draw(_among((0, 0, 1, 3))),
        names=_names_of(draw, inside[:3]),
        **made,
        **draw(_STEPPED),
        **_label_and_common(draw),
    )


@st.composite
def choices(draw: st.DrawFn, key: str = "source", keys: tuple[str, ...] | None = None) -> Choice:
    """A choice, of given options where `keys` says which."""
    options = keys or tuple(draw(st.lists(_among(KEYS), min_size=2, max_size=5, unique=True)))
    return Choice(
        key=key,
        options=tuple(Option(key=option, label=draw(labels()), **draw(_OPTION)) for option in options),
        initial=draw(_among(("", *options))),
        ends=draw(_among(ENDS)),
        **_label_and_common(draw),
    )


@st.composite
def switches(draw: st.DrawFn, key: str = "mute") -> Switch:
    """A switch."""
    rest = draw(_SWITCH)
    return Switch(key=key, **rest, **_label_and_common(draw))


@st.composite
def text_settings(draw: st.DrawFn, key: str = "name") -> TextSetting:
    """A text setting, sometimes with characters of its own."""
    characters = draw(_among((" ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-", "01", 'ab"\\#', "äöüß ♪")))
    longest = draw(st.integers(1, 12))
    return TextSetting(
        key=key,
        characters=characters,
        longest=longest,
        initial=draw(st.text(st.sampled_from(characters), max_size=longest)),
        after_each=draw(_among(("stay", "first"))),
        **_label_and_common(draw),
    )


@st.composite
def clocks(draw: st.DrawFn, key: str = "clock", digits: int = 6) -> Clock:
    """A time of day or a duration that `digits` can show."""
    fields = ("hours-minutes", "minutes-seconds", "hours-minutes-seconds")[: 3 if digits >= 6 else 2]
    empty = Clock(key=key, fields=draw(_among(fields)), most=draw(st.integers(1, 99)), label="Clock")
    return attrs.evolve(empty, initial=draw(st.integers(0, empty.highest)), **_label_and_common(draw))


@st.composite
def digit_settings(draw: st.DrawFn, key: str = "frequency", digits: int = 10) -> Digits:
    """A number edited digit by digit, of at most `digits` digits."""
    largest = min(10**digits - 1, INT32_HIGH)
    low = draw(st.integers(0, largest - 1))
    high = draw(st.integers(low + 1, largest))
    return Digits(
        key=key,
        low=low,
        high=high,
        initial=draw(st.integers(low, high)),
        decimals=draw(st.integers(0, min(9, digits - 1))),
        unit=draw(_among(("", "kHz"))),
        **_label_and_common(draw),
    )


def settings(key: str = "setting", digits: int = 10) -> st.SearchStrategy[Setting]:
    """A setting of any kind, without limits that refer to others."""
    return st.one_of(
        numbers(key),
        switches(key),
        choices(key),
        scales(key),
        clocks(key, digits),
        digit_settings(key, digits),
        text_settings(key),
    )


@st.composite
def bound_pairs(
    draw: st.DrawFn, lower_key: str = "low-alarm", upper_key: str = "high-alarm"
) -> tuple[Setting, Setting]:
    """Two settings of which the first can never be above the second, declared on either or on both of them."""
    declares = draw(_among(("lower", "upper", "both", "scale")))
    decimals = draw(st.integers(0, 2))
    step, other_step = draw(_among((1, 2, 5))), draw(_among((1, 3, 10)))
    low, count, over = draw(st.integers(-30, 30)), draw(st.integers(1, 30)), draw(st.integers(0, 20))
    shared: dict[str, Any] = {
        "decimals": decimals,
        "unit": draw(_among(("", "°C"))),
        "ends": draw(_among(ENDS)),
    }
    high_of_lower = upper_key if declares != "upper" else low + count * step
    lower: Number | Scale
    if declares == "scale":
        values = tuple(low + step * index * index for index in range(count + 1))
        start, top = _pick(draw, values), values[-1]
        lower = Scale(key=lower_key, label=draw(labels()), values=values, initial=start, high=upper_key, **shared)
    else:
        start, top = low + draw(st.integers(0, count)) * step, low + count * step
        lower = Number(
            key=lower_key, label=draw(labels()), low=low, high=high_of_lower, initial=start, step=step, **shared
        )
    bottom = draw(st.integers(low, start))
    reach = -(-(top - bottom) // other_step) + over + 1  # enough steps to come to the lower setting's top
    first = -(-(start - bottom) // other_step)
    upper = Number(
        key=upper_key,
        label=draw(labels()),
        low=lower_key if declares in ("upper", "both") else bottom,
        high=bottom + reach * other_step,
        initial=bottom + draw(st.integers(first, reach)) * other_step,
        step=other_step,
        **shared,
    )
    return lower, upper


@st.composite
def conditions(draw: st.DrawFn, over: Sequence[Setting | Readout], deepest: int = 3) -> Condition:
    """A condition over some of these values; all, any and not nest up to `deepest`."""
    joined = draw(_among(("compare", "compare", "not", "all", "any"))) if deepest > 1 else "compare"
    if joined == "not":
        return Not(draw(conditions(over, deepest - 1)))
    if joined in ("all", "any"):
        parts = draw(st.lists(conditions(over, deepest - 1), max_size=3))
        return All(parts) if joined == "all" else AnyOf(parts)
    return draw(_comparisons(over))


@st.composite
def _comparisons(draw: st.DrawFn, over: Sequence[Setting | Readout]) -> Comparison:
    part = _pick(draw, over)
    same: type[Equal | Unequal] = draw(_among((Equal, Unequal)))
    if isinstance(part, Choice):
        return same(part.key, _pick(draw, part.options).key)
    if isinstance(part, Switch):
        return same(part.key, draw(st.booleans()))
    ordered: type[Less | AtLeast] = draw(_among((Less, AtLeast)))
    near = draw(st.integers(-3, 3)) + (0 if isinstance(part, TextSetting) else part.initial)
    value = _pick(draw, (0, min(max(near, INT32_LOW), INT32_HIGH)))
    return ordered(part.key, value) if draw(st.booleans()) else same(part.key, value)


@st.composite
def readouts(draw: st.DrawFn, key: str = "signal") -> Readout:
    """A readout."""
    readout = Readout(key=key, label=draw(labels()), names=_names_of(draw, [0, 1, -5]), **draw(_READOUT))
    if draw(st.booleans()):
        return readout
    reported = sorted((readout.initial, *(value for value, _ in readout.names)))
    return attrs.evolve(
        readout,
        low=draw(st.none() | st.integers(max(reported[0] - 9, INT32_LOW), reported[0])),
        high=draw(st.none() | st.integers(reported[-1], min(reported[-1] + 9, INT32_HIGH))),
    )


@st.composite
def actions(draw: st.DrawFn, key: str = "reset", parts: Sequence[Setting] = ()) -> Action:
    """An action, done at once or after a confirmation; sometimes one that resets some of the settings."""
    rest = draw(_ACTION)
    resets = tuple(part.key for part in parts if draw(st.integers(0, 7)) == 7)
    return Action(key=key, label=draw(labels()), resets=resets, **rest)


@st.composite
def glyphs(draw: st.DrawFn, sign: str) -> hardware.Glyph:
    """A glyph for a sign."""
    lit = draw(st.integers(0, 2**40 - 1))
    rows = tuple("".join("#" if lit >> (5 * row + dot) & 1 else "." for dot in range(5)) for row in range(8))
    return hardware.Glyph(character=sign, dots=rows)


@st.composite
def character_displays(draw: st.DrawFn) -> hardware.CharacterDisplay:
    """A character display of any size, with up to eight glyphs."""
    signs = draw(st.lists(st.sampled_from("♪µΩ°→█▌é"), max_size=8, unique=True))
    return hardware.CharacterDisplay(
        columns=draw(st.one_of(_among((16, 8, 20, 40)), st.integers(8, 40))),
        rows=draw(_among((2, 1, 4, 3))),
        characters=draw(_among(hardware.CHARACTER_SETS[:-1])),
        glyphs=tuple(draw(glyphs(sign)) for sign in signs),
    )


@st.composite
def pixel_displays(draw: st.DrawFn) -> hardware.PixelDisplay:
    """A pixel display of at least 8 by 1 cells."""
    wide, high = draw(st.integers(4, 32)), draw(st.integers(6, 64))
    columns, rows = draw(st.integers(8, 32)), draw(st.integers(1, 512 // high))
    return hardware.PixelDisplay(
        width=max(wide * columns, 32), height=max(high * min(rows, 8), 8), cell_width=wide, cell_height=high
    )


def displays() -> st.SearchStrategy[hardware.Display]:
    """A display of any kind."""
    segments = st.builds(hardware.SegmentDisplay, digits=st.integers(4, 8))
    return st.one_of(st.just(hardware.CharacterDisplay()), character_displays(), segments, pixel_displays())


@st.composite
def knobs(draw: st.DrawFn) -> hardware.Knob:
    """A knob, with or without the rarer gestures and acceleration."""
    if draw(st.booleans()):
        return hardware.Knob()
    pulses, per_period = draw(st.integers(1, 200)), draw(_among((1, 2, 4)))
    debounce_ms = draw(st.integers(0, 40))
    limits = sorted(draw(st.lists(st.integers(1, 200), max_size=3, unique=True)))
    times = sorted(draw(st.lists(st.integers(2, 50), min_size=len(limits), max_size=len(limits), unique=True)))
    return hardware.Knob(
        detents_per_turn=pulses * per_period,
        pulses_per_turn=pulses,
        detents_per_period=per_period,
        clockwise=draw(_among(("up", "down"))),
        debounce_ms=debounce_ms,
        long_press_ms=draw(st.integers(max(50, debounce_ms + 1), 2000)),
        double_press_ms=draw(_among((0, 250))),
        turns_while_held=draw(st.booleans()),
        acceleration=tuple(
            hardware.Acceleration(faster_than_ms=limit, times=by)
            for limit, by in zip(limits, reversed(times), strict=True)
        ),
    )


@st.composite
def lamps(draw: st.DrawFn, key: str, over: Sequence[Setting | Readout]) -> hardware.Lamp:
    """A lamp that follows a condition, or answers, or both."""
    lit_if: Condition | None = draw(conditions(over)) if len(over) and draw(st.booleans()) else None
    answers = draw(st.lists(_among(hardware.ANSWERED), min_size=int(lit_if is None), max_size=3, unique=True))
    rest = draw(_LAMP)
    return hardware.Lamp(key=key, label=draw(labels()), lit_if=lit_if, answers=tuple(answers), **rest)


@st.composite
def sounders(draw: st.DrawFn) -> hardware.Sounder:
    """A sounder with one or two tones."""
    answered = draw(st.lists(_among(hardware.ANSWERED), min_size=1, max_size=6, unique=True))
    parts = [part for part in (answered[:3], answered[3:]) if part]
    return hardware.Sounder(tones=tuple(hardware.Tone(answers=tuple(part), **draw(_TONE)) for part in parts))


_EXTRAS: tuple[tuple[str, ...], ...] = (
    (),
    (),
    (),
    ("label",),
    ("shown_if",),
    ("enabled_if",),
    ("shown_if", "enabled_if"),
)


def _entry(draw: Draw, target: str, over: Sequence[Setting | Readout]) -> Entry:
    extras = draw(_among(_EXTRAS))
    return Entry(
        target,
        label=draw(labels()) if "label" in extras else "",
        shown_if=draw(conditions(over)) if over and "shown_if" in extras else None,
        enabled_if=draw(conditions(over)) if over and "enabled_if" in extras else None,
    )


@st.composite
def _menus(
    draw: st.DrawFn, keys: Sequence[str], leaves: Sequence[str], over: Sequence[Setting | Readout]
) -> list[Menu]:
    """Menus that hold all leaves; the first is at the top, and each other is inside one before it."""
    inside: list[list[str]] = [[] for _ in keys]
    for number, key in enumerate(keys[1:], 1):
        inside[draw(st.integers(0, number - 1))].append(key)
    for leaf in leaves:
        inside[draw(st.integers(0, len(keys) - 1))].append(leaf)
    menus = []
    for key, targets in zip(keys, inside, strict=True):
        if draw(st.booleans()) or not targets:
            targets.insert(draw(st.integers(0, len(targets))), BACK)
        if draw(st.integers(0, 7)) == 7:
            targets.append(targets[0])  # the same thing may be listed twice
        rest = draw(_MENU)
        entries = [_entry(draw, target, over) for target in targets]
        menus.append(Menu(key=key, label=draw(labels()), entries=entries, **rest))
    return menus


def _row(draw: Draw, display: hardware.Display, values: Sequence[str], barred: Sequence[str]) -> Row:
    def side() -> str:
        text = str(draw(labels(0, 12)))
        return text + "{" + _pick(draw, values) + "}" if values and draw(st.booleans()) else text

    drawn = bool(barred) and not isinstance(display, hardware.SegmentDisplay) and draw(st.booleans())
    return Row(side(), right=side(), bar=_pick(draw, barred) if drawn else "")


def _home(
    draw: Draw,
    display: hardware.Display,
    knob: hardware.Knob,
    parts: Sequence[Setting],
    pressable: Sequence[str],
    measured: Sequence[str],
) -> Home:
    turnable = _among(("", *(part.key for part in parts if isinstance(part, Turnable))))
    values = [*(part.key for part in parts), *measured]
    barred = [part.key for part in parts if isinstance(part, Number | Scale)]
    return Home(
        rows=[_row(draw, display, values, barred) for _ in range(draw(st.integers(0, min(display.rows, 4))))],
        turn=draw(turnable),
        press=pressable[0],
        long_press=draw(_among(("", *pressable))),
        double_press=draw(_among(("", *pressable))) if knob.double_press_ms else "",
        held_turn=draw(turnable) if knob.turns_while_held else "",
    )


def _words(draw: Draw, design: Design) -> dict[str, dict[str, str]]:
    own = sorted({text for _, text in walk_texts(design)})
    words: dict[str, dict[str, str]] = {}
    for language in draw(st.lists(_among(design.languages[1:]), min_size=1, unique=True)):
        some = draw(st.lists(st.sampled_from(own), min_size=1, max_size=6, unique=True))
        words[language] = {
            text: draw(labels(1, 20)) + "".join("{" + key + "}" for key in PLACEHOLDER.findall(text)) for text in some
        }
    return words


def _keys_from(start: int) -> Iterator[str]:
    """Walk through all keys from one of them on; one draw instead of one for each key."""
    for lap in count():
        for offset in range(len(KEYS)):
            key = KEYS[(start + offset) % len(KEYS)]
            yield f"{key[:30]}-{lap}" if lap else key


@st.composite
def designs(
    draw: st.DrawFn,
    most_settings: int = 6,
    displays: st.SearchStrategy[hardware.Display] = displays(),  # noqa: B008
) -> Design:
    """A whole valid design of up to `most_settings` settings, and two more where it has limits that refer."""
    keys = _keys_from(draw(st.integers(0, len(KEYS) - 1)))
    display, knob = draw(displays), draw(knobs())
    digits = display.digits if isinstance(display, hardware.SegmentDisplay) else 10
    parts = [draw(settings(next(keys), digits)) for _ in range(draw(st.integers(0, most_settings)))]
    if draw(st.booleans()):
        parts += draw(bound_pairs(next(keys), next(keys)))
    languages = draw(_among((("en",), ("en", "de"), ("de", "en", "fr-ch"), ("x",))))
    language = ""
    if len(languages) > 1 or draw(st.integers(0, 9)) == 9:
        languages = languages if len(languages) > 1 else ("en", "de")
        language = next(keys)
        parts.insert(draw(st.integers(0, len(parts))), draw(choices(language, languages)))
    measured = [draw(readouts(next(keys))) for _ in range(draw(st.integers(0, 2)))]
    done = [draw(actions(next(keys), parts)) for _ in range(draw(st.integers(0, 2)))]
    over = [part for part in (*parts, *measured) if not isinstance(part, TextSetting)]
    leaves = [part.key for part in (*parts, *measured, *done)]
    menus = draw(_menus([next(keys) for _ in range(draw(st.integers(1, 4)))], leaves, over))
    pressable = [part.key for part in (*menus, *parts, *done)]
    design = Design(
        name=draw(labels()),
        display=display,
        knob=knob,
        settings=parts,
        menus=menus,
        actions=done,
        readouts=measured,
        home=_home(draw, display, knob, parts, pressable, [part.key for part in measured]),
        idle=draw(st.builds(Idle, after_ms=_among((30_000, 0, 1, 500)), to=_among(("home", "parent")))),
        lamps=[draw(lamps(next(keys), over)) for _ in range(draw(st.integers(0, 2)))],
        sounder=draw(st.one_of(st.none(), sounders())),
        languages=languages,
        language=language,
        **draw(_DETAILS),
    )
    if len(languages) > 1 and draw(st.booleans()):
        design = attrs.evolve(design, translations=_words(draw, design))
    return design


def opens_an_editor(setting: Setting) -> bool:
    """A switch turns over where it stands, and a setting that is confirmed asks first."""
    return not isinstance(setting, Switch) and setting.confirm == "none"


def opening(design: Design, key: str) -> Design:
    """Give a design a home that opens this menu or editor when it is pressed: no story has to find its way there."""
    return attrs.evolve(design, home=attrs.evolve(design.home, press=key))


_LEAVES = _among(("back", "home", "nothing"))
_DETAILS = _sometimes(
    about=labels(0, 40),
    gestures=st.builds(Gestures, long_press=_LEAVES, double_press=_LEAVES),
    save_after_ms=st.integers(0, 3_600_000),
    wording=st.builds(Wording, back=labels(), yes=labels(), no=labels(), hold=labels(), empty=labels()),
    accepted=st.lists(
        st.builds(Accepted, finding=st.just("lost-for-good"), place=labels(0), reason=labels()), max_size=2
    ),
)


@st.composite
def simulated_designs(draw: st.DrawFn, most_settings: int = 3) -> Design:
    """A design with readouts that live: any kind of behaviour for each, and keys of a moderator."""
    design = draw(designs(most_settings=most_settings))
    taken = {*design.index.kinds, "home"}
    keys = [key for key in KEYS if key not in taken][:3]
    measured = [Readout(key=key, label="Live", initial=draw(st.integers(-50, 50))) for key in keys]
    done = [action.key for action in design.actions]
    numbers = st.integers(-1000, 1000)
    whens = st.one_of(st.none(), st.builds(AtLeast, _among(tuple(keys)), numbers))
    times = st.integers(1, 100_000)
    kinds = ["approach", "ramp", "noise", *(["set", "countdown"] if done else [])]
    behaviours: list[Behaviour] = []
    for key in keys:
        others = st.one_of(numbers, _among(tuple(other for other in keys if other != key)))
        rests = st.one_of(st.none(), others)
        moved: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
            {"key": st.just(key), "to": others, "rest": rests, "when": whens, "every_ms": times}
        )
        # What follows another value at once takes those of later readouts alone, so that no cycle is without a source.
        later = tuple(keys[keys.index(key) + 1 :])
        sources = st.one_of(numbers, _among(later)) if later else numbers
        match draw(st.sampled_from(kinds)):
            case "approach":
                behaviours.append(Approach(time_constant_ms=draw(times), **draw(moved)))
            case "ramp":
                behaviours.append(Ramp(step=draw(st.integers(1, 9)), repeats=draw(st.booleans()), **draw(moved)))
            case "noise":
                behaviours.append(
                    Noise(
                        key=key,
                        around=draw(sources),
                        rest=draw(st.one_of(st.none(), sources)),
                        when=draw(whens),
                        spread=draw(st.integers(0, 5)),
                        every_ms=draw(times),
                        seed=draw(times),
                    )
                )
            case "set":
                cases = [Case(action=draw(st.sampled_from(done)), value=draw(others))]
                if (when := draw(whens)) is not None:
                    cases.append(Case(when=when, value=draw(sources)))
                behaviours.append(SetBy(key=key, cases=cases))
            case _:
                behaviours.append(
                    Countdown(
                        key=key,
                        begin=draw(others),
                        unit_ms=draw(times),
                        started_by=done,
                        ends=[End(readout=keys[0], value=draw(numbers))],
                    )
                )
    bound = SimulationKey(
        key="f2", label="Moves", readout=keys[0], values=draw(st.lists(numbers, min_size=1, max_size=3))
    )
    return attrs.evolve(
        design,
        readouts=(*design.readouts, *measured),
        simulation=behaviours,
        simulation_speed=draw(st.integers(1, 100)),
        simulation_keys=draw(st.sampled_from(((), (bound,)))),
    )


PLAIN_EVENTS: dict[str, type[Press | LongPress | DoublePress | Wait]] = {
    "press": Press,
    "long": LongPress,
    "double": DoublePress,
    "wait": Wait,
}
"""Events that hold nothing but their moment."""


@st.composite
def traces(draw: st.DrawFn, design: Design, most: int = 40) -> list[Event]:
    """Events in order of time that this design's knob and device can tell, gaps short and long among them."""
    idle = design.idle.after_ms
    gaps = _among((0, 1, 20, 100, 600, max(idle - 1, 0), idle, idle + 1, 5000))
    kinds = ["turn", "turn", "press", "press", "long", "wait"]
    if design.knob.double_press_ms:
        kinds.append("double")
    if design.knob.turns_while_held:
        kinds.append("held")
    if design.readouts:
        kinds.append("report")
    detents = st.one_of(_among((1, -1, 2, -3)), st.integers(-60, 60).filter(bool))
    at_ms = 0
    events: list[Event] = []
    for kind in draw(st.lists(st.sampled_from(kinds), max_size=most)):
        at_ms += draw(gaps)
        match kind:
            case "turn":
                events.append(Turn(at_ms, draw(detents), times=draw(_among((1, 1, 1, 2, 10)))))
            case "held":
                events.append(HeldTurn(at_ms, draw(detents)))
            case "report":
                readout = _pick(draw, design.readouts)
                events.append(Report(at_ms, readout.key, draw(st.integers(-200, 200))))
            case _:
                events.append(PLAIN_EVENTS[kind](at_ms))
    return events


Story = tuple[Design, list[Event]]
"""A design and what is done to it."""


@st.composite
def stories(draw: st.DrawFn, over: st.SearchStrategy[Design] = designs()) -> Story:  # noqa: B008
    """A design, and a trace for it."""
    design = draw(over)
    return design, draw(traces(design))
