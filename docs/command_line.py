"""The tables of docs/reference/command-line.md, drawn from the parsers: commands, their arguments and options."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from knobmenu.cli.main import build_parser


def commands() -> dict[str, argparse.ArgumentParser]:
    """Return every command's parser by its words, such as `bench judge`, in the order of the help."""
    return dict(_below(build_parser(), ()))


def _below(whole: argparse.ArgumentParser, words: tuple[str, ...]) -> Iterator[tuple[str, argparse.ArgumentParser]]:
    for action in whole._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, one in action.choices.items():
                yield " ".join((*words, name)), one
                yield from _below(one, (*words, name))


def reference() -> str:
    """Return a section for each command."""
    return "".join(f"\n## knobmenu {words}\n\n{describe(one)}" for words, one in commands().items()) + "\n"


def describe(one: argparse.ArgumentParser) -> str:
    """Return what a command does, and a table of its arguments and options."""
    rows = [
        (_spelled(action), action.help or "")
        for action in one._actions
        if action.help != argparse.SUPPRESS
        and not isinstance(action, argparse._SubParsersAction | argparse._HelpAction)
    ]
    text = f"{one.description or ''}\n"
    if rows:
        text += "\n| argument | meaning |\n| --- | --- |\n"
        text += "".join(f"| `{name}` | {meaning.replace('|', chr(92) + '|')} |\n" for name, meaning in rows)
    return text


def _spelled(action: argparse.Action) -> str:
    """Write an argument as somebody types it."""
    if not action.option_strings:
        name = str(action.metavar or action.dest)
        return {"?": f"[{name}]", "*": f"[{name} …]"}.get(str(action.nargs), name)
    value = ""
    if action.nargs != 0:
        names = action.metavar if isinstance(action.metavar, tuple) else (action.metavar,) if action.metavar else ()
        value = " ".join(names) or "|".join(map(str, action.choices or ("VALUE",)))
        value = " " + {"?": f"[{value}]", "+": f"{value} [{value} …]"}.get(str(action.nargs), value)
    return ", ".join(action.option_strings).replace("|", "\\|") + value.replace("|", "\\|")
