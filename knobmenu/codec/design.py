"""Convert a design to plain data and back: what TOML and JSON files, specs and recordings hold.

Reading builds the design directly. Only if that fails does a second, slower pass collect every problem; see
`knobmenu.codec.explanation`.
"""

from __future__ import annotations

from collections.abc import Mapping

from knobmenu.codec.forms import Plain
from knobmenu.codec.tables import DESIGN, FORMAT, ORDER
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError


def to_plain(design: Design) -> dict[str, Plain]:
    """Convert a design to plain data, without fields at their defaults.

    Guarantees: `from_plain` of the result equals the design, and its keys are in a fixed order.
    """
    written = {"format": FORMAT, **DESIGN.write(design)}
    return {name: written[name] for name in ORDER if name in written}


def from_plain(data: Mapping[str, Plain]) -> Design:
    """Build a design from plain data.

    Raises:
        DesignError: Lists every problem in the data, each with its path; see `knobmenu.errors.Problem`.
    """
    if isinstance(data, dict) and type(data.get("format")) is int and data["format"] == FORMAT:
        try:
            made: Design = DESIGN.build({name: value for name, value in data.items() if name != "format"})
        except (DesignError, TypeError):
            pass
        else:
            return made
    # Imported late: most data are valid.
    from knobmenu.codec.explanation import explain

    return explain(data)
