"""Tables of docs/reference/design-file.md, and its complete example, drawn from the fields of a design."""

from __future__ import annotations

import ast
import inspect
import re
from textwrap import dedent
from typing import Any

import attrs

from docs.tables import draw_table
from knobmenu.codec.tables import SETTINGS
from knobmenu.design import conditions, hardware, home, kinds, menu, settings, simulation
from knobmenu.design.acceptance import Accepted
from knobmenu.design.fields import KEY_RULE, Instance, OneOf, Optional
from knobmenu.design.generators import Generator
from knobmenu.design.whole import Design
from knobmenu.errors import one_of
from knobmenu.files import toml

PARTS: dict[str, type] = {
    "character display": hardware.CharacterDisplay,
    "glyph": hardware.Glyph,
    "segment display": hardware.SegmentDisplay,
    "pixel display": hardware.PixelDisplay,
    "knob": hardware.Knob,
    "acceleration": hardware.Acceleration,
    "lamp": hardware.Lamp,
    "tone": hardware.Tone,
    "number": settings.Number,
    "scale": settings.Scale,
    "choice": settings.Choice,
    "switch": settings.Switch,
    "text": settings.TextSetting,
    "clock": settings.Clock,
    "digits": settings.Digits,
    "generator": Generator,
    "option": settings.Option,
    "menu": menu.Menu,
    "entry": menu.Entry,
    "action": menu.Action,
    "readout": menu.Readout,
    "home": home.Home,
    "row": home.Row,
    "idle": home.Idle,
    "gestures": home.Gestures,
    "wording": home.Wording,
    "accepted": Accepted,
    "set": simulation.SetBy,
    "case": simulation.Case,
    "approach": simulation.Approach,
    "countdown": simulation.Countdown,
    "end": simulation.End,
    "ramp": simulation.Ramp,
    "noise": simulation.Noise,
    "simulation key": simulation.SimulationKey,
}
"""Every part of a design that has a table of its own."""

TOP = ("name", "about", "save_after_ms", "languages", "language", "simulation_speed")
"""The keys at the top of a design that hold no part of it."""

_IN_WORDS = {
    "a condition": "a condition",
    "a glyph": "a table: a glyph",
    "a rule of acceleration": "a table: a rule of acceleration",
    "an entry": "a table: an entry, or its target as text",
    "an option": "a table: an option",
    "a case": "a table: a case",
    "a report": "a table: a readout and its value",
    "a row": "a table: a row, or its left side as text",
    "a generator": "a table: a generator",
}


def keys_table(name: str) -> str:
    """Draw the keys of one part of a design: what each may hold, its default and its meaning."""
    if name == "top":
        return _table(Design, [field for field in attrs.fields(Design) if field.name in TOP])
    if name == "every kind":
        return _table(settings.Switch, _shared())
    fields = [field for field in attrs.fields(PARTS[name]) if field.init and field.name != "key"]
    if PARTS[name] in kinds.SETTINGS:
        shared = {field.name for field in _shared()}
        fields = [field for field in fields if field.name not in shared]
    return _table(PARTS[name], fields)


def _shared() -> list[Any]:
    """Return the fields that every kind of setting has."""
    names = [{field.name for field in attrs.fields(kind)} for kind in kinds.SETTINGS]
    common = set.intersection(*names) - {"key", "initial"}
    return [field for field in attrs.fields(settings.Switch) if field.name in common]


def _table(part: type, fields: list[Any]) -> str:
    meanings = meanings_of(part)
    rows = (
        (f"`{field.name}`", _holds(field), _default(field), meanings[field.name].replace("|", "\\|"))
        for field in fields
    )
    return draw_table(("key", "holds", "default", "meaning"), rows)


def meanings_of(part: type) -> dict[str, str]:
    """Return the string under each field of a class and of those that it is made of, on one line."""
    meanings: dict[str, str] = {}
    for made in reversed(part.__mro__[:-1]):
        body = ast.parse(dedent(inspect.getsource(made))).body[0]
        assert isinstance(body, ast.ClassDef)
        for line, following in zip(body.body, body.body[1:], strict=False):
            if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name):
                text = following.value.value if _is_text(following) else ""  # type: ignore[attr-defined]
                meanings[line.target.id] = " ".join(str(text).replace("``", "`").split())
    return meanings


def _is_text(line: ast.stmt) -> bool:
    return isinstance(line, ast.Expr) and isinstance(line.value, ast.Constant) and isinstance(line.value.value, str)


