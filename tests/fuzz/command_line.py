"""The real command line on changed files and hostile words: ``python -m tests.fuzz --command-line COUNT``.

One process imports everything and forks for each run, so that a run costs milliseconds and not an interpreter's start:
real words go through `knobmenu.cli.main`, real descriptors are its streams, and real files lie in a folder of its own.
A run that is still at work after `PATIENCE_S` is interrupted, as a person would with Ctrl-C.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import json
import os
import pkgutil
import random
import resource
import signal
import socket
import sys
import tempfile
import time
import tomllib
import traceback
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, BinaryIO, cast

import attrs

import knobmenu.cli.main
from tests.fuzz.kinds import DEMOS, KINDS, SMALL, Kind, write_json, write_toml
from tests.fuzz.mutation import change, splinter

MOST_S = 2.0
"""How long a refusal may take. [s of processor time above start-up]"""

PATIENCE_S = 20.0
"""How long work that was asked for may take before it is interrupted. [s]"""

MOST_BYTES = 2 * 1024**3
"""How much memory a run may take, with what it has from its parent. [bytes]"""

LONGEST_COMPLAINT = 64 * 1024
"""How long a refusal may be. [characters]"""

Files = dict[str, bytes]


@attrs.frozen
class Case:
    """A command line, and what it finds."""

    number: int
    words: tuple[str, ...]
    files: Files
    typed: bytes = b""
    """Its standard input."""
    outputs: tuple[str, ...] = ()
    """The files, and folders with a slash, that it may write."""

    def __str__(self) -> str:
        sizes = ", ".join(f"{name} ({len(content)} bytes)" for name, content in self.files.items())
        return f"case {self.number}: knobmenu {' '.join(map(repr, self.words))[:300]}, on {sizes}"


@attrs.frozen
class Run:
    """What became of it."""

    status: int
    """The exit status; negative: the signal that ended it."""
    out: bytes
    err: bytes
    took_s: float
    """Processor time of the child. [s]"""
    interrupted: bool
    written: tuple[str, ...]
    """Files that are new or changed."""


# The cases.


@cache
def _sitting() -> Files:
    """Write a study, one sitting of it, and what a plain session of the design records."""
    from tests.review.participants import sit_on_disk
    from tests.review.planted import write_study
    from tests.review.readers import exact

    with tempfile.TemporaryDirectory() as folder:
        study = write_study(Path(folder), "hidden")
        sit_on_disk(study, exact, 0)
        return {
            str(path.relative_to(folder)): path.read_bytes()
            for path in sorted(Path(folder).rglob("*"))
            if path.is_file()
        }


def _lines(document: Any) -> bytes:
    return b"\n".join(write_json(line) for line in document) + b"\n"


@cache
def _recordings() -> tuple[Any, ...]:
    (content,) = (content for name, content in _sitting().items() if name.endswith(".jsonl"))
    return ([json.loads(line) for line in content.splitlines()],)


@cache
def _studies() -> tuple[Any, ...]:
    (name,) = (name for name in _sitting() if b"[tasks" in _sitting()[name])
    return (tomllib.loads(_sitting()[name].decode()),)


@cache
def _taken_port() -> int:
    """Return a port of this machine that stays taken as long as this process lives."""
    _TAKEN.bind(("127.0.0.1", 0))
    _TAKEN.listen()
    return int(_TAKEN.getsockname()[1])


_TAKEN = socket.socket()


@cache
def _profiles() -> tuple[Any, ...]:
    return ({"format": 1, "use": {"heat": 100, "mode": 3, "most": 1}}, {"format": 1, "use": {"mode": {"fast": 3}}})


@cache
def _operators() -> tuple[Any, ...]:
    return ({"format": 1, "detent_s": 0.2, "press_s": 0.3}, {"format": 1, "press_s": 0.28})


_MORE = {
    "recording": Kind("recording", _recordings, _lines, lambda _: None, ()),
    "study": Kind("study", _studies, write_toml, lambda _: None, ()),
    "profile": Kind("profile", _profiles, write_toml, lambda _: None, ()),
    "operators": Kind("operators", _operators, write_toml, lambda _: None, ()),
}


def _file(kind: str, chance: random.Random) -> bytes:
    """Return a file of a kind, changed more often than not."""
    found = {**KINDS, **_MORE}[kind]
    document = chance.choice(found.documents()[:8])
    roll = chance.random()
    if roll < 0.35:
        return found.write(document)
    for _ in range(8):
        try:
            content = found.write(change(document, chance, 2 if roll < 0.75 else 6))
            break
        except (TypeError, ValueError, AttributeError, KeyError, RecursionError):
            continue
    else:
        content = found.write(document)
    return splinter(content, chance) if chance.random() < 0.2 else content


HOSTILE = (
    "", "-", "--", "-x", "--nosuch", "\x1b[2J", "\u202e", "a" * 300, "a\nb", "~nosuch/x", "/", ".", "..", "/dev/null",
    "é", "\udcff", "0", "-1", "1e999", "nan", "9" * 400, "heat", "mode", "mode=slow", "volume", "a=b=c", "{}", "%s",
    "$(x)", "reader.period_ms=1,2", "turning.turns_per_s=0.2:5:8", "=,=", "x.svg", "--json", "--help",
    "-o", "--html",
)  # fmt: skip
"""Words that a command line should survive."""

TRACES = ("3 press -2 hold wait 500", "press 1 press", "report heat 3", "at 5 press at 3 press", "wait 999999999", "")
TYPED = (
    b"",
    b"3 press\n-2\nhold\n",
    b"?\nhelp\nundo\nsave x\nquit\n",
    b"3 \xff\n\x1b[2J\n",
    b"press\n" * 200,
    b"9" * 5000,
)


def _design(chance: random.Random, *words: str, **more: Any) -> tuple[list[str], Files]:
    spec = chance.random() < 0.1
    json_form = chance.random() < 0.1
    name, kind = ("d.json", "spec") if spec else ("d.json", "design-json") if json_form else ("d.toml", "design")
    return [words[0], name, *words[1:]], {name: _file(kind, chance)}


def make_case(number: int) -> Case:
    """Make a case; the same number gives the same one."""
    chance = random.Random(f"command line {number}")
    words, files, outputs, typed = MAKERS[number % len(MAKERS)](chance)
    if chance.random() < 0.25:
        for _ in range(chance.randint(1, 2)):
            place = chance.randrange(len(words) + 1)
            words[place : place + chance.randint(0, 1)] = [chance.choice(HOSTILE)]
    words = [word for word in words if "\0" not in word]
    return Case(number, tuple(words), files, typed, outputs)


Made = tuple[list[str], Files, tuple[str, ...], bytes]


def _check(chance: random.Random) -> Made:
    words, files = _design(chance, "check")
    return words + chance.choice(([], ["--json"], ["--sarif"], ["--rules"])), files, (), b""


def _cost(chance: random.Random) -> Made:
    words, files = _design(chance, "cost")
    if chance.random() < 0.3:
        words += ["--profile", "p.toml"]
        files["p.toml"] = _file("profile", chance)
    if chance.random() < 0.3:
        words += ["--operators", "o.toml"]
        files["o.toml"] = _file("operators", chance)
    words += chance.choice(
        (
            [],
            ["--json"],
            ["--html", "c.html"],
            ["--plot", "c.svg"],
            ["--to", "mode", "--value", "fast"],
            ["--values", "heat"],
        )
    )
    return words, files, ("c.html", "c.svg"), b""


def _order(chance: random.Random) -> Made:
    words, files = _design(chance, "order")
    words += chance.choice(
        (
            [],
            ["--json"],
            ["--html", "c.html"],
            ["-o", "n.toml"],
            ["--pin", "mode,heat"],
            ["--group", "main"],
            ["--first", "x"],
        )
    )
    return words, files, ("c.html", "n.toml"), b""


def _compare(chance: random.Random) -> Made:
    words, files = _design(chance, "compare")
    files["e.toml"] = _file("design", chance)
    return [*words, "e.toml", *chance.choice(([], ["--json"], ["--html", "c.html"]))], files, ("c.html",), b""


def _export(chance: random.Random) -> Made:
    words, files = _design(chance, "export")
    words += ["--to", chance.choice(("spec", "design")), *chance.choice(([], ["-o", "out.json"]))]
    return words, files, ("out.json",), b""


def _play(chance: random.Random) -> Made:
    words, files = _design(chance, "play")
    trace = _file("trace", chance) if chance.random() < 0.5 else chance.choice(TRACES).encode()
    files["t.trace"] = trace
    given = chance.choice((["--file", "t.trace"], ["-"], [trace.decode("utf-8", "replace")[:20_000]]))
    return words + given + chance.choice(([], ["--json"], ["--simulate"])), files, (), trace


def _try(chance: random.Random) -> Made:
    words, files = _design(chance, "try", "--plain")
    typed = _file("trace", chance) if chance.random() < 0.4 else chance.choice(TYPED)
    if chance.random() < 0.3:
        words += ["--chain", "chain.toml"]
        files["chain.toml"] = _file("chain", chance)
    if chance.random() < 0.3:
        words += ["--record", "s.jsonl"]
    return words, files, ("s.jsonl", "x"), typed


def _new(chance: random.Random) -> Made:
    name = chance.choice(("n.toml", "n.json", "d.toml", "no/n.toml", "n" * 300, "n.txt"))
    return ["new", name], {"d.toml": _file("design", chance)}, ("n.toml", "n.json", "n.txt"), b""


def _bench(chance: random.Random) -> Made:
    files = {"chain.toml": _file("chain", chance)}
    words = chance.choice(
        (
            ["bench", "show", "chain.toml"],
            ["bench", "show", "chain.toml"],
            ["bench", "judge", "chain.toml", "--json"],
            ["bench", "chain.toml", "--plot", "p.svg"],
            ["bench", "chain.toml", "--vcd", "p.vcd"],
            ["bench", "press", "chain.toml"],
            ["bench", "suggest", "chain.toml"],
            ["bench", "sweep", "chain.toml", "reader.period_ms=1,2", "turning.turns_per_s=1,2"],
        )
    )
    return list(words), files, ("p.svg", "p.vcd"), b""


def _capture(chance: random.Random) -> Made:
    ending = chance.choice((".vcd", ".csv"))
    files = {f"k{ending}": _file(f"capture-{ending[1:]}", chance)}
    words = ["bench", "capture", f"k{ending}", *chance.choice(([], ["--json"], ["--show"], ["--plot", "p.svg"]))]
    return words, files, ("p.svg",), b""


def _replay(chance: random.Random) -> Made:
    files = {"s.jsonl": _file("recording", chance), "s.notes": _notes(chance)}
    words = ["replay", "s.jsonl", *chance.choice(([], ["--to", "text"], ["--to", "asciicast", "-o", "s.cast"]))]
    if chance.random() < 0.2:
        words += ["--to", "svg", "-o", "s.svg"]
    return words, files, ("s.cast", "s.svg"), b""


def _watch(chance: random.Random) -> Made:
    files = {"s.jsonl": _file("recording", chance), "s.notes": _notes(chance)}
    return ["watch", "s.jsonl", "--once"], files, (), b""


def _notes(chance: random.Random) -> bytes:
    """Return a moderator's notes, changed more often than not."""
    lines = (json.dumps({"real_ms": 1000 * at, "text": chance.choice(HOSTILE)}) + "\n" for at in range(4))
    content = "".join(lines).encode()
    return content if chance.random() < 0.35 else splinter(content, chance)


