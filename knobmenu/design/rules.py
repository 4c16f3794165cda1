"""The rules between the parts of a design.

Each rule is a generator of problems over the whole design. All of them always run, so that the author sees all
problems together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from typing import assert_never

from knobmenu.design.conditions import DEEPEST, AtLeast, Comparison, Condition, Less, measure_depth, walk_comparisons
from knobmenu.design.hardware import SegmentDisplay
from knobmenu.design.kinds import Limited, Parted, Setting, Turnable
from knobmenu.design.limits import find_limit_problems
from knobmenu.design.menu import BACK
from knobmenu.design.parts import Parts
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.design.simulation import find_key_problems, find_simulation_problems, walk_simulation_conditions
from knobmenu.design.texts import PLACEHOLDER, walk_texts
from knobmenu.errors import MOST_LISTED, Problem, nearest, one_of, quote_value

RESERVED = (BACK, "home")
"""Keys that no part can have."""


def find_problems(design: Parts) -> list[Problem]:
    """Find all problems between the parts of a design."""
    return [problem for rule in RULES for problem in rule(design)]


def _walk_names(design: Parts) -> Iterator[tuple[str, str]]:
    """Walk the keys of the common namespace, each with the path of its part."""
    for place, parts in (
        ("settings", design.settings),
        ("menus", design.menus),
        ("actions", design.actions),
        ("readouts", design.readouts),
    ):
        for part in parts:
            yield f"{place}.{part.key}", part.key


def _check_keys(design: Parts) -> Iterator[Problem]:
    paths: dict[str, str] = {}
    for path, key in _walk_names(design):
        if key in RESERVED:
            yield Problem(
                path,
                f'the key "{key}"',
                f"a key other than {' and '.join(map(quote_value, RESERVED))}, which are reserved",
            )
        if key in paths:
            yield Problem(path, f'the key "{key}", which {paths[key]} has too', "a different key for each part")
        paths.setdefault(key, path)
    lamps: set[str] = set()
    for lamp in design.lamps:
        if lamp.key in lamps:
            yield Problem(f"lamps.{lamp.key}", f'the key "{lamp.key}" again', "a different key for each lamp")
        lamps.add(lamp.key)


def _check_targets(design: Parts) -> Iterator[Problem]:
    known = {key for _, key in _walk_names(design)} | {BACK}
    listed, reported = sorted(known), 0
    for menu in design.menus:
        for index, entry in enumerate(menu.entries):
            if entry.target not in known:
                yield _report_unknown(f"menus.{menu.key}.entries[{index}].target", entry.target, listed, reported)
                reported += 1


def _check_resets(design: Parts) -> Iterator[Problem]:
    known = dict.fromkeys(setting.key for setting in design.settings)
    for action in design.actions:
        seen: set[str] = set()
        for index, key in enumerate(action.resets):
            path = f"actions.{action.key}.resets[{index}]"
            if key not in known:
                yield Problem(path, f'"{key}"', f"a setting: {one_of(known)}", nearest(key, known))
            elif key in seen:
                yield Problem(path, f'"{key}" again', "each setting once")
            seen.add(key)


def _report_unknown(path: str, key: str, known: Sequence[str], reported: int = 0) -> Problem:
    # Finding the nearest key is slow, and nobody reads the advice of the thousandth problem.
    advice = nearest(key, known) if reported < MOST_LISTED else ""
    return Problem(path, f'the unknown key "{key}"', one_of(known), advice)


_LONGEST_CYCLE = 12
"""How many menus of a cycle are named."""


def _check_menu_cycles(design: Parts) -> Iterator[Problem]:
    menus = {menu.key: menu for menu in design.menus}
    inside: dict[str, list[str]] = {
        key: [entry.target for entry in menu.entries if entry.target in menus] for key, menu in menus.items()
    }
    done: set[str] = set()
    above: set[str] = set()
    for start in menus:
        trail: list[tuple[str, Iterator[str]]] = [(start, iter(inside[start]))] if start not in done else []
        while trail:
            key, rest = trail[-1]
            following = next((child for child in rest if child not in done), None)
            if following is None:
                done.add(key)
                above.discard(key)
                trail.pop()
            elif following in above or following == key:
                names = [name for name, _ in trail]
                cycle = [*names[names.index(following) :], following]
                between = cycle if len(cycle) <= _LONGEST_CYCLE else [*cycle[: _LONGEST_CYCLE - 2], "…", *cycle[-2:]]
                index = [entry.target for entry in menus[key].entries].index(following)
                yield Problem(
                    f"menus.{key}.entries[{index}].target",
                    f"the cycle {' > '.join(between)}",
                    "menus that do not contain themselves",
                )
                done.add(following)
            else:
                above.add(key)
                trail.append((following, iter(inside[following])))


def _check_conditions(design: Parts) -> Iterator[Problem]:
    settings = {setting.key: setting for setting in design.settings}
    readouts = {readout.key for readout in design.readouts}
    known, reported = sorted({*settings, *readouts}), 0
    for place, condition in _walk_conditions(design):
        for problem in _check_condition(settings, readouts, known, condition, place, reported):
            yield problem
            reported += 1


def find_condition_problems(design: Parts, condition: Condition, place: str) -> Iterator[Problem]:
    """Find the problems in a condition over a design's settings and readouts, whether or not it is part of the design.

    Args:
        design: The design.
        condition: The condition.
        place: Its path, for problems.
    """
    settings = {setting.key: setting for setting in design.settings}
    readouts = {readout.key for readout in design.readouts}
    yield from _check_condition(settings, readouts, sorted({*settings, *readouts}), condition, place)


def _check_condition(
    settings: Mapping[str, Setting],
    readouts: Set[str],
    known: Sequence[str],
    condition: Condition,
    place: str,
    reported: int = 0,
) -> Iterator[Problem]:
    if measure_depth(condition) > DEEPEST:
        yield Problem(place, f"conditions {measure_depth(condition)} deep", f"at most {DEEPEST} deep")
    for path, comparison in walk_comparisons(condition, place):
        setting = settings.get(comparison.key)
        if setting is not None:
            yield from _check_comparison(path, comparison, setting)
        elif comparison.key not in readouts:
            yield _report_unknown(path, comparison.key, known, reported)
        elif isinstance(comparison.value, str | bool):
            yield Problem(path, repr(comparison.value), f'a whole number, since "{comparison.key}" is a readout')


def _walk_conditions(design: Parts) -> Iterator[tuple[str, Condition]]:
    for menu in design.menus:
        for index, entry in enumerate(menu.entries):
            path = f"menus.{menu.key}.entries[{index}]"
            if entry.shown_if is not None:
                yield f"{path}.shown_if", entry.shown_if
            if entry.enabled_if is not None:
                yield f"{path}.enabled_if", entry.enabled_if
    for lamp in design.lamps:
        if lamp.lit_if is not None:
            yield f"lamps.{lamp.key}.lit_if", lamp.lit_if
    yield from walk_simulation_conditions(design.simulation)


def _check_comparison(path: str, comparison: Comparison, setting: Setting) -> Iterator[Problem]:
    value, ordered = comparison.value, isinstance(comparison, Less | AtLeast)
    found = f'"{value}"' if isinstance(value, str) else str(value).lower()
    match setting:
        case TextSetting():
            yield Problem(path, f'the text "{setting.key}"', "a setting other than a text, or a readout")
        case Choice():
            keys = [option.key for option in setting.options]
            if ordered:
                yield Problem(path, f'an order comparison of the choice "{setting.key}"', "equal or unequal")
            elif not isinstance(value, str) or value not in keys:
                yield Problem(path, found, f'an option of "{setting.key}": {one_of(keys)}', nearest(str(value), keys))
        case Switch():
            if ordered:
                yield Problem(path, f'an order comparison of the switch "{setting.key}"', "equal or unequal")
            elif not isinstance(value, bool):
                yield Problem(path, found, f'true or false, since "{setting.key}" is a switch')
        case Number() | Scale() | Clock() | Digits():
            if isinstance(value, str | bool):
                yield Problem(path, found, f'a whole number, since "{setting.key}" is a number')
        case _:
            assert_never(setting)


def _check_initials(design: Parts) -> Iterator[Problem]:
    for setting in design.settings:
        if isinstance(setting, Choice) and setting.initial:
            keys = [option.key for option in setting.options]
            if setting.initial not in keys:
                path = f"settings.{setting.key}.initial"
                yield Problem(path, f'"{setting.initial}"', one_of(keys), nearest(setting.initial, keys))


def _check_limits(design: Parts) -> Iterator[Problem]:
    return find_limit_problems({setting.key: setting for setting in design.settings})


def _check_home(design: Parts) -> Iterator[Problem]:
    home, known = design.home, {key for _, key in _walk_names(design)}
    settings = {setting.key: setting for setting in design.settings}
    turnable = [key for key, setting in settings.items() if isinstance(setting, Turnable)]
    turned = ("turn", "held_turn")
    for gesture in turned:
        key = home.targets[gesture]
        if key and key not in turnable:
            yield Problem(
                f"home.{gesture}",
                f'"{key}"',
                f"a number, scale, choice, switch or digits: {one_of(turnable)}",
                "" if key in known else nearest(key, turnable),
            )
    readouts = [readout.key for readout in design.readouts]
    for gesture, key in home.targets.items():
        if gesture in turned:
            continue
        if key in readouts:
            expected = f"a menu, a setting or an action: {one_of(sorted(known - set(readouts)))}"
            yield Problem(f"home.{gesture}", f'"{key}", which is a readout', expected)
        elif key and key not in known:
            yield _report_unknown(f"home.{gesture}", key, sorted(known - set(readouts)))
    if home.double_press and not design.knob.double_press_ms:
        yield Problem("home.double_press", f'"{home.double_press}"', "nothing, while knob.double_press_ms is 0")
    if home.held_turn and not design.knob.turns_while_held:
        yield Problem("home.held_turn", f'"{home.held_turn}"', "nothing, while knob.turns_while_held is false")
    yield from _check_home_rows(design, settings, [*settings, *readouts])


def _check_home_rows(design: Parts, settings: dict[str, Setting], values: list[str]) -> Iterator[Problem]:
    most = design.display.rows
    if len(design.home.rows) > most:
        yield Problem("home.rows", f"{len(design.home.rows)} rows", f"at most {most}, as many as the display has")
    for number, row in enumerate(design.home.rows):
        path = f"home.rows[{number}]"
        for side, text in (("left", row.left), ("right", row.right)):
            for key in PLACEHOLDER.findall(text):
                if key not in values:
                    yield _report_unknown(f"{path}.{side}", key, sorted(values))
            if PLACEHOLDER.sub("", text).count("{") or PLACEHOLDER.sub("", text).count("}"):
                yield Problem(f"{path}.{side}", f'"{text}"', "braces only around a key, as in {key}")
        barred = [key for key, setting in settings.items() if isinstance(setting, Limited)]
        if row.bar and row.bar not in barred:
            found, expected = f'"{row.bar}"', f"a number or a scale: {one_of(barred)}"
            yield Problem(f"{path}.bar", found, expected, nearest(row.bar, barred))
        if row.bar and isinstance(design.display, SegmentDisplay):
            yield Problem(f"{path}.bar", f'"{row.bar}"', "nothing: seven segments draw no bar")


def _check_languages(design: Parts) -> Iterator[Problem]:
    languages = list(design.languages)
    for index, language in enumerate(languages):
        if language in languages[:index]:
            yield Problem(f"languages[{index}]", f'"{language}" again', "each language once")
    choices = {setting.key: setting for setting in design.settings if isinstance(setting, Choice)}
    if design.language and design.language not in choices:
        expected = f"a choice: {one_of(choices)}"
        yield Problem("language", f'"{design.language}"', expected, nearest(design.language, choices))
    elif design.language:
        options = [option.key for option in choices[design.language].options]
        if options != languages:
            yield Problem(
                f"settings.{design.language}.options",
                ", ".join(options),
                f"the languages in order: {', '.join(languages)}",
            )
    elif len(languages) > 1:
        yield Problem("language", "nothing", "the choice that picks one of the languages")
    known = {text for _, text in walk_texts(design)} if design.translations else set()
    seen: set[str] = set()
    for translation in design.translations:
        if translation.language not in languages:
            yield Problem(f"translations.{translation.language}", "an undeclared language", one_of(languages))
        if translation.language in seen:
            yield Problem(f"translations.{translation.language}", "the language again", "each language once")
        seen.add(translation.language)
        for text, other in translation.texts:
            path = f'translations.{translation.language}."{text}"'
            if text not in known:
                yield Problem(path, "a text that is not shown", "a text of this design", nearest(text, known))
            if sorted(PLACEHOLDER.findall(text)) != sorted(PLACEHOLDER.findall(other)):
                yield Problem(path, f'"{other}"', "the same {keys} as in the text itself")


def _check_simulation(design: Parts) -> Iterator[Problem]:
    readouts = {readout.key: readout for readout in design.readouts}
    settings = {setting.key: setting for setting in design.settings}
    actions = {action.key: action for action in design.actions}
    yield from find_simulation_problems(design.simulation, settings, actions, readouts)
    yield from find_key_problems(design.simulation_keys, readouts)


def _check_hardware(design: Parts) -> Iterator[Problem]:
    if not isinstance(design.display, SegmentDisplay):
        return
    for setting in design.settings:
        if isinstance(setting, Parted):
            wide = setting.places if isinstance(setting, Digits) else 2 * len(setting.sizes)
            if wide > design.display.digits:
                yield Problem(
                    f"settings.{setting.key}",
                    f"{wide} digits",
                    f"at most {design.display.digits}, as the display has",
                )


RULES: tuple[Callable[[Parts], Iterator[Problem]], ...] = (
    _check_keys,
    _check_targets,
    _check_resets,
    _check_menu_cycles,
    _check_conditions,
    _check_initials,
    _check_limits,
    _check_home,
    _check_languages,
    _check_hardware,
    _check_simulation,
)
