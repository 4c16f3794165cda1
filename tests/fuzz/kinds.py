"""What is read from outside: for each kind its documents, how one is written, and how it is read.

A reader takes bytes and either returns or raises the errors that are documented for it. Reading a design goes on to one
event and one screen, since a design that loads must also run.
"""

from __future__ import annotations

import json
import random
import tempfile
import tomllib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import attrs
import tomli_w

from knobmenu.bench.capture.file import CaptureFile
from knobmenu.bench.capture.measure import measure
from knobmenu.bench.chain_file import loads as read_chain
from knobmenu.bench.errors import BenchError
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.errors import DesignError, StateError, TraceError
from knobmenu.events import Press, Turn
from knobmenu.export.reading import read_spec
from knobmenu.export.spec import write_spec
from knobmenu.files import json as design_json
from knobmenu.files import toml as design_toml
from knobmenu.files.disk import load
from knobmenu.files.opening import decode_text
from knobmenu.machine.advance import advance
from knobmenu.machine.persistence import from_json, to_json
from knobmenu.machine.state import make_initial_state
from knobmenu.screen.render import render
from knobmenu.trace import format_trace, parse_trace
from tests.fuzz.mutation import Plain, change, splinter

DEMOS = Path(__file__).parents[2] / "demos"

Write = Callable[[Plain], bytes]
Read = Callable[[bytes], object]


@attrs.frozen
class Kind:
    """One kind of thing that is read from outside."""

    name: str
    documents: Callable[[], tuple[Plain, ...]]
    """Good documents as plain data, made once."""
    write: Write
    """Writes plain data as bytes; raises where the form cannot say it, such as a null in TOML."""
    read: Read
    refusals: tuple[type[Exception], ...]
    """What reading may raise."""

    def mutant(self, number: int) -> bytes:
        """Return the bytes of a changed document; the same number gives the same bytes."""
        chance = random.Random(f"{self.name} {number}")
        document = chance.choice(self.documents())
        for _ in range(8):
            try:
                content = self.write(change(document, chance))
                break
            except (TypeError, ValueError, AttributeError, KeyError, RecursionError):
                continue  # the form cannot say that
        else:
            content = self.write(document)
        return splinter(content, chance) if chance.random() < 0.3 else content


def write_toml(document: Plain) -> bytes:
    """Write plain data as TOML; raises where TOML cannot say it."""
    return tomli_w.dumps(document).encode("utf-8", "surrogatepass")


def write_json(document: Plain) -> bytes:
    """Write plain data as JSON."""
    return json.dumps(document, ensure_ascii=False, default=str).encode("utf-8", "surrogatepass")


def _run_a_little(design: Design) -> None:
    """Turn and press a loaded design, and draw it."""
    state = make_initial_state(design)
    for event in (Press(100), Turn(200, 1), Press(300)):
        state, _ = advance(design, state, event)
        render(design, state)


def _read_toml(content: bytes) -> None:
    _run_a_little(design_toml.loads(decode_text(content)))


def _read_json(content: bytes) -> None:
    _run_a_little(design_json.loads(decode_text(content)))


def _read_spec(content: bytes) -> None:
    _run_a_little(read_spec(content))


SMALL = tomllib.loads(
    """
    format = 1
    name = "Kiln"
    [display]
    kind = "character"
    columns = 12
    rows = 2
    [settings.heat]
    kind = "number"
    label = "Heat"
    low = 0
    high = "most"
    initial = 10
    decimals = 1
    unit = "%"
    accelerates = true
    [settings.most]
    kind = "number"
    label = "Most"
    low = 0
    high = 100
    initial = 100
    decimals = 1
    confirm = "ask"
    question = "Sure?"
    [settings.mode]
    kind = "choice"
    label = "Mode"
    options = [{ key = "slow", label = "Slow" }, { key = "fast", label = "Fast" }]
    [menus.main]
    label = "Menu"
    entries = [{ target = "heat", shown_if = { equal = ["mode", "fast"] } }, "most", "mode", "back"]
    [home]
    turn = "heat"
    press = "main"
    [idle]
    after_ms = 5000
    """
)
"""A design that is quick to read, so that most mutants are of it; the demos have what it lacks."""


