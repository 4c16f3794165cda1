"""Every key of the bench's screen, once."""

from __future__ import annotations

from knobmenu.terminal.input.keymap import Key

BENCH_GROUPS: dict[str, tuple[Key, ...]] = {
    "The knobs of the chain": (
        Key("choose_before", ("up",), "↑", "", "Choose the knob above."),
        Key("choose_after", ("down",), "↓", "", "Choose the knob below."),
        Key("more", ("right",), "→", "", "Turn the chosen knob one step up; the wheel upwards too."),
        Key("less", ("left",), "←", "", "Turn it one step down; the wheel downwards too."),
        Key("much_more", ("pageup",), "PgUp", "", "Turn it five steps up."),
        Key("much_less", ("pagedown",), "PgDn", "", "Turn it five steps down."),
        Key("apply_remedy", ("a",), "a", "apply", "Apply the first remedy of the plan."),
        Key("back", ("comma",), ",", "back", "Undo the last change."),
        Key("on", ("full_stop",), ".", "on", "Redo it."),
    ),
    "The waveforms": (
        Key("closer", ("plus",), "+", "closer", "Look closer."),
        Key("wider", ("minus",), "-", "wider", "Show more of the run."),
        Key("earlier", ("less_than_sign",), "<", "", "Show what came before."),
        Key("later", ("greater_than_sign",), ">", "", "Show what came after."),
        Key("first", ("home",), "Home", "", "Show the first error again."),
        Key("draw", ("n",), "n", "new run", "Show a run with another random seed."),
    ),
    "Files": (
        Key("save_chain", ("s",), "s", "save", "Save the chain as a file (TOML)."),
        Key("resume", ("g",), "g", "", "Load the earlier chain that was not saved."),
        Key("picture", ("x",), "x", "", "Save a picture of the screen (screenshot; SVG or PNG)."),
    ),
    "The app": (
        Key("look", ("c",), "c", "", "Change the look: dark, light, high contrast, 16 colours, no colour."),
        Key("commands", ("colon", "ctrl+p"), ":", "", "Find a command by its name."),
        Key("help", ("question_mark", "f1"), "?", "help", "Show these keys."),
        Key("leave", ("q", "escape", "e", "ctrl+c"), "q", "leave", "Leave the bench."),
    ),
}

BENCH_KEYS: tuple[Key, ...] = tuple(key for keys in BENCH_GROUPS.values() for key in keys)

BENCH_BY_KEY: dict[str, Key] = {name: key for key in BENCH_KEYS for name in key.keys}
