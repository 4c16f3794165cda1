"""Every path of a TOML text is found, on the line where it stands."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.codec.forms import join_key
from knobmenu.files import toml
from knobmenu.files.spans import find_comments, find_lines, find_spans
from tests.strategies import designs


def paths(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Walk every path of parsed data."""
    if path:
        yield path, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from paths(inner, join_key(path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from paths(inner, f"{path}[{index}]")


EVERY_FORM = """\
# a comment with [brackets] and "quotes"
one = 1 # behind = a value
"two words" = 2
'three.dots' = 3
"four \\" \\u00e9" = 4
five.six = 5
five . "se ven" = 6

[table] # behind a header
text = "a # no comment, no ] end"
literal = 'a \\ b'
long = \"\"\"
7 = not a key ""\\"
\"\"\"
last = '''
[no.header]'''
when = 1979-05-27 07:32:00
list = [ 11, [12, 13], # inside
  # between = 0
  { a = 14, b.c = [15] },
]
[table.sub]
x = 16
[[many]]
y = 17
[[many]]
y = 18
[[many.inner]]
z = 19
[many.inner.deep]
w = 20
[[many.inner]]
z = 21
"""


def test_every_form_of_toml_is_walked() -> None:
    where = find_lines(EVERY_FORM)
    rows = EVERY_FORM.split("\n")

    assert set(where) == {path for path, _ in paths(tomllib.loads(EVERY_FORM))}
    numbers = {path: value for path, value in paths(tomllib.loads(EVERY_FORM)) if type(value) is int}
    assert {path: str(value) in rows[where[path] - 1] for path, value in numbers.items()} == dict.fromkeys(
        numbers, True
    )
    assert where["table.when"] == 17
    assert where["many[1].inner[1].z"] == 33


def test_comments_are_told_from_signs_inside_of_texts() -> None:
    told = [EVERY_FORM[start:end] for start, end in find_comments(EVERY_FORM)]

    assert told == [
        '# a comment with [brackets] and "quotes"',
        "# behind = a value",
        "# behind a header",
        "# inside",
        "# between = 0",
    ]


@settings(max_examples=40, deadline=None)
@given(designs())
def test_every_path_of_a_written_design_is_found_with_its_value(design: Any) -> None:
    text = toml.dumps(design)
    where = find_spans(text)
    data = dict(paths(tomllib.loads(text)))

    assert set(where) == set(data)
    for path, span in where.items():
        if isinstance(data[path], str | int):
            assert tomllib.loads(f"value = {text[span.value : span.end]}")["value"] == data[path]


KEYS = st.sampled_from(["a", "b-1", "long key", 'with "quotes"', "dots.inside", "#", "é", "true", "1"])
VALUES = st.recursive(
    st.one_of(st.integers(0, 10**6), st.booleans(), st.text("ab \"'#[]{},=\\é\n", max_size=6)),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=5,
)


def written(value: Any, quotes: str) -> str:
    """Write a value, texts in one of the four kinds of quotes where they fit."""
    if isinstance(value, list):
        return "[" + ",\n # ] \n".join(written(item, quotes) for item in value) + ("\n,]" if value else "]")
    if isinstance(value, str):
        plain = not any(sign in value for sign in "\"'\\")
        if quotes == "'" and plain and "\n" not in value:
            return f"'{value}'"
        if quotes in ("'''", '"""') and plain:
            return f"{quotes}\n{value}{quotes}"
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'
    return str(value).lower()


@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(KEYS, st.dictionaries(KEYS, VALUES, max_size=4), max_size=4),
    st.sampled_from(['"', "'", '"""', "'''"]),
)
def test_every_path_of_any_tables_is_found_with_its_value(tables: dict[str, dict[str, Any]], quotes: str) -> None:
    rows = []
    for name, table in tables.items():
        rows.append(f"[ {written(name, '')} ] # header")
        rows += [f"\t{written(key, '')}\t=  {written(value, quotes)}  # = [x]" for key, value in table.items()]
    text = "\n".join(rows)
    where = find_spans(text)
    data = dict(paths(tomllib.loads(text)))

    assert set(where) == set(data)
    for path, span in where.items():
        if not isinstance(data[path], dict):
            assert tomllib.loads(f"value = {text[span.value : span.end]}")["value"] == data[path]
