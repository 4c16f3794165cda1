"""docs/reference/spec.md says what is so: its tables are drawn, its numbers lead somewhere, its examples run."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from docs.draw import EXAMPLE, PARTS, drawn, example, example_spec, names
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.export.fields import SECTIONS
from knobmenu.export.spec import CAUTION, FORMAT, MOST_BYTES, VERSION, load_schema
from knobmenu.export.table import list_transition_rows
from knobmenu.machine.advance import advance
from knobmenu.machine.state import State, make_initial_state
from knobmenu.session.plain import EFFECTS
from tests.export.independent import IndependentDevice
from tests.export.test_independent import as_json, picture_of_the_machine, picture_of_the_other

DOCS = Path(__file__).parents[2] / "docs"
STANDARD = (DOCS / "reference" / "spec.md").read_text(encoding="utf-8")
EVENTS: dict[str, type[Event]] = {
    event.word: event for event in (Turn, HeldTurn, Press, LongPress, DoublePress, Wait, Report)
}


@pytest.mark.parametrize("path", sorted(DOCS.rglob("*.md")), ids=lambda path: path.name)
def test_what_is_drawn_in_a_document_is_what_the_tables_draw_now(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert drawn(text) == text, "out of date: run python -m docs.draw"


def test_everything_that_can_be_drawn_is_drawn_somewhere_once() -> None:
    placed = [name for path in DOCS.rglob("*.md") for name in names(path.read_text(encoding="utf-8"))]
    assert sorted(placed) == sorted({*PARTS})


def test_the_standard_tells_every_rule_and_every_action_in_a_paragraph_of_its_own() -> None:
    told = set(re.findall(r"^9\.[23]\.\d+ (.*?):", STANDARD, re.MULTILINE))
    bold = {name for heads in told for name in re.findall(r"\*\*(\w+)\*\*", heads)}
    rows = list_transition_rows()
    assert bold == {row.rule for row in rows} | {row.action for row in rows}


def test_the_standard_tells_every_event_and_every_effect() -> None:
    words = set(EFFECTS)
    assert set(re.findall(r"^\| 10\.1\.\d+ \| `(\w+)`", STANDARD, re.MULTILINE)) == words
    assert set(re.findall(r"^\| 8\.1\.\d+ \| `(\w+)`", STANDARD, re.MULTILINE)) == set(EVENTS)


def test_every_object_of_the_schema_is_numbered_in_a_section() -> None:
    tables = {name for name, part in load_schema()["$defs"].items() if "properties" in json.dumps(part)}
    assert {name for name in tables if not name.startswith("design")} == set(SECTIONS) - {""}


def _numbers() -> set[str]:
    """Give every number that something in the standard has."""
    heads = re.findall(r"^(?:#+ )?(\d+(?:\.\d+)*|A\.\d+|B\.\d+) ", STANDARD, re.MULTILINE)
    return {*heads, *re.findall(r"^\| (\d+(?:\.\d+)+) \|", STANDARD, re.MULTILINE)}


def test_every_reference_to_a_section_leads_to_one() -> None:
    text = re.sub(r"^\|.*$|```.*?```", "", STANDARD, flags=re.MULTILINE | re.DOTALL)
    referred = set(re.findall(r"\((\d+(?:\.\d+)+)\)", text + json.dumps(load_schema())))
    assert referred
    assert referred <= _numbers()


def test_no_number_stands_twice() -> None:
    heads = re.findall(r"^(?:#+ |\| )?(\d+(?:\.\d+)+|A\.\d+|B\.\d+) ", STANDARD, re.MULTILINE)
    assert len(heads) == len(set(heads)), sorted(head for head in heads if heads.count(head) > 1)


def test_the_standard_is_of_the_version_that_is_written() -> None:
    assert STANDARD.startswith(f"# The spec of a device operated with one knob: version {VERSION[0]}.{VERSION[1]}\n")
    assert f'"{FORMAT}"' in STANDARD
    assert f"{MOST_BYTES:,} bytes".replace(",", " ") in STANDARD
    assert load_schema()["properties"]["version"]["properties"]["major"]["const"] == VERSION[0]
    assert load_schema()["properties"]["format"]["const"] == FORMAT
    assert len(CAUTION) > 100


def test_the_example_is_exported_as_it_stands_there() -> None:
    assert EXAMPLE.read_text(encoding="utf-8") == example_spec(), "export it again: python -m docs.draw"
    assert Draft202012Validator(load_schema()).is_valid(json.loads(example_spec()))


def _examples() -> list[tuple[str, list[str]]]:
    found = re.findall(r"^(B\.\d+) .*?```json-lines\n(.*?)```", STANDARD, re.MULTILINE | re.DOTALL)
    return [(number, text.splitlines()) for number, text in found]


def _event(plain: dict[str, Any]) -> Event:
    return EVENTS[plain["event"]](**{name: value for name, value in plain.items() if name != "event"})


@pytest.mark.parametrize(("number", "lines"), _examples(), ids=lambda part: part if isinstance(part, str) else "")
def test_the_traces_of_the_standard_run_as_they_are_written(number: str, lines: list[str]) -> None:
    design, other = example(), IndependentDevice(json.loads(EXAMPLE.read_text(encoding="utf-8")))
    state: State = make_initial_state(design)
    done: list[Any] = []
    written: list[Any] = []
    for line in lines:
        if line.startswith("="):
            for name, value in json.loads(line[1:]).items():
                assert picture_of_the_machine(design, state)[name] == value
                assert picture_of_the_other(other)[name] == value
        elif line.startswith(">"):
            written.append(json.loads(line[1:]))
        else:
            assert done == written, line
            event = json.loads(line)
            state, said = advance(design, state, _event(event))
            done, written = [as_json(effect, "effect") for effect in said], []
            assert other.take(event) == done
    assert done == written


def test_the_examples_are_there() -> None:
    assert len(_examples()) == 8
