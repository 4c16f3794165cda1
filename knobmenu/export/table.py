"""The transitions of the machine as plain rows, for the spec and for drawings."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from knobmenu.machine.state import Mode
from knobmenu.machine.transitions import TRANSITIONS


class TransitionRow(NamedTuple):
    """One outcome of an event in a mode."""

    mode: str
    """The mode before, one of `knobmenu.machine.state.Mode`."""
    event: str
    """The event's word, or ``idle``."""
    rule: str
    """The rule that determines the case, numbered in docs/reference/spec.md."""
    case: str
    """The case."""
    when: str
    """The case in words."""
    action: str
    """The action, numbered in docs/reference/spec.md."""
    ends_in: tuple[str, ...]
    """The modes in which it can end."""


@cache
def list_transition_rows() -> tuple[TransitionRow, ...]:
    """List every transition, in the order of the table."""
    return tuple(
        TransitionRow(
            mode=mode.value,
            event=event.word,
            rule=row.rule,
            case=case.word,
            when=case.meaning,
            action=arc.action,
            ends_in=tuple(to.value for to in Mode if to in arc.to),
        )
        for (mode, event), row in TRANSITIONS.items()
        for case, arc in row.arcs.items()
    )
