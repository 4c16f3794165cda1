"""Changes to documents that keep enough of their structure to reach deep into what reads them.

`change` works on plain data (tables, lists, scalars) and knows what its parts are: it deletes, renames, swaps, retypes,
nests, repeats and resizes. `splinter` works on the written bytes, for what plain data cannot say, such as a key that is
there twice.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable, Iterator
from datetime import date, time
from typing import Any

Plain = Any
"""Tables, lists and scalars."""

Place = tuple[Any, Any]
"""A table or list, and the key or position in it."""

STRANGE: tuple[Any, ...] = (
    0, -1, 1, 2**31 - 1, 2**31, -(2**31) - 1, 2**64, 10**400, True, False, 0.5, -0.0, float("inf"), float("nan"), 1e308,
    "", " ", "a", "\x1b[2J", "\x00", "\u202e", "é", "語", "\U0001f600", "x" * 300, "y" * 20_000, [], {}, [[]], [{}],
    [0], [""], {"a": 1}, {"": 0}, date(2026, 11, 25), time(1, 2, 3),
)  # fmt: skip
"""Values of every type, at the ends of every range, and with characters that a terminal obeys."""

NAMES = ("", "a", "key", "label", "back", "home", "__class__", "high", "low", "x" * 5_000, "\x1b[31m", "语", "a.b", "0")
"""Names for keys and references."""


def places(document: Plain) -> list[Place]:
    """List every place in a document where a value stands."""
    return list(_walk(document))


def _walk(node: Plain) -> Iterator[Place]:
    waiting = [node]
    while waiting:
        parent = waiting.pop()
        items = parent.items() if isinstance(parent, dict) else enumerate(parent)
        for key, value in list(items):
            yield parent, key
            if isinstance(value, dict | list):
                waiting.append(value)


def change(document: Plain, chance: random.Random, most: int = 4) -> Plain:
    """Return a copy of a document with one to `most` changes."""
    changed = copy.deepcopy(document)
    for _ in range(chance.randint(1, most)):
        everywhere = places(changed)
        if not everywhere:
            break
        parent, key = chance.choice(everywhere)
        chance.choice(CHANGES)(changed, parent, key, chance)
    return changed


def _delete(document: Plain, parent: Any, key: Any, chance: random.Random) -> None:
    del parent[key]


def _rename(document: Plain, parent: Any, key: Any, chance: random.Random) -> None:
    """Rename a key, by a letter or wholly; in a list, change the text that names something."""
    if isinstance(parent, dict):
        parent[_slip(str(key), chance)] = parent.pop(key)
    elif isinstance(parent[key], str):
        parent[key] = _slip(parent[key], chance)


def _slip(name: str, chance: random.Random) -> str:
    if not name or chance.random() < 0.3:
        return chance.choice(NAMES)
    at = chance.randrange(len(name))
    return name[:at] + chance.choice(("", "x", name[at] * 2)) + name[at + 1 :]


def _swap(document: Plain, parent: Any, key: Any, chance: random.Random) -> None:
    """Exchange two values, wherever they stand, unless one is inside the other."""
    other, place = chance.choice(places(document))
    here, there = parent[key], other[place]
    if not isinstance(here, dict | list) and not isinstance(there, dict | list):
        parent[key], other[place] = there, here
    else:
        parent[key] = copy.deepcopy(there)


def _retype(document: Plain, parent: Any, key: Any, chance: random.Random) -> None:
    parent[key] = copy.deepcopy(chance.choice(STRANGE))


def _nest(document: Plain, parent: Any, key: Any, chance: random.Random) -> None:
    value = parent[key]
    for _ in range(chance.choice((1, 1, 2, 40))):
        value = [value] if chance.random() < 0.5 else {chance.choice(("a", "all", "any", "not", "label")): value}
    parent[key] = value


def _repeat(document: Plain, parent: Any, key: Any, chance: random.Random) -> None:
    """Put the same value there again: under another name, or once more in the list."""
    times = chance.choice((1, 1, 2, 50))
    for number in range(times):
        if isinstance(parent, dict):
            parent[f"{key}{number}"] = copy.deepcopy(parent[key])
        else:
            parent.insert(key, copy.deepcopy(parent[key]))


def _resize(document: Plain, parent: Any, key: Any, chance: random.Random) -> None:
    """Make a value longer, shorter, larger or smaller."""
    value = parent[key]
    match value:
        case bool():
            parent[key] = not value
        case int():
            parent[key] = chance.choice((value + 1, value - 1, -value, value * 10, value * 2**16, value + 2**32))
        case float():
            parent[key] = chance.choice((value * 1e9, value * 1e-9, -value, value + 1))
        case str():
            parent[key] = chance.choice((value * 2, value * 100, value[:1], value[1:], value + " ", " " + value))
        case list():
            parent[key] = chance.choice((value * 2, value * 30, value[:1], value[1:], value[::-1]))
        case dict() if value:
            parent[key] = dict(list(value.items())[: chance.randrange(len(value))])


CHANGES: tuple[Callable[[Plain, Any, Any, random.Random], None], ...] = (
    _delete, _rename, _rename, _swap, _retype, _retype, _nest, _repeat, _resize, _resize,
)  # fmt: skip
"""The changes, the likelier ones more than once."""


def splinter(content: bytes, chance: random.Random) -> bytes:
    """Return written bytes with one small damage: a piece cut, doubled, moved, or strange bytes put in."""
    if not content:
        return chance.randbytes(3)
    lines = content.splitlines(keepends=True)
    at, until = sorted((chance.randrange(len(content)), chance.randrange(len(content))))
    until = min(until, at + chance.choice((1, 4, 60, 2_000)))
    match chance.randrange(6):
        case 0:
            return content[:at] + content[until:]
        case 1:
            return content[:until] + content[at:until] * chance.choice((1, 1, 30)) + content[until:]
        case 2:
            lines.insert(chance.randrange(len(lines) + 1), chance.choice(lines))
            return b"".join(lines)
        case 3:
            chance.shuffle(lines)
            return b"".join(lines)
        case 4:
            return content[:at] + chance.choice(BYTES) + content[at:]
    return content[:at] + chance.randbytes(chance.randint(1, 4)) + content[at + 1 :]


BYTES = (
    b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\x1b]0;x\x07", b"\x1b[2J", b"\r", b"\xc3(", b"\xf0\x9f\x98\x80", b'"',
    b"'", b"'''", b'"""', b"[", b"]]", b"{", b"}", b"=", b".", b",", b"#", b"\\", b"\\u0000", b"9" * 400, b"-",
    b"1e999", b"nan", b"\n\n", b"\t",
)  # fmt: skip
"""What readers of text trip over."""
