"""What can be wrong with what the bench is given."""

from __future__ import annotations

from collections.abc import Iterable

from knobmenu.errors import KnobmenuError, Problem, list_problems


class BenchError(KnobmenuError):
    """A chain, a capture or a wish that cannot be: all of its problems at once, in `problems`."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        return list_problems(self.problems)
