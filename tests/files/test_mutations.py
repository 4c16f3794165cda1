"""No bytes whatever give a traceback: a mutated design file loads, or is refused with its place.

A sample of the mutations runs by default, all 10,000 with KNOBMENU_WHOLE=1.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.errors import DesignError
from knobmenu.files import json, toml
from knobmenu.files.opening import decode_text
from knobmenu.files.starter import read_starter
from tests.sampling import sampled

SEED = 20_240_229
MUTATIONS = sampled(10_000, 2_000)
SPLINTERS = (
    *(
        b'"',
        b"'",
        b"[",
        b"]",
        b"{",
        b"}",
        b"=",
        b".",
        b",",
        b"#",
        b"\n",
        b"\\",
        b'"""',
        b"[[",
        b"-",
        b"_",
        b"0",
        b"9" * 30,
    ),
    *(
        b"true",
        b"nan",
        b"1e400",
        b"1979-05-27",
        b"\x00",
        b"\xff",
        b"\xed\xa0\x80",
        b"\r",
        b"\x1b[31m",
        b"key",
        b"home",
        b"[" * 400,
    ),
)
SEEDS = tuple(
    path.read_bytes() for path in sorted((Path(__file__).parent / "bad").glob("*.toml"))
) + (read_starter().encode(),) * 60  # fmt: skip


def mutate(content: bytes, rng: random.Random) -> bytes:
    """Cut, repeat, swap or splinter a text in one to four places."""
    for _ in range(rng.randint(1, 4)):
        start = rng.randrange(len(content) + 1)
        end = min(start + rng.choice([1, 1, 2, 5, 40]), len(content))
        part = content[start:end]
        put = rng.choice([b"", part + part, part[::-1], rng.choice(SPLINTERS), rng.choice(SPLINTERS) + part])
        content = content[:start] + put + content[end:]
    return content


def judge(content: bytes) -> tuple[bool, bool]:
    """Load a file's bytes: whether it is a design, and whether each problem has a line or a path."""
    try:
        toml.loads(decode_text(content, "my.toml"), "my.toml")
    except DesignError as error:
        whole = ("a file of", "an empty file", "a number with too many", "lists or tables nested")
        return False, bool(error.problems) and all(
            problem.line or problem.path or problem.got.startswith(whole) for problem in error.problems
        )
    return True, True


@pytest.mark.slow
def test_a_mutated_file_loads_or_is_refused_with_its_place() -> None:
    rng = random.Random(SEED)
    loaded = 0
    for number in range(MUTATIONS):
        content = mutate(rng.choice(SEEDS), rng)
        design, located = judge(content)
        assert located, (SEED, number, content)
        loaded += design

    assert 0.02 < loaded / MUTATIONS < 0.5  # the mutations are neither all harmless nor all fatal


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=60))
def test_any_bytes_are_refused_with_their_place(content: bytes) -> None:
    assert judge(content) == (False, True)


@settings(max_examples=150, deadline=None)
@given(
    st.one_of(st.text(max_size=40), st.sampled_from(["[" * 100_000, '{"a":' * 100_000, "9" * 5000, '{"a":1,"a":2}']))
)
def test_any_text_is_refused_as_json_in_words(text: str) -> None:
    with pytest.raises(DesignError) as refused:
        json.loads(text, "my.json")

    assert all(problem.file == "my.json" for problem in refused.value.problems)