def _holds(field: Any) -> str:
    if field.name == "names":
        return 'a table from values to text, such as `{ 0 = "Off" }`'
    rule = field.validator
    if isinstance(rule, Optional):
        rule = rule.rule
    text = one_of(rule.words, len(rule.words)) if isinstance(rule, OneOf) else str(rule)
    if isinstance(rule, Instance):
        return _IN_WORDS.get(text, text)
    text = text.removesuffix(", or nothing").replace(KEY_RULE, "a key")
    return re.sub(r'"([^"]+)"', r'`"\1"`', text).replace("|", "\\|")


def _default(field: Any) -> str:
    if field.default is attrs.NOTHING:
        return "required"
    default = field.default.factory() if isinstance(field.default, attrs.Factory) else field.default  # type: ignore[arg-type]
    if isinstance(default, bool):
        return f"`{str(default).lower()}`"
    if default in ("", (), None):
        return "none"
    if isinstance(default, tuple):
        return "`[" + ", ".join(f'"{item}"' for item in default) + "]`"
    return f'`"{default}"`' if isinstance(default, str) else f"`{default}`"


# The complete example.


def complete_design() -> Design:
    """Return an invented device that uses every key of every part but the other two kinds of display."""
    hot = conditions.AtLeast("plate", 500)
    return Design(
        name="Everything box",
        about="An invented box with one of everything that a design can say.",
        save_after_ms=1000,
        languages=("en", "de"),
        language="language",
        display=hardware.CharacterDisplay(
            columns=20,
            rows=4,
            characters="lcd-a02",
            glyphs=(
                hardware.Glyph(
                    character="☼", dots=("..#..", "#...#", "..#..", ".###.", "..#..", "#...#", "..#..", "....."),
                ),
            ),
        ),
        knob=hardware.Knob(
            detents_per_turn=20,
            pulses_per_turn=10,
            detents_per_period=2,
            clockwise="down",
            debounce_ms=10,
            long_press_ms=600,
            double_press_ms=250,
            turns_while_held=True,
            acceleration=(hardware.Acceleration(faster_than_ms=30, times=5),),
        ),
        home=home.Home(
            rows=(home.Row("☼ {warmth}", right="{plate}"), home.Row("Fan", bar="fan", right="{fan}")),
            turn="warmth",
            press="main",
            long_press="heat",
            double_press="flush",
            held_turn="fan",
        ),
        idle=home.Idle(after_ms=20_000, to="parent"),
        gestures=home.Gestures(long_press="home", double_press="back"),
        settings=(
            settings.Number(
                key="warmth", label="Warmth", short="Warm", applies="live", on_long_press="commit", on_idle="commit",
                saved=False, low="low", high=350, initial=280, step=5, decimals=1, unit="°C", ends="wrap",
                accelerates=True, bar=True, names=((350, "Most"),),
            ),
            settings.Number(key="low", label="Low alarm", low=200, high="warmth", initial=250, step=5, decimals=1),
            settings.Scale(key="fan", label="Fan", values=(10, 20, 50, 100), initial=20, unit="rpm", bar=True),
            settings.Scale(
                key="time", label="Exposure", initial=20,
                generator=Generator(kind="doublings", low=20, high=1280, parts=2),
                low=20, high=640, decimals=1, unit="s", ends="wrap", accelerates=True, names=((20, "Least"),),
            ),
            settings.Scale(
                key="tune", label="Tune", generator=Generator(kind="grid", low=5, high=100, step=5), initial=50,
            ),
            settings.Choice(
                key="language", label="Language", initial="de", ends="wrap", options=(
                    settings.Option(key="en", label="English", short="En"),
                    settings.Option(key="de", label="Deutsch", short="De"),
                ),
            ),
            settings.Switch(
                key="heat", label="Heat", initial=True, on_label="Hot", off_label="Cold", confirm="ask",
                question="Heat the box?", hazard="The plate gets hot.", applies="on-commit",
            ),
            settings.TextSetting(
                key="owner", label="Owner", characters="ABCDEFGH ", longest=6, initial="ABBA", after_each="first",
            ),
            settings.Clock(key="rise", label="Rise", fields="minutes-seconds", most=99, initial=90),
            settings.Digits(key="code", label="Code", low=0, high=9999, initial=1234, decimals=1, unit="kHz"),
        ),
        menus=(
            menu.Menu(
                key="main", label="Main menu", short="Main", ends="wrap", reopens="last-used", entries=(
                    "warmth", menu.Entry("low", label="Least", shown_if=conditions.Equal("heat", True)),
                    menu.Entry("flush", enabled_if=conditions.Not(hot)), "more", "back",
                ),
            ),
            menu.Menu(
                key="more", label="More",
                entries=("fan", "time", "tune", "language", "heat", "owner", "rise", "code", "plate",
                    "turns", "mains", "water", "refill",
                    "flushing"),
            ),
        ),
        actions=(
            menu.Action(
                key="flush", label="Flush", short="Fl", confirm="hold", question="Flush now?", then="home",
                resets=("rise",), hazard="Steam comes out.",
            ),
            menu.Action(key="refill", label="Refill"),
        ),
        readouts=(
            menu.Readout(
                key="plate", label="Plate", short="Pl", initial=200, decimals=1, unit="°C", low=-400, high=3000,
                names=((-400, "No sensor"),),
            ),
            menu.Readout(key="flushing", label="Flushing"),
            menu.Readout(key="water", label="Water", initial=90),
            menu.Readout(key="turns", label="Turns"),
            menu.Readout(key="mains", label="Mains", initial=2300),
        ),
        lamps=(
            hardware.Lamp(
                key="hot", label="Hot", colour="red", lit_if=hot, blink_ms=1000, answers=("refused",), flash_ms=50,
            ),
        ),
        sounder=hardware.Sounder(tones=(hardware.Tone(answers=("limit", "refused"), length_ms=60, pitch_hz=700),)),
        translations={"de": {"Warmth": "Wärme", "Fan": "Lüfter"}},
        wording=home.Wording(back="Up", yes="Do it", no="Leave it", hold="Hold the knob", empty="Empty"),
        accepted=(Accepted(finding="untranslated", place="words.de", reason="The example keeps its words short."),),
        simulation=(
            simulation.SetBy(
                key="flushing", cases=(
                    simulation.Case(action="flush", value=1),
                    simulation.Case(when=conditions.Less("water", 1), value=0),
                    simulation.Case(action="refill", step=-1),
                ),
            ),
            simulation.Approach(
                key="plate", to="warmth", when=conditions.Equal("heat", True), rest=200, time_constant_ms=300_000,
                rest_time_constant_ms=900_000, every_ms=2000,
            ),
            simulation.Countdown(
                key="water", begin=90, unit_ms=1000, started_by=("flush",), stopped_by=("refill",),
                when=conditions.Equal("flushing", 1), ends=(simulation.End(readout="flushing", value=0),),
            ),
            simulation.Ramp(
                key="turns", to="fan", when=conditions.Equal("heat", True), rest=0, step=2, every_ms=100, repeats=True,
            ),
            simulation.Noise(
                key="mains", around=2300, spread=15, when=conditions.AtLeast("turns", 0), rest=0, every_ms=500, seed=1,
            ),
        ),
        simulation_speed=60,
        simulation_keys=(
            simulation.SimulationKey(key="f2", label="The plate cools or glows", readout="plate", values=(200, 900)),
        ),
    )  # fmt: skip


