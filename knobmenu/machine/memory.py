"""The non-volatile memory: what it holds of a state, what a save writes, and the state at power-on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from knobmenu.machine.effects import Effect, SaveDue
from knobmenu.machine.persistence import Migration, apply_values, check_objects, store_values
from knobmenu.machine.state import State, get_committed_values, make_initial_state, sort_keys
from knobmenu.machine.stored import Stored, store

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def collect_saved_values(design: Design, state: State) -> dict[str, Stored]:
    """Return what the device's non-volatile memory holds once every due save is done.

    It does not contain a live draft, but the value from before the edit.
    """
    saved = [setting.key for setting in design.settings if setting.saved]
    return store_values(design, get_committed_values(state), saved)


def write_memory(design: Design, memory: Mapping[str, Stored], effects: Iterable[Effect]) -> dict[str, Stored]:
    """Return the non-volatile memory after performing the saves among some effects, in order."""
    written = dict(memory)
    for effect in effects:
        if isinstance(effect, SaveDue):
            written[effect.key] = store(design.index, effect.key, effect.value)
    return written


def power_cycle(design: Design, state: State, memory: Mapping[str, Stored] | None = None) -> State:
    """Return the state after power was cut and restored.

    Args:
        design: The design, the same before and after.
        state: The device when the power was cut.
        memory: What its non-volatile memory held, from `write_memory`; None: every due save had been done.
    """
    return power_on(design, collect_saved_values(design, state) if memory is None else memory).state


def power_on(design: Design, memory: Mapping[str, Stored]) -> Migration:
    """Return the state at power-on, with the values from non-volatile memory.

    A saved setting that cannot have its value from memory is unsaved from the start, so that memory is updated when
    saving next falls due.

    Raises:
        StateError: The memory is not a mapping of stored values.
    """
    dropped: list[str] = []
    state = make_initial_state(design)
    kept_items = {
        key: item
        for key, item in check_objects(memory, "memory").items()
        if key not in design.index.settings or design.index.settings[key].saved
    }
    values = apply_values(design, state.values, kept_items, dropped)
    held = store_values(design, values, [key for key in kept_items if key in design.index.settings])
    unsaved = sort_keys(design, (key for key in held if held[key] != kept_items[key]))
    return Migration(state._replace(values=values, unsaved=unsaved), tuple(dropped))
