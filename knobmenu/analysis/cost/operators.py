"""How long gestures take: a keystroke-level model whose operators and their sources are in a data file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, assert_never

import attrs

from knobmenu.analysis.cost.gestures import Gesture, find_fast_gap_ms, perform
from knobmenu.codec.recognition import Document, recognize, recognize_json, refuse_other
from knobmenu.codec.toml_text import parse_toml
from knobmenu.errors import DesignError, Problem, quote_value
from knobmenu.machine.effects import ScreenEntered

if TYPE_CHECKING:
    from knobmenu.design.whole import Design
    from knobmenu.machine.state import State

FORMAT = 1
NEEDED = ("K", "H", "M", "detent")
"""The operators that a knob needs."""


@attrs.frozen
class Seconds:
    """A time as a range. [s]"""

    low: float = 0.0
    typical: float = 0.0
    high: float = 0.0

    def __add__(self, other: Seconds) -> Seconds:
        """Add the ranges, for one time after the other."""
        return Seconds(self.low + other.low, self.typical + other.typical, self.high + other.high)

    def __mul__(self, times: float) -> Seconds:
        """Multiply the range, for a repeated time."""
        return Seconds(self.low * times, self.typical * times, self.high * times)


@attrs.frozen
class Operator:
    """One operator of the model."""

    name: str
    seconds: Seconds
    meaning: str
    source: str
    """Where the values come from, or that they are an assumption."""


@attrs.frozen
class Operators:
    """All operators, by name."""

    by_name: Mapping[str, Operator] = attrs.field(eq=False)

    def get_seconds(self, name: str) -> Seconds:
        """Return the time of an operator. [s]"""
        return self.by_name[name].seconds

    def time_gesture(self, design: Design, gesture: Gesture) -> Seconds:
        """Return how long one gesture takes on a design's knob, without preparing for it. [s]

        A hold is the design's long press, and a press waits until no second one can follow where the design has a
        double press.
        """
        knob = design.knob
        match gesture.kind:
            case "turn" if gesture.times > 1:
                return _make_exact(gesture.detents * find_fast_gap_ms(design, gesture.times))
            case "turn":
                return self.get_seconds("detent") * gesture.detents
            case "held":
                # The knob goes down once for the whole run.
                return self.get_seconds("K") + self.get_seconds("detent") * gesture.detents
            case "press":
                return self.get_seconds("K") + _make_exact(knob.double_press_ms)
            case "hold":
                return _make_exact(knob.long_press_ms)
            case "double":
                return self.get_seconds("K") * 2
            case "wait":
                return _make_exact(design.idle.after_ms)
            case "report":
                return Seconds()
        assert_never(gesture.kind)

    def predict(self, design: Design, start: State, way: Iterable[Gesture]) -> Seconds:
        """Predict how long a way takes from a state on. [s]

        The hand goes to the knob once (H). Before the first gesture, and again after each new screen, the person
        reads and decides (M).
        """
        total, state, screens = self.get_seconds("H"), start, 1
        for gesture in way:
            total += self.get_seconds("M") * screens + self.time_gesture(design, gesture)
            state, effects = perform(design, state, gesture)
            screens = min(sum(isinstance(effect, ScreenEntered) for effect in effects), 1)
        return total

    def add_up(self, names: str) -> Seconds:
        """Add up operators written one after the other, such as ``P M K``. [s]"""
        total = Seconds()
        for name in names.split():
            total += self.get_seconds(name)
        return total


def _make_exact(ms: int) -> Seconds:
    return Seconds(ms / 1000, ms / 1000, ms / 1000)


@cache
def load_operators() -> Operators:
    """Read the operators that come with the package."""
    text = files("knobmenu.analysis.cost").joinpath("operators.toml").read_text(encoding="utf-8")
    return read_operators(text, "operators.toml")


def read_operators(text: str, file: str = "") -> Operators:
    """Read operators from the text of a TOML file.

    Raises:
        DesignError: The text is not a file of operators; says everything that is wrong.
    """
    refuse_other(recognize_json(text), Document.OPERATORS, file)
    plain = parse_toml(text, file)
    if "operators" not in plain:
        refuse_other(recognize(plain), Document.OPERATORS, file)
    problems: list[Problem] = []
    if plain.get("format") != FORMAT:
        problems.append(Problem("format", quote_value(plain.get("format")), f"format = {FORMAT}", file=file))
    tables = plain.get("operators")
    tables = tables if isinstance(tables, dict) else {}
    operators = {name: _read_operator(name, table, file, problems) for name, table in tables.items()}
    problems += [
        Problem(f"operators.{name}", "nothing", "low, typical and high in seconds, and a source", file=file)
        for name in NEEDED
        if name not in operators
    ]
    DesignError.raise_any(problems)
    return Operators(operators)


def _read_operator(name: str, table: Any, file: str, problems: list[Problem]) -> Operator:
    values = table if isinstance(table, dict) else {}
    numbers = [values.get(which) for which in ("low", "typical", "high")]
    times = [float(number) for number in numbers if isinstance(number, int | float) and 0 <= number <= 3600]
    if len(times) < 3 or times != sorted(times):
        expected = "low, typical and high in ascending order, in seconds from 0 to 3600"
        problems.append(Problem(f"operators.{name}", quote_value(numbers), expected, file=file))
        times = [0.0, 0.0, 0.0]
    source = values.get("source")
    if not isinstance(source, str) or not source:
        problems.append(
            Problem(f"operators.{name}.source", quote_value(source), "where the values come from", file=file)
        )
    return Operator(name, Seconds(*times), str(values.get("meaning", "")), str(source))
