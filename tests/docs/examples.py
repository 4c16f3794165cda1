"""The examples of a document, run one after the other in a folder of their own.

- `python` blocks run in order and share their names, as in one session.
- `sh` blocks run line by line. What asks for a terminal (`knobmenu try`) starts in one, draws its first frame and is
  left by `q`, after F10 where it is presented; a sitting of a study is left by not agreeing to it.
- `console` blocks are transcripts: lines after `$ ` run, and what follows must be printed; a line `...` stands for any
  lines.
- `toml` blocks whose first line is a comment with a file's name, such as `# lamp.toml`, are written as that file.

Other blocks are for reading.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs
from markdown_it import MarkdownIt

from tests.terminal.pty_harness import Terminal, environment

ROOT = Path(__file__).parents[2]

_INSTALLS = re.compile(r"\bpip install\b|-m venv\b|-m pytest\b|-m tests\.|-m ruff\b|-m mypy\b|\bapt-get\b")
"""What sets a machine up or runs the suite itself; CI does that by the same lines."""

_INTERACTIVE = re.compile(r"knobmenu (?:try|bench live|watch|serve|study)\b(?!.*--(?:line|plain|help|list|once))")
"""What takes the terminal until it is left."""


@attrs.frozen
class Block:
    """A fenced block of a document."""

    document: Path
    line: int
    """The line of its first fence, counted from 1."""
    language: str
    code: str

    @property
    def place(self) -> str:
        """Where it is, as a reader would look it up."""
        return f"{self.document.relative_to(ROOT)}:{self.line}"


def blocks(document: Path) -> Iterator[Block]:
    """Walk the fenced blocks of a document in order."""
    for token in MarkdownIt().parse(document.read_text(encoding="utf-8")):
        if token.type == "fence" and token.map is not None:
            yield Block(document, token.map[0] + 1, token.info.strip(), token.content)


class Reading:
    """One document, as somebody follows it at a desk of their own."""

    def __init__(self, folder: Path) -> None:
        """Prepare the folder: the demos as in a clone, a capture of one's own, and `knobmenu` on the path."""
        self.folder = folder
        shutil.copytree(ROOT / "demos", folder / "demos")
        shutil.copy(ROOT / "demos" / "captures" / "knob.vcd", folder)
        commands = folder / ".commands"
        commands.mkdir()
        for name, module in (("knobmenu", "knobmenu"), ("python", ""), ("pytest", "pytest")):
            script = commands / name
            script.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} {module and f"-m {module}"} "$@"\n')
            script.chmod(0o755)
        self._environment = {
            **environment(),
            "PATH": f"{commands}{os.pathsep}{os.environ['PATH']}",
            "PYTHONPATH": str(ROOT),
        }
        self._names: dict[str, Any] = {"__name__": "__main__"}

    def follow(self, block: Block) -> None:
        """Do what a block says.

        Raises:
            AssertionError: It does not do what the document says.
        """
        match block.language:
            case "python":
                exec(compile("\n" * block.line + block.code, block.place, "exec"), self._names)
            case "sh":
                for line in _lines(block.code):
                    printed, code = self._run(line, block)
                    assert code == 0, f"{block.place}: {line} ended with {code}:\n{printed}"
            case "console":
                for command, expected in _transcript(block.code):
                    printed, _ = self._run(command, block)  # what is printed says whether it may fail
                    assert _agrees(printed, expected), f"{block.place}: {command} printed:\n{printed}"
            case "toml":
                if named := re.match(r"# ([\w-]+\.toml)\n", block.code):
                    (self.folder / named[1]).write_text(block.code, encoding="utf-8")

    def _run(self, line: str, block: Block) -> tuple[str, int]:
        if _INSTALLS.search(line):
            return "", 0
        line = line.replace(".venv/bin/", "")
        if _INTERACTIVE.search(line):
            return self._try(line)
        done = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", line],
            cwd=self.folder,
            env=self._environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=300,
            check=False,
        )
        return done.stdout, done.returncode

    def _try(self, line: str) -> tuple[str, int]:
        with Terminal(["bash", "-c", line], env=self._environment, directory=self.folder) as terminal:
            terminal.wait_for(lambda text: bool(text.strip()), timeout=60)
            terminal.settle()
            if " study " in line:
                terminal.type("\r")  # takes the code that is offered
                terminal.wait_for("I do not agree", timeout=60)
                terminal.settle(0.5)
                terminal.type("2 ")
            else:
                if " --present" in line:
                    terminal.type("\x1b[21~")  # F10: q does nothing while a participant has the terminal
                    terminal.settle(0.5)
                terminal.type("\x03" if " serve " in line else "q")
            return terminal.text, terminal.wait(60)


def _lines(code: str) -> Iterator[str]:
    """Walk commands without their remarks; a line that ends in a backslash goes on."""
    for line in code.replace("\\\n", " ").splitlines():
        command = re.sub(r"(^|\s)#.*", "", line).strip()
        if command:
            yield command


def _transcript(code: str) -> Iterator[tuple[str, str]]:
    """Walk commands, each with what it prints."""
    for part in re.split(r"^\$ ", code, flags=re.MULTILINE)[1:]:
        command, _, printed = part.partition("\n")
        yield command, printed


def _agrees(printed: str, expected: str) -> bool:
    """Tell whether something printed is what a transcript says; a line `...` stands for any lines."""
    pattern = "".join(
        r"(?:.*\n)*?" if line.strip() == "..." else re.escape(line.rstrip()) + r"[ ]*\n"
        for line in expected.rstrip("\n").splitlines()
    )
    return re.fullmatch(pattern, printed if printed.endswith("\n") or not printed else printed + "\n") is not None