@cache
def _designs() -> tuple[Plain, ...]:
    demos = [tomllib.loads((DEMOS / f"{name}.toml").read_text(encoding="utf-8")) for name in ("radio", "darkroom")]
    return (*[SMALL] * 28, *demos)


@cache
def _specs() -> tuple[Plain, ...]:
    small = design_toml.loads(tomli_w.dumps(SMALL))
    designs = [*[small] * 28, _radio(), load(DEMOS / "darkroom.toml")]
    return tuple(json.loads(write_spec(design)) for design in designs)


@cache
def _radio() -> Design:
    return load(DEMOS / "radio.toml")


TRACE = "3 press 2 press 1 press hold wait 500 press press -1 press 2 press held 1 double at 90000 press hold"


@cache
def _chains() -> tuple[Plain, ...]:
    return tuple(tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted((DEMOS / "chains").glob("*.toml")))


def _read_chain(content: bytes) -> None:
    read_chain(content.decode("utf-8", "replace"))


@cache
def _states() -> tuple[Plain, ...]:
    design = _radio()
    state, found = make_initial_state(design), []
    for event in parse_trace(TRACE):
        state, _ = advance(design, state, event)
        found.append(json.loads(to_json(design, state)))
    return tuple(found)


def _read_state(content: bytes) -> None:
    design = _radio()
    state = from_json(design, content.decode("utf-8", "replace")).state
    render(design, advance(design, state, Turn(state.at_ms, 1))[0])


def _read_trace(content: bytes) -> None:
    events = parse_trace(content.decode("utf-8", "replace"))
    assert parse_trace(format_trace(events)) == events
    Device(_radio()).tell_all(events)


def _write_words(document: Plain) -> bytes:
    return " ".join(str(word) for word in document).encode("utf-8", "surrogatepass")


def _write_table(document: Plain) -> bytes:
    return "\n".join(",".join(str(cell) for cell in row) for row in document).encode("utf-8", "surrogatepass")


def _write_lines(document: Plain) -> bytes:
    return "\n".join(" ".join(str(word) for word in line) for line in document).encode("utf-8", "surrogatepass")


@cache
def _dumps() -> tuple[Plain, ...]:
    lines = (DEMOS / "captures" / "knob.vcd").read_text(encoding="utf-8").splitlines()
    return ([line.split(" ") for line in lines[:120]], [line.split(" ") for line in lines[:20]])


@cache
def _tables() -> tuple[Plain, ...]:
    rows: list[list[Any]] = [["Time[s]", "A", "B"]]
    levels = [(1, 1), (0, 1), (0, 0), (1, 0)]
    rows += [[round(number * 0.01, 3), *levels[number % 4]] for number in range(60)]
    return (rows, [["time", "B", "A", "clock"], *([row[0], row[1], row[2], row[1]] for row in rows[1:20])])


def _read_capture(suffix: str) -> Read:
    def read(content: bytes) -> None:
        with tempfile.NamedTemporaryFile(suffix=suffix) as file:
            file.write(content)
            file.flush()
            measure(CaptureFile(Path(file.name)))

    return read


KINDS = {
    kind.name: kind
    for kind in (
        Kind("design", _designs, write_toml, _read_toml, (DesignError,)),
        Kind("design-json", _designs, write_json, _read_json, (DesignError,)),
        Kind("spec", _specs, write_json, _read_spec, (DesignError,)),
        Kind("chain", _chains, write_toml, _read_chain, (BenchError,)),
        Kind("state", _states, write_json, _read_state, (StateError,)),
        Kind("trace", lambda: (TRACE.split(),), _write_words, _read_trace, (TraceError,)),
        Kind("capture-vcd", _dumps, _write_lines, _read_capture(".vcd"), (BenchError,)),
        Kind("capture-csv", _tables, _write_table, _read_capture(".csv"), (BenchError,)),
    )
}
"""Every kind, by name."""
