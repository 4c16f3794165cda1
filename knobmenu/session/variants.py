"""The designs that are tried, each with the file that it comes from."""

from __future__ import annotations

from pathlib import Path

import attrs

from knobmenu.design.whole import Design
from knobmenu.errors import Problem


@attrs.define
class Variant:
    """A design that is tried."""

    design: Design
    """As it was when its file was last good."""
    path: Path | None
    """Its file; None for the demo."""
    problems: tuple[Problem, ...] = ()
    """What is wrong in the file now; none while it is good."""

    @property
    def title(self) -> str:
        """What it is called, with its file."""
        return self.design.name if self.path is None else f"{self.design.name} ({self.path.name})"
