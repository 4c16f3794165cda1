"""The spec of a design: one self-contained JSON document, for those who build the device.

docs/reference/spec.md is the standard, which numbers every field; `spec.schema.json` beside this module is its schema.
A spec contains the design as its author wrote it, and everything that follows from it. A program that builds the device
reads only the latter; a design tool reads the former.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, cast

from knobmenu.codec import to_plain
from knobmenu.design.whole import strip_simulation
from knobmenu.errors import DesignError, Problem
from knobmenu.export.display import build_display, build_row, build_texts, build_units
from knobmenu.export.parts import (
    Plain,
    build_action,
    build_condition,
    build_menu,
    build_readout,
    build_setting,
    build_target,
)
from knobmenu.export.table import list_transition_rows
from knobmenu.machine.advance import MOST_TELLING

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

FORMAT = "knobmenu-spec"
"""The value of `format` in the document."""

VERSION = (2, 0)
"""The version of the standard, docs/reference/spec.md: major, minor."""

MOST_BYTES = 32 * 2**20
"""The largest document that is written or read. [bytes]"""

CAUTION = (
    "A menu limit, a confirmation or a hidden entry is not a protective function. Heat, mains voltage, hearing and"
    " motion need protection that does not depend on this document or on the software that follows it, by the"
    " applicable standards and local codes, judged by a qualified person."
)
"""Part of every document, before anything that a device follows."""


def build_spec(design: Design) -> Plain:
    """Build the spec.

    Returns:
        The document, in JSON's own types, its fields in the order of docs/reference/spec.md.
    """
    return {
        "format": FORMAT,
        "version": {"major": VERSION[0], "minor": VERSION[1]},
        "name": design.name,
        "caution": CAUTION,
        "hazards": [
            {"kind": kind, "key": part.key, "label": part.label, "caution": part.hazard, "confirm": part.confirm}
            for kind, parts in (("setting", design.settings), ("action", design.actions))
            for part in parts
            if part.hazard
        ],
        "knob": _build_knob(design),
        "display": build_display(design),
        "languages": list(design.languages),
        "language_from": design.index.positions[design.language] if design.language else None,
        "texts": build_texts(design),
        "units": build_units(design),
        "settings": [build_setting(design, setting) for setting in design.settings],
        "pairs": [
            {"lower": design.index.positions[pair.lower], "upper": design.index.positions[pair.upper]}
            for pair in design.index.pairs
        ],
        "readouts": [build_readout(design, readout) for readout in design.readouts],
        "actions": [build_action(action) for action in design.actions],
        "menus": [build_menu(design, menu) for menu in design.menus],
        "home": _build_home(design),
        "gestures": {"long_press": design.gestures.long_press, "double_press": design.gestures.double_press},
        "wording": {
            "back": design.wording.back,
            "yes": design.wording.yes,
            "no": design.wording.no,
            "hold": design.wording.hold,
            "empty": design.wording.empty,
        },
        "timing": {
            "idle_after_ms": design.idle.after_ms,
            "idle_to": design.idle.to,
            "save_after_ms": design.save_after_ms,
        },
        "lamps": [
            {
                "key": lamp.key,
                "label": lamp.label,
                "colour": lamp.colour,
                "lit_if": build_condition(design.index.lit[lamp.key]),
                "blink_ms": lamp.blink_ms,
                "answers": list(lamp.answers),
                "flash_ms": lamp.flash_ms,
            }
            for lamp in design.lamps
        ],
        "tones": [
            {"answers": list(tone.answers), "length_ms": tone.length_ms, "pitch_hz": tone.pitch_hz}
            for tone in (design.sounder.tones if design.sounder else ())
        ],
        "most_telling": list(MOST_TELLING),
        "transitions": [{**row._asdict(), "ends_in": list(row.ends_in)} for row in list_transition_rows()],
        "design": to_plain(strip_simulation(design)),
    }


def write_spec(design: Design) -> str:
    """Write the spec as indented JSON text that ends with a line feed; the same design gives the same text.

    Raises:
        DesignError: The document would be larger than `MOST_BYTES`, so that it could not be read back.
    """
    text = json.dumps(build_spec(design), ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    size = len(text.encode())
    if size > MOST_BYTES:
        expected = f"at most {MOST_BYTES} bytes"
        raise DesignError([Problem("", f"a spec of {size} bytes", expected, "give long scales a coarser step")])
    return text


@cache
def load_schema() -> Plain:
    """Return the JSON Schema of the document, draft 2020-12."""
    return cast(Plain, json.loads((files("knobmenu.export") / "spec.schema.json").read_text(encoding="utf-8")))


def _build_knob(design: Design) -> Plain:
    knob = design.knob
    return {
        "detents_per_turn": knob.detents_per_turn,
        "pulses_per_turn": knob.pulses_per_turn,
        "detents_per_period": knob.detents_per_period,
        "clockwise": knob.clockwise,
        "debounce_ms": knob.debounce_ms,
        "long_press_ms": knob.long_press_ms,
        "double_press_ms": knob.double_press_ms,
        "turns_while_held": knob.turns_while_held,
        "acceleration": [{"faster_than_ms": rule.faster_than_ms, "times": rule.times} for rule in knob.acceleration],
    }


def _build_home(design: Design) -> dict[str, Any]:
    home = design.home
    return {
        "rows": [
            {"left": build_row(design, row.left), "right": build_row(design, row.right), "bar": row.bar}
            for row in home.rows
        ],
        **{gesture: build_target(design, key) if key else None for gesture, key in home.targets.items()},
    }
