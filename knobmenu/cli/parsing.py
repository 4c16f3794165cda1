"""The parser of the command line: a default among subcommands, and errors that name the subcommand they are about."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import Any

from knobmenu.cli import streams


def expand_file_name(word: str) -> str:
    """Return the name of a file as a command line gives it, with `~` and `~user` followed.

    Raises:
        FileError: It is empty, or no file can have it.
    """
    if word[:1] not in ("", "~") and "\0" not in word:
        return word
    from knobmenu.files.output import expand

    return str(expand(word))


class Parser(argparse.ArgumentParser):
    """A parser that may take a subcommand for meant where none is named."""

    default_command: str = ""
    """The subcommand; empty: there is none."""
    _commands: Any = None

    def add_subparsers(self, **options: Any) -> Any:
        """Add subcommands; see `argparse.ArgumentParser.add_subparsers`."""
        self._commands = super().add_subparsers(**options)
        return self._commands

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Parse words; see `argparse.ArgumentParser.parse_known_args`.

        What a subcommand does not know is its own error, so that its usage is printed and not that of the whole.
        """
        if self.default_command and args is not None:
            args = self._add_default(args)
        options, unknown = super().parse_known_args(args, namespace)
        if unknown and self._commands is None:
            self.error(f"unrecognized arguments: {' '.join(unknown)}")
        return options, unknown

    def _print_message(self, message: str, file: Any = None) -> None:
        """Write help where its failure shows; `argparse` drops what standard output does not take.

        What is wrong in the words is quoted: as all words for people, it passes the gate.
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