def _report(chance: random.Random) -> Made:
    study, files = _studied(chance)
    words = ["report", study, *chance.choice(([], ["--markdown", "r.md"], ["--csv", "r.csv"], ["--html", "r.html"]))]
    return words, files, ("r.md", "r.csv", "r.html", "r.pictures/"), b""


def _study(chance: random.Random) -> Made:
    study, files = _studied(chance)
    return ["study", study, *chance.choice((["--list"], ["--list"], [], ["--participant", "p01"]))], files, (), b""


def _studied(chance: random.Random) -> tuple[str, Files]:
    """Return a study's file, and all files that belong to it, of which one is changed."""
    files = dict(_sitting())
    study = next(name for name in files if b"[tasks" in files[name])
    changed = chance.choice(sorted(files))
    kind = "recording" if changed.endswith(".jsonl") else "study" if changed == study else ""
    files[changed] = _file(kind, chance) if kind else splinter(files[changed], chance)
    recording = next(name for name in files if name.endswith(".jsonl"))
    return study, files | {recording.replace(".jsonl", ".notes"): _notes(chance)}


def _serve(chance: random.Random) -> Made:
    """Serve at a port that is taken, so that what could be served is refused as well."""
    if chance.random() < 0.5:
        name, files = _studied(chance)
    else:
        (_, name), files = _design(chance, "serve")
    words = ["serve", name, "--port", str(_taken_port()), *chance.choice(([], ["--links", "3"]))]
    return words, files, (f"{name.rpartition('.')[0]}.sessions/",), b""


