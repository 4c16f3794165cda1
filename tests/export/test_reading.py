"""A spec loads back to the same design, and says what in it cannot be read."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.errors import MOST_LISTED, DesignError, Problem, printable
from knobmenu.export.reading import is_spec, read_spec
from knobmenu.export.spec import MOST_BYTES, build_spec, write_spec
from tests.sampling import sampled
from tests.strategies import designs

Plain = dict[str, Any]


def read(content: bytes) -> Design:
    return read_spec(content, "device.json")


def read_plain(document: Any) -> Design:
    return read(json.dumps(document).encode())


def problems(content: bytes) -> tuple[Problem, ...]:
    with pytest.raises(DesignError) as raised:
        read(content)
    assert raised.value.problems
    assert all(problem.file == "device.json" for problem in raised.value.problems)
    return raised.value.problems


def document_of(design: Design) -> Plain:
    return build_spec(design)


@given(designs())
def test_a_spec_loads_back_to_the_same_design(design: Design) -> None:
    text = write_spec(design)
    assert read(text.encode()) == design
    assert is_spec(text.encode())
    assert write_spec(read(text.encode())) == text


def test_an_unknown_version_is_refused(radio: Design) -> None:
    document = document_of(radio) | {"version": {"major": 3, "minor": 0}}
    assert [str(problem) for problem in problems(json.dumps(document).encode())] == [
        "device.json: version.major: expected 2, got 3. Read it with a later knobmenu."
    ]


def test_an_unknown_field_is_refused_and_the_nearest_one_named(radio: Design) -> None:
    document = document_of(radio)
    document["settings"][0]["lable"] = document["settings"][0].pop("label")
    assert [str(problem) for problem in problems(json.dumps(document).encode())] == [
        'device.json: settings[0].label: expected "Volume", which follows from the design part, got nothing',
        'device.json: settings[0].lable: expected no other field here, got a field "lable". Did you mean "label"?',
    ]


def test_an_unknown_field_of_a_later_minor_version_is_ignored(radio: Design) -> None:
    document = document_of(radio) | {"version": {"major": 2, "minor": 7}, "novelty": 1}
    document["settings"][0]["novelty"] = [1, 2]
    assert read_plain(document) == radio


def test_a_part_that_contradicts_the_design_is_refused(radio: Design) -> None:
    document = document_of(radio)
    document["settings"][0]["high"] = 40
    document["transitions"][2]["action"] = "nothing"
    document["hazards"] = []
    assert [str(problem) for problem in problems(json.dumps(document).encode())] == [
        "device.json: hazards: expected a list of 1, which follows from the design part, got a list of 0",
        "device.json: settings[0].high: expected 30, which follows from the design part, got 40",
        'device.json: transitions[2].action: expected "adjust", which follows from the design part, got "nothing"',
    ]


def test_true_is_not_the_number_1(radio: Design) -> None:
    document = document_of(radio)
    document["settings"][0]["step"] = True
    assert problems(json.dumps(document).encode())[0].path == "settings[0].step"


def test_what_is_wrong_in_the_design_part_is_located_there(radio: Design) -> None:
    document = document_of(radio)
    document["design"]["settings"]["volume"]["high"] = "loudness"
    assert [problem.path for problem in problems(json.dumps(document).encode())] == ["design.settings.volume.high"]


def test_very_many_contradictions_are_counted(radio: Design) -> None:
    document = document_of(radio)
    document["settings"][0] |= {f"novelty{number}": number for number in range(300)}
    with pytest.raises(DesignError) as raised:
        read_plain(document)

    lines = str(raised.value).splitlines()
    assert len(lines) == MOST_LISTED + 1
    assert lines[-1] == f"… and {300 - MOST_LISTED} more problems"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "device.json:1: expected JSON text, got text that is not JSON in column 1: expecting value"),
        (b"[]", "device.json: expected a JSON object, as an exported spec is, got a list of 0"),
        (b'{"format": 1}', 'device.json: format: expected "knobmenu-spec", got 1'),
        (b'{"format": "knobmenu-spec"}', "device.json: version: expected"),
        (b'{\n"a": \xff}', "device.json:2: expected JSON text in UTF-8, got the byte 0xFF, which is not UTF-8"),
        (b'{"a": 1, "a": 2}', "device.json: a: expected each field once, got this field more than once in one object"),
        (b'{"a": 1.5}', "device.json: a: expected whole numbers, without point or exponent, got 1.5"),
        (b'{"a": NaN}', "device.json: a: expected whole numbers, without point or exponent, got NaN"),
        (
            b'{"a": ' + b"9" * 5000 + b"}",
            "device.json: a: expected 32-bit integers, got a number of 5000 digits",
        ),
        (
            b'{"": [1, {"b c": -1e9}]}',
            'device.json: ""[1]."b c": expected whole numbers, without point or exponent, got -1e9',
        ),
        (b"[" + b"9" * 25 + b"]", "device.json: [0]: expected 32-bit integers, got a number of 25 digits"),
        (b"[" * 100_000, "device.json:1: expected at most 100 deep, got objects and lists 101 deep"),
        (
            b" " * (MOST_BYTES + 1),
            f"device.json: expected at most {MOST_BYTES} bytes, got a document of {MOST_BYTES + 1} bytes",
        ),
        (
            b'{"format": "knobmenu-spec", "version": {"major": 2, "minor": 0}}',
            "device.json: design: expected the design as its author wrote it, got nothing",
        ),
    ],
)
def test_what_is_no_spec_is_refused_with_its_place(content: bytes, message: str) -> None:
    assert str(problems(content)[0]).startswith(message)


@given(
    st.binary(max_size=200)
    | st.recursive(st.none() | st.integers() | st.text(), st.lists).map(json.dumps).map(str.encode)
)
def test_no_bytes_whatever_give_anything_but_a_located_error(content: bytes) -> None:
    assert problems(content)


# Documents that were changed at random.


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    items = enumerate(value) if isinstance(value, list) else value.items() if isinstance(value, dict) else ()
    for name, part in items:
        yield (*path, name)
        yield from places(part, (*path, name))


def mutated(text: str, path: tuple[Any, ...], chance: random.Random) -> Any:
    """Change one place of a document: take it away, double it, or put something else there."""
    document = json.loads(text)
    *path_there, last = path
    holder = document
    for name in path_there:
        holder = holder[name]
    value = holder[last]
    other: list[Callable[[], Any]] = [
        lambda: chance.choice([None, True, False, 0, 1, -1, 2**31, 2**70, "", "volume", "x" * 500, [], {}, [[]]]),
        lambda: value + chance.choice([-1, 1]) if type(value) is int else [value],
        lambda: not value if isinstance(value, bool) else {"x": value},
        lambda: value[:-1] if isinstance(value, str | list) and value else 7,
    ]
    match chance.randrange(4):
        case 0:
            del holder[last]
        case 1 if isinstance(holder, list):
            holder.insert(chance.randrange(len(holder) + 1), value)
        case 1:
            holder[f"{last}x"] = holder.pop(last)
        case _:
            holder[last] = chance.choice(other)()
    return document


def test_mutated_specs_load_or_are_refused_with_a_located_error(radio: Design) -> None:
    chance = random.Random(20_261)
    text, refused = write_spec(radio), 0
    everywhere = list(places(json.loads(text)))
    for number in range(sampled(10_000, 2_000)):
        changed = mutated(text, chance.choice(everywhere), chance)
        content = json.dumps(changed, ensure_ascii=False).encode()
        if number % 8 == 5:  # and some with a field twice, or with a number that is not whole
            content = content.replace(b'"label":', b'"label": 1.5, "label":', chance.randrange(3))
            content = content.replace(b": 1,", b": 1e3,", chance.randrange(3))
        if number % 4 == 3:  # and some that are not JSON any more
            at = chance.randrange(len(content))
            content = content[:at] + chance.randbytes(chance.randrange(3)) + content[at + chance.randrange(3) :]
        try:
            design = read(content)
        except DesignError as error:
            refused += 1
            for problem in error.problems:
                assert problem.got
                assert problem.expected
                assert problem.path or problem.line, problem
                place = f"device.json:{problem.line}" if problem.line else "device.json"
                assert str(problem).startswith(f"{place}: {printable(problem.path)}"), problem
        else:
            assert read(write_spec(design).encode()) == design
    assert refused > 0
