"""The labels of a design's parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobmenu.design.menu import BACK, Entry

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def get_label(design: Design, key: str) -> str:
    """Return the label of a setting, menu, action or readout, or of the back entry, in the design's first language."""
    if key == BACK:
        return design.wording.back
    index = design.index
    part = index.settings.get(key) or index.menus.get(key) or index.actions.get(key) or index.readouts[key]
    return part.label


def get_entry_label(design: Design, entry: Entry) -> str:
    """Return the label of a menu's entry: its own, or else that of its target."""
    return entry.label or get_label(design, entry.target)
