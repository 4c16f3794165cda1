"""The designs that are tried, each with its file."""

from __future__ import annotations

from pathlib import Path

import attrs

from knobmenu.design.whole import Design
from knobmenu.errors import Problem


@attrs.define
class Variant:
    """A design that is tried."""

    design: Design
    """The design in the last good version of the file."""
    path: Path | None
    """Its file; None for the demo."""
    problems: tuple[Problem, ...] = ()
    """The problems in the file now; empty while the file is good."""

    @property
    def title(self) -> str:
        """The name of the design, with its file."""
        return self.design.name if self.path is None else f"{self.design.name} ({self.path.name})"
