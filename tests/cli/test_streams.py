"""Every command, whatever its files and streams are: one line that says what is wrong and where, the right status."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

import pytest

from knobmenu.cli.main import main
from knobmenu.files import load, write_starter
from tests.privileges import without_privileges
from tests.sampling import sampled

pytestmark = pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the devices of a Unix")

COMMANDS = {
    "play": ("play", "{}", "3"),
    "check": ("check", "{}"),
    "export": ("export", "{}", "--to", "spec"),
    "try": ("try", "{}", "--plain"),
    "cost": ("cost", "{}"),
    "compare": ("compare", "{}", "{}"),
    "order": ("order", "{}"),
    "bench": ("bench", "{}"),
    "capture": ("bench", "capture", "{}"),
    "replay": ("replay", "{}"),
    "watch": ("watch", "{}", "--once"),
    "resume": ("try", "lamp.toml", "--plain", "--resume", "{}"),
    "study": ("study", "{}", "--list"),
    "report": ("report", "{}"),
    "serve": ("serve", "{}", "--port", "1"),
    "trace": ("play", "lamp.toml", "--file", "{}"),
    "chain": ("try", "lamp.toml", "--plain", "--chain", "{}"),
    "profile": ("cost", "lamp.toml", "--profile", "{}"),
    "operators": ("cost", "lamp.toml", "--operators", "{}"),
}
"""Every command that reads a file."""

PRINTING = (
    ("play", "lamp.toml", "3"),
    ("export", "lamp.toml", "--to", "design"),
    ("bench", "show"),
    ("--version",),
    ("--help",),
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    write_starter("lamp.toml")
    return tmp_path


def run(
    *words: str,
    shell: str = "",
    prepare: Callable[[Sequence[str]], list[str]] = list,
    environment: Mapping[str, str] = MappingProxyType({}),
) -> subprocess.CompletedProcess[bytes]:
    """Run the command line, with what a shell does to its streams."""
    command = prepare(["bash", "-c", f'exec "$@" {shell}', "bash", sys.executable, "-m", "knobmenu", *words])
    whole = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), **environment}
    return subprocess.run(command, capture_output=True, check=False, timeout=60, env=whole)


def only_line(done: subprocess.CompletedProcess[bytes]) -> str:
    (line,) = done.stderr.decode().splitlines()
    return line


@pytest.mark.parametrize("words", PRINTING[: sampled(len(PRINTING), 3)], ids=" ".join)
@pytest.mark.parametrize(
    ("shell", "says"),
    [(">/dev/full", "no space left on device"), (">&-", "bad file descriptor")],
    ids=["full", "closed"],
)
def test_an_output_that_cannot_be_written_is_reported(
    folder: Path, words: tuple[str, ...], shell: str, says: str
) -> None:
    done = run(*words, shell=shell)

    assert done.returncode == 1
    assert only_line(done) == f"standard output: expected an output that can be written, got {says}."


def test_a_closed_output_is_never_taken_by_a_file_that_is_opened_next(folder: Path) -> None:
    """Its descriptor is free: the next file would get it, and hold what was meant for standard output."""
    assert run("export", "lamp.toml", "--to", "design", "-o", "out.toml", shell=">&- <&-").returncode == 0
    assert load("out.toml") == load("lamp.toml")


@pytest.mark.parametrize("words", [("play", "lamp.toml", "-"), ("try", "lamp.toml", "--plain")], ids=" ".join)
def test_a_closed_input_is_reported(folder: Path, words: tuple[str, ...]) -> None:
    done = run(*words, shell="<&-")

    assert done.returncode == 1
    assert only_line(done).startswith("standard input: expected")


def test_a_trace_that_is_not_text_is_reported_with_its_line(folder: Path) -> None:
    done = run("play", "lamp.toml", "-", shell="< <(printf '3\\n\\xff')")

    assert done.returncode == 1
    assert only_line(done).startswith("standard input:2: expected text in UTF-8, got the byte 0xFF")


def test_line_mode_goes_on_after_a_line_that_is_not_text(folder: Path) -> None:
    done = run("try", "lamp.toml", "--plain", shell="< <(printf '3 \\xff\\n2\\n')")

    assert done.returncode == 1
    assert b"\\xff" in done.stdout
    assert b"Turn +2." in done.stdout


def test_words_are_spelled_out_where_the_encoding_lacks_them(folder: Path) -> None:
    done = run("play", "lamp.toml", "3", environment={"PYTHONUTF8": "0", "LC_ALL": "C"})

    assert done.returncode == 0
    assert done.stderr == b""
    assert b"\\u250c" in done.stdout


@pytest.mark.parametrize("encoding", [{"LC_ALL": "C"}, {"PYTHONIOENCODING": "latin-1"}], ids=["C", "latin-1"])
def test_a_design_is_utf_8_whatever_encoding_the_output_has(folder: Path, encoding: dict[str, str]) -> None:
    text = Path("lamp.toml").read_text(encoding="utf-8").replace('"Light"', '"Lüght°"')
    Path("lamp.toml").write_text(text, encoding="utf-8")
    done = run("export", "lamp.toml", "--to", "design", environment={"PYTHONUTF8": "0", **encoding})
    Path("again.toml").write_bytes(done.stdout)

    assert load("again.toml") == load("lamp.toml")


def test_a_pipe_in_place_of_a_design_is_read_once(folder: Path) -> None:
    script = f'"{sys.executable}" -m knobmenu export <(cat lamp.toml) --to design'
    done = subprocess.run(["bash", "-c", script], capture_output=True, check=False, timeout=60)
    Path("again.toml").write_bytes(done.stdout)

    assert load("again.toml") == load("lamp.toml")


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("kind", ["loop", "pipe", "zero", "folder", "missing", "nobody", "nul", "nothing", "escape"])
def test_whatever_stands_in_place_of_a_file_is_refused_in_a_line(
    folder: Path, command: str, kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("loop").symlink_to("loop")
    os.mkfifo("pipe")
    Path("folder").mkdir()
    name = {"zero": "/dev/zero", "nobody": "~nosuch/x", "nul": "a\0b", "nothing": "", "escape": "a\x1b[31m"}.get(
        kind, kind
    )

    assert main([word.replace("{}", name) for word in COMMANDS[command]]) == 1

    told = capsys.readouterr()
    assert told.out == ""
    # A comparison may name both.
    lines = told.err.splitlines()
    assert 1 <= len(lines) <= 2
    assert all(line.isprintable() and "expected" in line for line in lines)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_file_that_may_not_be_read_is_refused_in_a_line(folder: Path, command: str) -> None:
    Path("secret").touch(0)
    words = [word.replace("{}", "secret") for word in COMMANDS[command]]

    done = run(*words, prepare=without_privileges)

    assert done.returncode == 1
    line = done.stderr.decode().splitlines()[-1]
    assert line.startswith("secret: expected ")
    assert "without read permission" in line or "permission denied" in line


def test_a_word_of_the_command_line_is_quoted_without_what_a_terminal_obeys(folder: Path) -> None:
    """Found by the fuzz suite of the command line."""
    done = run("check", "lamp.toml", "--sarif", "\x1b[2J\x07")

    assert done.returncode == 2
    assert b"\x1b" not in done.stderr
    assert b"\\x1b[2J\\x07" in done.stderr
    assert done.stderr.startswith(b"usage: knobmenu check")
