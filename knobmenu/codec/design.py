"""Convert a design to plain data and back: what TOML and JSON files, specs and recordings hold.

Reading builds directly. Only where that fails are the data gone through a second time, slowly, to report everything
that is wrong; see `knobmenu.codec.explanation`.
"""

from __future__ import annotations

from collections.abc import Mapping

from knobmenu.codec.forms import Plain
from knobmenu.codec.tables import DESIGN, FORMAT, ORDER
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError


def to_plain(design: Design) -> dict[str, Plain]:
    """Write a design as plain data, without what is at its default.

    Guarantees: `from_plain` of it equals the design, and its keys stand in a fixed order.
    """
    written = {"format": FORMAT, **DESIGN.plain(design)}
    return {name: written[name] for name in ORDER if name in written}


def from_plain(data: Mapping[str, Plain]) -> Design:
    """Make a design from plain data.

    Raises:
        DesignError: With every problem of the data, each with its path; see `knobmenu.errors.Problem`.
    """
    if isinstance(data, dict) and type(data.get("format")) is int and data["format"] == FORMAT:
        try:
            made: Design = DESIGN.build({name: value for name, value in data.items() if name != "format"})
        except (DesignError, TypeError):
            pass
        else:
            return made
    # Late: most data are those of a design.
    from knobmenu.codec.explanation import explain

    return explain(data)
