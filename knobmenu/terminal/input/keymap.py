"""Every key of the app, once: what it does, what it is called, and where it is shown."""

from __future__ import annotations

from typing import NamedTuple


class Key(NamedTuple):
    """One thing that keys do."""

    does: str
    """Its name among what moves the knob or in `knobmenu.terminal.desk.commands.COMMANDS`."""
    keys: tuple[str, ...]
    """The keys, as the terminal library names them."""
    shown: str
    """The keys, as they are shown."""
    short: str
    """Its action in one or two words, for the footer; empty: not shown there."""
    words: str
    """Its action in a sentence."""


GROUPS: dict[str, tuple[Key, ...]] = {
    "The knob": (
        Key("turn_clockwise", ("right", "up"), "→ ↑", "", "Turn it one detent clockwise; the wheel upwards too."),
        Key("turn_back", ("left", "down"), "← ↓", "", "Turn it one detent back; the wheel downwards too."),
        Key("spin_clockwise", ("pageup",), "PgUp", "", "Turn it five detents clockwise, quickly."),
        Key("spin_back", ("pagedown",), "PgDn", "", "Turn it five detents back, quickly."),
        Key(
            "press",
            ("space", "enter"),
            "Space",
            "press",
            "Press it, for as long as the key is down where the terminal reports that.",
        ),
        Key("long_press", ("l",), "l", "long", "Long press: press it for as long as that takes."),
        Key("hold", ("h",), "h", "hold", "Hold it down until the next h; turns until then are turns while held."),
        Key("double_press", ("d",), "d", "", "Double press: press it twice quickly."),
        Key(
            "simulated_encoder",
            ("k",),
            "k",
            "encoder",
            "Switch to a simulated encoder with bouncing contacts and a busy loop, or back to the ideal one.",
        ),
        Key("bench", ("e",), "e", "bench", "Go to the bench: change its electronics and see the effect."),
    ),
    "Time": (
        Key("back", ("comma",), ",", "back", "Go back one event (undo)."),
        Key("on", ("full_stop",), ".", "on", "Go forward one event (redo)."),
        Key("power_on", ("home",), "Home", "", "Go back to power-on."),
        Key("newest", ("end",), "End", "", "Go to the newest event."),
        Key("next_branch", ("o",), "o", "", "Go to the next branch; a turn in the past begins one."),
        Key("freeze", ("f",), "f", "", "Stop device time, or let it run again."),
        Key("play_again", ("p",), "p", "", "Replay the same events from power-on with the design as it is now."),
    ),
    "Panes": (
        Key("pane_events", ("1",), "1", "", "Show or hide events and effects."),
        Key("pane_place", ("2",), "2", "", "Show or hide where we are: path, draft, values."),
        Key("pane_cost", ("3",), "3", "", "Show or hide the cost since home."),
        Key("pane_menu", ("4",), "4", "", "Show or hide the menu as a tree."),
        Key("pane_notes", ("5",), "5", "", "Show or hide the notes."),
        Key("variant", ("v",), "v", "", "Show the menu of the other variant."),
    ),
    "Notes and files": (
        Key("note", ("n",), "n", "note", "Write a note on this event."),
        Key("words", ("w",), "w", "type", "Type events as in a trace: 3 press hold wait 500 report KEY VALUE."),
        Key("save_trace", ("s",), "s", "save", "Save the events so far as a trace."),
        Key("save_test", ("t",), "t", "", "Save the events so far as a test."),
        Key("open_trace", ("i",), "i", "", "Play a trace from a file, from power-on."),
        Key("resume", ("g",), "g", "", "Continue an earlier session of this design that is not saved."),
        Key("picture", ("x",), "x", "picture", "Save a picture of the app (screenshot; SVG or PNG)."),
        Key("reload", ("r",), "r", "reload", "Reload the design from its file now."),
    ),
    "The app": (
        Key("look", ("c",), "c", "look", "Change the look: dark, light, high contrast, 16 colours, no colour."),
        Key("form", ("z",), "z", "size", "Draw the display larger or smaller."),
        Key("blinking", ("b",), "b", "", "Stop all blinking, or resume it."),
        Key(
            "present",
            ("f10",),
            "F10",
            "",
            "Show the device and its knob alone, where only the knob's keys work; F10 again shows everything.",
        ),
        Key("commands", ("colon", "ctrl+p"), ":", "", "Find a command by its name."),
        Key("help", ("question_mark", "f1"), "?", "help", "Show these keys."),
        Key("suspend", ("ctrl+z",), "Ctrl-Z", "", "Suspend the app; fg in the shell resumes it."),
        Key("leave", ("q", "ctrl+q", "ctrl+c"), "q", "quit", "Quit."),
    ),
}

ALL: tuple[Key, ...] = tuple(key for keys in GROUPS.values() for key in keys)

BY_KEY: dict[str, Key] = {name: key for key in ALL for name in key.keys}

SHOWN: dict[str, str] = {key.does: key.shown for key in ALL}
"""For each thing that keys do, the keys as they are shown."""

FIRST = (
    *("press", "help", "leave", "long_press", "hold", "back", "on", "note", "save_trace"),
    *("simulated_encoder", "bench", "words", "look", "form", "picture", "reload"),
)
"""The keys in the footer, the most important first; turning precedes them all."""
