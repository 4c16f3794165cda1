"""The entry point of the command line, and the handling of its errors.

Exit codes: 0 success, 1 wrong input (reported on standard error), 2 wrong command line, 130 interrupted; `check` uses 3
for warnings and 4 for errors in a design.
A command imports its modules when it runs, so that ``--help`` is as fast as the interpreter.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module
from keyword import iskeyword
from typing import Protocol, cast

from knobmenu.cli import streams
from knobmenu.cli.parsing import CAUTION, Parser
from knobmenu.errors import KnobmenuError

COMMANDS = (
    *("try", "new", "play", "check", "cost", "order", "compare", "export", "bench"),
    *("study", "report", "replay", "watch", "serve"),
)
"""The commands, in the order of a project; each is a module of this package."""

WRONG_INPUT = 1
INTERRUPTED = 130

_EPILOG = f"""\
examples:
  knobmenu try                                   try a built-in demo
  knobmenu new thermostat.toml                   write a starter design to change
  knobmenu try thermostat.toml                   try it; it reloads as you edit the file
  knobmenu play thermostat.toml "3 press -2 hold wait 500"
  knobmenu check thermostat.toml                 find its faults
  knobmenu export thermostat.toml --to spec      write its specification

{CAUTION}"""


def build_parser(names: Sequence[str] = COMMANDS) -> Parser:
    """Build the parser of the command line.

    Args:
        names: The commands to include; by default all.
    """
    whole = Parser(
        prog="knobmenu",
        description="Design, try out, verify and export the menu of a device with a single rotary knob.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    whole.add_argument("--version", action="store_true", help="print the version and exit")
    whole.add_argument(
        "--completion",
        metavar="SHELL",
        choices=("bash", "zsh", "tcsh"),
        help="print a completion script for bash, zsh or tcsh and exit",
    )
    commands = whole.add_subparsers(metavar="COMMAND", dest="command")
    for name in names:
        module = _import_command(name)
        command = commands.add_parser(
            name,
            help=module.HELP,
            description=module.DESCRIPTION,
            epilog=module.EPILOG,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        module.add_options(command)
    return whole


class Module(Protocol):
    """What the module of a command offers."""

    HELP: str
    """Its line in the list of commands."""
    DESCRIPTION: str
    """What its own help says first."""
    EPILOG: str
    """Examples, and what else its help says last; printed as it is written."""

    def add_options(self, parser: Parser) -> None:
        """Add the command's own options."""

    def run(self, options: argparse.Namespace) -> int:
        """Run the command; return the exit code."""


def _import_command(name: str) -> Module:
    return cast(Module, import_module(f"knobmenu.cli.{f'{name}_' if iskeyword(name) else name}"))


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Args:
        arguments: The arguments after the program's name; None: those of this process.

    Returns:
        The exit code.
    """
    try:
        with streams.guard_output():
            return _run(arguments)
    except KeyboardInterrupt:
        return INTERRUPTED
    except KnobmenuError as error:
        streams.complain(str(error))
    except BrokenPipeError:
        # The reader of the output has ended.
        pass
    except OSError as error:
        streams.complain(streams.format_complaint(error))
    return WRONG_INPUT


def _run(arguments: Sequence[str] | None) -> int:
    words = sys.argv[1:] if arguments is None else arguments
    # Building the parsers of other commands would only cost time.
    whole = build_parser(words[:1]) if words and words[0] in COMMANDS else build_parser()
    if words and not words[0].startswith("-") and words[0] not in COMMANDS:
        whole.error(_explain_unknown_command(words[0]))
    options = whole.parse_args(words)
    if options.command is None and not options.version and not options.completion:
        whole.print_help(sys.stderr)
        return 2
    if options.version:
        return _print_version()
    if options.completion:
        return _print_completion(whole, options.completion)
    return _import_command(options.command).run(options)


def _explain_unknown_command(word: str) -> str:
    """Explain an unknown first word: a file without a command, or a misspelt command."""
    import os

    from knobmenu.errors import mismatch, nearest, quote_value

    advice = f"to try a design: knobmenu try {word}" if os.path.isfile(word) else nearest(word, COMMANDS)
    return mismatch("a command", quote_value(word), advice or f"the commands are {', '.join(COMMANDS)}")


def _print_version() -> int:
    from importlib.metadata import version

    print(f"knobmenu {version('knobmenu')}")
    return 0


def _print_completion(whole: argparse.ArgumentParser, shell: str) -> int:
    import shtab

    streams.print_document(shtab.complete(whole, shell) + "\n")
    return 0
