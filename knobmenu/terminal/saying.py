"""What the header says, and for how long."""

from __future__ import annotations

import attrs

HINT = "? shows the keys"
"""What is said while there is nothing to say."""

STAYS_MS = 4000
"""How long what was said stays at least. [ms]"""


@attrs.frozen
class Said:
    """Something that was said."""

    text: str
    ink: str = "dim"
    """How it is written."""
    at_ms: int = 0
    """When it was said. [ms of real time]"""


def on_key_at(said: Said, at_ms: int, is_wrong: bool) -> Said:
    """Let what was said a while ago not stand beside what is done now.

    Args:
        said: What was said last.
        at_ms: When a key is struck. [ms of real time]
        is_wrong: Whether anything is wrong still; then what was said stays.
    """
    return said if is_wrong or at_ms - said.at_ms <= STAYS_MS else Said(HINT)
