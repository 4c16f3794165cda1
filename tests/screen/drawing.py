"""A small invented device, and screens drawn as text so that a test can be read."""

from __future__ import annotations

from knobmenu.design.conditions import Equal
from knobmenu.design.hardware import CharacterDisplay, Display, SegmentDisplay
from knobmenu.design.home import Home, Row
from knobmenu.design.menu import Action, Entry, Menu, Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, Scale, Switch, TextSetting
from knobmenu.design.whole import Design
from knobmenu.events import LongPress, Press, Turn
from knobmenu.machine.advance import advance
from knobmenu.machine.state import NumberDraft, State, TextDraft, make_initial_state
from knobmenu.machine.values import Value
from knobmenu.screen.cells import Screen
from knobmenu.screen.render import render


def proofer(display: Display, rows: tuple[Row | str, ...] = ()) -> Design:
    """An invented box in which dough rises, with one of everything that a menu can hold."""
    segments = isinstance(display, SegmentDisplay)
    return Design(
        name="Proofer",
        display=display,
        settings=(
            Number(key="light", label="Light", low=0, high=100, initial=42, unit="%", bar=True),
            Number(
                key="warmth", label="Temperature", short="Temp", low=-50, high=450, initial=285,
                decimals=1, step=5, unit="°C", names=((-50, "Off"),),
            ),
            Choice(
                key="dough", label="Dough", options=(
                    Option(key="rye", label="Rye"),
                    Option(key="whole", label="Whole grain, with seeds", short="Seeds"),
                ),
            ),
            Switch(key="beep", label="Beep"),
            TextSetting(key="owner", label="Owner", short="Own", initial="ANNA", longest=6),
            Clock(key="ready", label="Ready at", short="End", initial=425),
            Clock(key="rest", label="Resting time", short="Rest", fields="minutes-seconds", most=99, initial=90)
            if segments
            else Clock(key="rest", label="Resting time", fields="hours-minutes-seconds", most=9, initial=5400),
            Digits(key="count", label="Loaves", low=0, high=9999, initial=42, decimals=1),
            Number(
                key="steam", label="Steam", low=0, high=5, initial=1,
                confirm="ask", question="More steam?", hazard="Steam burns. Keep your hands away.",
            ),
            Scale(key="fan", label="Fan", values=(10, 20, 50, 100), initial=20, unit="rpm", bar=True),
        ),
        menus=(
            Menu(
                key="main", label="Main menu", short="Main",
                entries=(
                    "light", "warmth", "dough", "beep", "more", "owner", "ready", "rest", "count",
                    Entry("lock", enabled_if=Equal("beep", True)), "steam", "clean", "now", "fan", "back",
                ),
            ),
            Menu(key="more", label="More", entries=(Entry("light", shown_if=Equal("beep", True)),)),
        ),
        actions=(Action(key="lock", label="Lock"), Action(key="clean", label="Clean", confirm="hold")),
        readouts=(Readout(key="now", label="Now", initial=231, decimals=1, unit="°C"),),
        home=Home(rows=rows, turn="light", press="main"),
    )  # fmt: skip


def glass(columns: int, rows: int, characters: str = "lcd-a00") -> CharacterDisplay:
    """A character display, in one line."""
    return CharacterDisplay(columns=columns, rows=rows, characters=characters)  # type: ignore[arg-type]


def after(design: Design, *gestures: int | str) -> State:
    """The state of a new device after turns (a number of detents), "press" and "long"."""
    state = make_initial_state(design)
    for at_ms, gesture in enumerate(gestures, 1):
        if isinstance(gesture, int):
            state, _ = advance(design, state, Turn(at_ms, gesture))
        else:
            state, _ = advance(design, state, Press(at_ms) if gesture == "press" else LongPress(at_ms))
    return state


def editing(design: Design, key: str, draft: Value, place: int = 0, pick: int = 0) -> State:
    """The state of a new device at whose home a setting is being edited."""
    state = make_initial_state(design)
    return State(
        at_ms=0,
        idle_from_ms=0,
        values=state.values,
        reports=state.reports,
        last_used=state.last_used,
        focus=TextDraft(key, draft, state.values, pick)
        if isinstance(draft, str)
        else NumberDraft(key, draft, state.values, place),
    )


def drawn(screen: Screen) -> str:
    """Draw a screen: its rows between bars, a tilde under each cell that blinks, a point behind each that has one."""
    lines = [""]
    for number, row in enumerate(screen.rows):
        lines.append(
            "|" + "".join(f"{sign}." if cell in screen.points else sign for cell, sign in enumerate(row)) + "|"
        )
        blinking = {cell for span in screen.blinking if span.row == number for cell in range(span.start, span.stop)}
        if blinking:
            lines.append(
                " "
                + "".join(
                    ("~~" if cell in blinking else "  ")[: 2 if cell in screen.points else 1]
                    for cell in range(len(row))
                ).rstrip()
            )
    return "\n".join([*lines, ""])


def shows(design: Design, *gestures: int | str) -> str:
    """Draw what a new device shows after some gestures."""
    return drawn(render(design, after(design, *gestures)))