_SECTION_PARTS = {
    "knob": "knob", "home": "home", "idle": "idle", "gestures": "gestures", "menus": "menu", "actions": "action",
    "readouts": "readout", "lamps": "lamp", "sounder": "tone",
    "simulation_keys": "simulation key", "wording": "wording", "display": "character display",
}  # fmt: skip
"""The part whose keys stand under each header."""


def complete_example() -> str:
    """Write the complete example as TOML; the first time that a key stands in it, its meaning is beside it."""
    explained: set[tuple[str, str]] = set()
    part, lines = "top", []
    for line in toml.dumps(complete_design()).splitlines():
        if header := re.match(r"\[\[?([a-z]+)", line):
            part = _SECTION_PARTS.get(header[1], "" if header[1] != "settings" else "settings")
        elif part in SETTINGS.kinds or part == "settings":
            kind = re.match(r'kind = "([a-z]+)"', line)
            part = kind[1] if kind else part
        key = re.match(r"([a-z_]+) = ", line)
        meaning = _meaning(part, key[1]) if key and (part, key[1]) not in explained else ""
        if key and meaning:
            explained |= {(part, key[1])} if part not in SETTINGS.kinds else {(kind, key[1]) for kind in SETTINGS.kinds}
            lines += [f"# {meaning}", line]
        else:
            lines.append(line)
    return "```toml\n" + "\n".join(lines) + "\n```\n"


def _meaning(part: str, key: str) -> str:
    """Return the first sentence of what a key means, or nothing where its words say it."""
    made = Design if part == "top" else PARTS.get(part)
    text = meanings_of(made).get(key, "") if made else ""
    return f"{text.partition('. ')[0].partition(' [')[0].rstrip('.')}." if text else ""
