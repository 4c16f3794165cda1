"""The parser of the command line: a default among subcommands, and errors that name the subcommand they are about."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any


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
            args = self._with_default(args)
        options, unknown = super().parse_known_args(args, namespace)
        if unknown and self._commands is None:
            self.error(f"unrecognized arguments: {' '.join(unknown)}")
        return options, unknown

    def _with_default(self, words: Sequence[str]) -> list[str]:
        if words and (words[0] in ("-h", "--help") or words[0] in self._commands.choices):
            return list(words)
        return [self.default_command, *words]
