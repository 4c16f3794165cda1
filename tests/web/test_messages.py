"""What a browser sends is read or dropped; nothing of it asks for a screen without limits."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.web.messages import MOST_COLUMNS, MOST_ROWS, Focus, Keys, Ping, Resize, read_message

JSON: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=12,
)
WORDS = st.sampled_from(["stdin", "resize", "ping", "focus", "blur", "open_url", ""])


@pytest.mark.parametrize(
    ("envelope", "message"),
    [
        (["stdin", "\x1b[C"], Keys("\x1b[C")),
        (["stdin", "a\x1b[48;99999;99999;1;1tb"], Keys("ab")),
        (["stdin", "\x1b[4;0;0t"], Keys("")),
        (["stdin", "\x1b[48;\x1b[48;1t9;9;0;0t"], Keys("")),
        (["resize", {"width": 100, "height": 30}], Resize(100, 30)),
        (["resize", {"width": 99_999, "height": 99_999}], Resize(MOST_COLUMNS, MOST_ROWS)),
        (["resize", {"width": 0, "height": -5}], Resize(1, 1)),
        (["ping", "17"], Ping("17")),
        (["focus"], Focus(True)),
        (["blur"], Focus(False)),
        (["resize", {"width": "wide", "height": 3}], None),
        (["deliver_file_start", "key"], None),
    ],
)
def test_messages_of_a_page_are_read(envelope: list[Any], message: object) -> None:
    assert read_message(json.dumps(envelope)) == message


KEYS = (
    st.lists(st.sampled_from(["\x1b[48;", "\x1b[4;", "1", ";", "t", "a"]))
    .map("".join)
    .map(lambda keys: ["stdin", keys])
)


@given(st.text() | KEYS.map(json.dumps) | JSON.map(json.dumps) | st.tuples(WORDS, JSON).map(list).map(json.dumps))
def test_whatever_comes_is_a_message_within_limits_or_nothing(text: str) -> None:
    match read_message(text):
        case Resize(columns, rows):
            assert 1 <= columns <= MOST_COLUMNS
            assert 1 <= rows <= MOST_ROWS
        case Keys(keys):
            assert re.search(r"\x1b\[48;[\d;]*t", keys) is None
            keys.encode("utf-8")
        case Ping(content):
            assert content in text or content in json.loads(text)
        case other:
            assert other in (None, Focus(True), Focus(False))
