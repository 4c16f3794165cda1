"""The message in the header, and when it disappears."""

from __future__ import annotations

import attrs

HINT = "? shows the keys"
"""The text of the header without a message."""

STAYS_MS = 4000
"""The shortest time for which a message is shown. [ms]"""


@attrs.frozen
class Notice:
    """A message in the header."""

    text: str
    ink: str = "dim"
    """Its ink."""
    at_ms: int = 0
    """The time at which it appeared. [ms of real time]"""


def choose_notice_after_key(notice: Notice, at_ms: int, is_wrong: bool) -> Notice:
    """Return the notice after a key: old messages disappear at the next action.

    Args:
        notice: The present notice.
        at_ms: The time of the key. [ms of real time]
        is_wrong: Whether a file is still broken, so that the message stays.
    """
    return notice if is_wrong or at_ms - notice.at_ms <= STAYS_MS else Notice(HINT)