def _words(chance: random.Random) -> Made:
    command = chance.choice((*knobmenu.cli.main.COMMANDS, "--version", "--completion"))
    words = [command, *chance.choices(HOSTILE, k=chance.randint(0, 4))]
    if command == "try":
        words.insert(1, "--plain")
    elif command == "watch":
        words.insert(1, "--once")
    elif "live" in words:
        words.remove("live")
    return words, {"d.toml": write_toml(SMALL)}, (), b""


MAKERS: tuple[Callable[[random.Random], Made], ...] = (
    _check, _cost, _order, _compare, _export, _play, _try, _new, _bench, _capture, _replay, _watch, _report, _words,
    _study, _serve,
)  # fmt: skip
"""One for each command, and one for words alone."""


# Running one.


def run_case(case: Case) -> Run:
    """Run a case in a child of this process, in a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="knobmenu-fuzz-") as name:
        root = Path(name)
        folder, home = root / "work", root / "home"
        folder.mkdir()
        home.mkdir()
        for path, content in case.files.items():
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_bytes(content)
        (root / "in").write_bytes(case.typed)
        child = os.fork()
        if child == 0:
            _be_the_program(case, root)
        status, used, interrupted = _wait(child)
        found = {str(path.relative_to(folder)): path for path in folder.rglob("*") if not path.is_dir()}
        written = tuple(
            sorted(
                name
                for name, path in found.items()
                if name not in case.files or not path.is_file() or path.read_bytes() != case.files[name]
            )
        )
        missing = tuple(f"-{name}" for name in case.files if name not in found)
        return Run(
            os.waitstatus_to_exitcode(status),
            (root / "out").read_bytes(),
            (root / "err").read_bytes(),
            used.ru_utime + used.ru_stime,
            interrupted,
            written + missing,
        )


def _wait(child: int) -> tuple[int, resource.struct_rusage, bool]:
    until_s, interrupted = time.monotonic() + PATIENCE_S, False
    while True:
        done, status, used = os.wait4(child, os.WNOHANG)
        if done:
            return status, used, interrupted
        if time.monotonic() > until_s:
            os.kill(child, signal.SIGKILL if interrupted else signal.SIGINT)
            interrupted, until_s = True, time.monotonic() + 4.0
        time.sleep(0.003)


def _be_the_program(case: Case, root: Path) -> None:
    """Run the command line as the interpreter would, and end."""
    code = 70
    try:
        resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.environ.update(HOME=str(root / "home"), XDG_STATE_HOME=str(root / "home" / "state"), COLUMNS="80")
        os.chdir(root / "work")
        for number, (path, flags) in enumerate((("in", os.O_RDONLY), ("out", _NEW), ("err", _NEW))):
            os.dup2(os.open(root / path, flags, 0o600), number)
        sys.stdin = _text(0, "rb")
        sys.stdout = _text(1, "wb")
        sys.stderr = _text(2, "wb", "backslashreplace", write_through=True)
        sys.argv = ["knobmenu", *case.words]
        try:
            code = knobmenu.cli.main.main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
        sys.stdout.flush()
        sys.stderr.flush()
    except BaseException:
        os.write(2, traceback.format_exc().encode("utf-8", "backslashreplace"))
        code = 71
    finally:
        os._exit(code)


def _text(number: int, mode: str, errors: str = "strict", write_through: bool = False) -> io.TextIOWrapper:
    raw = cast(BinaryIO, open(number, mode, closefd=False))  # noqa: SIM115 - as long as the process
    return io.TextIOWrapper(raw, encoding="utf-8", errors=errors, write_through=write_through)


_NEW = os.O_WRONLY | os.O_CREAT | os.O_TRUNC


# Judging it.


def judge_run(case: Case, run: Run) -> str:
    """Return what is wrong with how a run went, or nothing."""
    err, out = run.err.decode("utf-8", "backslashreplace"), run.out.decode("utf-8", "backslashreplace")
    # An interrupt that comes in a callback of the interpreter's own is reported by it, and is no end.
    ended = "Traceback" in err and not (run.interrupted and "Exception ignored in" in err)
    if ended or run.status in (70, 71):
        return f"traceback: {err[-1500:]}"
    allowed = {0, 1, 2} | ({3, 4} if "check" in case.words else set()) | ({130} if run.interrupted else set())
    if run.status not in allowed:
        return f"status {run.status}: {err[-300:]}"
    refused = run.status in (1, 2) and not out
    if refused and run.took_s > MOST_S:
        return f"refused after {run.took_s:.1f} s: {err[-300:]}"
    if run.status in (1, 2) and not (err.strip() or out.strip()):
        return f"status {run.status} without a word"
    if refused and len(err) > LONGEST_COMPLAINT:
        return f"a format_complaint of {len(err)} characters"
    for stream, text in (("output", out), ("errors", err)):
        raw = {character for character in text if unicodedata.category(character) in ("Cc", "Cs")} - {"\n"}
        if raw:
            return f"raw characters in its {stream}: {sorted(raw)!r}"
    beside = [
        name
        for name in run.written
        if not any(name == allowed or (allowed.endswith("/") and name.startswith(allowed)) for allowed in case.outputs)
    ]
    named = [name for name in beside if name not in case.words]
    if named or any(name.startswith("-") or name in case.files for name in beside):
        return f"written or gone beside the named output: {beside}"
    # A session that is tried writes files at its own commands; an interrupted command has written what was asked first.
    if run.status == 0 or run.interrupted or "try" in case.words:
        return ""
    left = [name for name in run.written if name in case.outputs]
    return f"refused, and left {left}" if left else ""


def judge_cases(numbers: range, tell: Callable[[str], None] = lambda _: None) -> Iterator[tuple[Case, Run, str]]:
    """Run many cases; walk those that are wrong."""
    warm()
    for done, number in enumerate(numbers, 1):
        case = make_case(number)
        run = run_case(case)
        COUNTS[run.status if not run.interrupted else "interrupted"] += 1
        if what := judge_run(case, run):
            yield case, run, what
        if done % 200 == 0:
            tell(f"{done} of {len(numbers)}: " + ", ".join(f"{key}: {count}" for key, count in COUNTS.items()))


COUNTS: Counter[int | str] = Counter()
"""How the runs ended, by status."""


def warm() -> None:
    """Import everything that a command imports when it runs, so that no run pays for that."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for module in pkgutil.walk_packages(knobmenu.__path__, "knobmenu."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    radio, chain = str(DEMOS / "radio.toml"), str(DEMOS / "chains" / "lock-out.toml")
    with tempfile.TemporaryDirectory() as folder:
        for words in (
            ["cost", radio, "--plot", f"{folder}/c.svg", "--html", f"{folder}/c.html"],
            ["order", radio],
            ["compare", radio, radio, "--html", f"{folder}/d.html"],
            ["bench", chain, "--plot", f"{folder}/b.svg"],
            ["bench", "capture", str(DEMOS / "captures" / "knob.vcd"), chain],
        ):
            with contextlib.redirect_stdout(io.TextIOWrapper(io.BytesIO())):
                assert knobmenu.cli.main.main(words) == 0, words
