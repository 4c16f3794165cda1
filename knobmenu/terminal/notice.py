"""The message in the header, and how long it stays."""

from __future__ import annotations

import attrs

HINT = "? shows the keys"
"""What the header shows while there is no message."""

STAYS_MS = 4000
"""How long a message stays at least. [ms]"""


@attrs.frozen
class Notice:
    """A message in the header."""

    text: str
    ink: str = "dim"
    """How it is written."""
    at_ms: int = 0
    """When it was shown first. [ms of real time]"""


def choose_notice_after_key(notice: Notice, at_ms: int, is_wrong: bool) -> Notice:
    """Return what the header shows once a key is struck: an old message does not stand beside new actions.

    Args:
        notice: The message before.
        at_ms: When the key is struck. [ms of real time]
        is_wrong: Whether a file is still broken; then the message stays.
    """
    return notice if is_wrong or at_ms - notice.at_ms <= STAYS_MS else Notice(HINT)
