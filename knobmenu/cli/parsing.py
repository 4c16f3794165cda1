"""The parser of the command line: a default among subcommands, and errors that name the subcommand they are about."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import Any

from knobmenu.cli import streams


def expand_file_name(word: str) -> str:
    """Expand `~` and `~user` in the name of a file on the command line.

    Raises:
        FileError: The name is empty, or cannot be that of a file.
    """
    if word[:1] not in ("", "~") and "\0" not in word:
        return word
    from knobmenu.files.output import expand

    return str(expand(word))


def add_file(container: argparse._ActionsContainer, *names: str, metavar: str = "FILE", **options: Any) -> None:
    """Add an argument or option that names a file; else it takes what `argparse.ArgumentParser.add_argument` does."""
    container.add_argument(*names, metavar=metavar, type=expand_file_name, **options)


class Parser(argparse.ArgumentParser):
    """A parser with an optional default subcommand."""

    default_command: str = ""
    """The subcommand; empty: there is none."""
    _commands: Any = None

    def add_subparsers(self, **options: Any) -> Any:
        """Add subcommands; see `argparse.ArgumentParser.add_subparsers`."""
        self._commands = super().add_subparsers(**options)
        return self._commands

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Parse words; see `argparse.ArgumentParser.parse_known_args`.

        An unknown argument is an error of the subcommand, so that its own usage is printed.
        """
        if self.default_command and args is not None:
            args = self._add_default(args)
        options, unknown = super().parse_known_args(args, namespace)
        if unknown and self._commands is None:
            self.error(f"unrecognized arguments: {' '.join(unknown)}")
        return options, unknown

    def _print_message(self, message: str, file: Any = None) -> None:
        """Write help so that a failure to write raises; `argparse` itself ignores it.

        Errors quote arguments, so they are made printable like all text for people.
        """
        if message and file is sys.stdout:
            file.write(message)
        elif message:
            streams.complain(message.removesuffix("\n"))

    def _add_default(self, words: Sequence[str]) -> list[str]:
        if words and (words[0] in ("-h", "--help") or words[0] in self._commands.choices):
            return list(words)
        return [self.default_command, *words]


CAUTION = """\
A menu limit is not a protective function: heat, mains, hearing and motion need protection that does not depend on it.
"""
"""What the help says that is read before a device is built."""
