"""Which lamps are lit: conditions over the present values, without any state of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobmenu.machine.state import State
from knobmenu.machine.walking import condition_holds

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def find_lit_lamps(design: Design, state: State) -> tuple[bool, ...]:
    """Return, for each lamp of the design in order, whether it is lit now, steadily or blinking."""
    conditions = design.index.lit.values()
    return tuple(condition is not None and condition_holds(design, state, condition) for condition in conditions)
