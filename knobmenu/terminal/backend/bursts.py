"""Input that arrives together: text pasted into a terminal without bracketed paste, and bytes that are not text.

Each key passes through the app by itself, which takes about half a millisecond; a pasted text of 20,000 characters
would take ten seconds. What one read of the terminal gave is therefore put together again, and passes as one; where a
line is being written, `knobmenu.terminal.backend.queue` writes it as one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeGuard

from textual import events
from textual.message import Message

_FEWEST_CHARACTERS = 64
"""So many must arrive together to be taken for something that nobody typed. [characters]"""

_MOST_BROKEN = 0.05
"""The share of characters that cannot be decoded up to which a text is a text, such as one in another encoding."""

_BOUNDS_OF_PASTE = re.compile(r"\x1b\[20[01]~")


class Typed(events.Event, bubble=False):
    """Several characters that arrived together."""

    def __init__(self, keys: Sequence[events.Key]) -> None:
        self.keys = keys
        super().__init__()

    @property
    def text(self) -> str:
        """The characters."""
        return "".join(key.character or "" for key in self.keys)


def join_typed(messages: Iterable[Message]) -> Iterator[Message]:
    """Put characters that follow each other together, and leave everything else as it is and where it is."""
    run: list[events.Key] = []
    for message in messages:
        if is_character(message):
            run.append(message)
            continue
        yield from _join(run)
        run = []
        yield message
    yield from _join(run)


def drop_binary(text: str) -> str:
    """Return what was read, or nothing of it where it is not text: as keys, a binary file would do anything.

    Args:
        text: What one read returned, with U+FFFD for each byte that could not be decoded. The bounds of a bracketed
            paste stay, since the end of one that has begun must be seen.
    """
    if len(text) < _FEWEST_CHARACTERS or text.count("\ufffd") <= _MOST_BROKEN * len(text):
        return text
    return "".join(_BOUNDS_OF_PASTE.findall(text))


def is_character(message: Message) -> TypeGuard[events.Key]:
    """Return whether a message is a key that writes one character, and not the repeat of one that is held."""
    if not isinstance(message, events.Key) or hasattr(message, "is_repeat"):
        return False
    # Keys with a modifier are named "alt+x"; the plus itself is called "plus".
    return "+" not in message.key and len(message.character or "") == 1 and message.is_printable


def _join(run: list[events.Key]) -> Iterator[Message]:
    if len(run) > 1:
        yield Typed(run)
    else:
        yield from run
