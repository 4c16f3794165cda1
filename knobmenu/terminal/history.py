"""Every moment of a session, kept: going back and on, and branches that lose nothing.

A moment has a number and knows the number of the one that it followed. One line of moments, from power-on to its end,
is the one that is walked; a moment that is added in the past begins another, and the line that was left is kept by
its end. Beyond `MOST` moments the oldest are let go, so that a long day needs no more memory than an hour.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobmenu.terminal.trying import Part

MOST = 50_000
"""Most moments that are kept. [moments]"""


@attrs.frozen(eq=False)
class Moment:
    """All variants after something happened."""

    number: int
    """Counted from 0, power-on."""
    parent: int
    """The moment that it followed; -1 for power-on."""
    parts: tuple[Part, ...]
    """Each variant."""
    remark: str = ""
    """What happened, where it was no event."""
    switched_on: bool = False
    """Whether all variants were switched on just then."""

    @property
    def at_ms(self) -> int:
        """When it was. [ms since power-on]"""
        return max(part.state.at_ms for part in self.parts)


class History:
    """Moments, and which of them is the present one."""

    def __init__(self, parts: tuple[Part, ...], most: int = MOST) -> None:
        """Begin at power-on.

        Args:
            parts: Each variant, just switched on.
            most: Most moments to keep. [moments]
        """
        self._most = most
        self._moments: dict[int, Moment] = {0: Moment(0, -1, parts, "power-on", True)}
        self._line = [0]
        self._place = 0
        self._ends: list[int] = [0]
        self._next = 1

    @property
    def present(self) -> Moment:
        """The moment that is shown."""
        return self._moments[self._line[self._place]]

    @property
    def place(self) -> int:
        """Where the present moment stands on its line, from 0."""
        return self._place

    @property
    def last(self) -> int:
        """Where the line ends."""
        return len(self._line) - 1

    @property
    def in_past(self) -> bool:
        """Whether something followed the present moment."""
        return self._place < self.last

    @property
    def lines(self) -> int:
        """How many lines there are."""
        return len(self._ends)

    @property
    def line_number(self) -> int:
        """Which of them is walked, counted from 1 in the order in which they began."""
        return self._ends.index(self._line[-1]) + 1

    @property
    def kept(self) -> int:
        """How many moments are kept, on all lines."""
        return len(self._moments)

    def at(self, place: int) -> Moment:
        """Return the moment at a place of the line."""
        return self._moments[self._line[place]]

    def moment(self, number: int) -> Moment | None:
        """Return the moment of a number, if it is still kept."""
        return self._moments.get(number)

    def up_to_present(self) -> tuple[Moment, ...]:
        """Return the moments that led here, in order."""
        return tuple(self._moments[number] for number in self._line[: self._place + 1])

    def add(self, parts: tuple[Part, ...], remark: str = "", *, switched_on: bool = False) -> Moment:
        """Let something follow the present moment, and go there."""
        moment = Moment(self._next, self._line[self._place], parts, remark, switched_on)
        self._next += 1
        self._moments[moment.number] = moment
        if self.in_past:
            del self._line[self._place + 1 :]
            self._ends.append(moment.number)
        else:
            self._ends[self._ends.index(self._line[-1])] = moment.number
        self._line.append(moment.number)
        self._place += 1
        if len(self._moments) > self._most:
            self._let_go()
        return self.present

    def go(self, place: int) -> Moment:
        """Go to a place of the line; beyond its ends, to its ends."""
        self._place = min(max(place, 0), self.last)
        return self.present

    def go_to(self, number: int) -> Moment:
        """Go to a moment by its number, on another line if need be.

        Raises:
            KeyError: There is no such moment any more.
        """
        if number not in self._moments:
            raise KeyError(number)
        if number not in self._line:
            end = next(end for end in self._ends if number in set(self._numbers_back(end)))
            self._line = [*self._numbers_back(end)][::-1]
        self._place = self._line.index(number)
        return self.present

    def other_line(self) -> Moment:
        """Go to the end of the next line, in the order in which the lines began; after the last, the first."""
        end = self._ends[self.line_number % self.lines]
        self._line = [*self._numbers_back(end)][::-1]
        self._place = self.last
        return self.present

    def _numbers_back(self, number: int) -> Iterator[int]:
        while number in self._moments:
            yield number
            number = self._moments[number].parent

    def _let_go(self) -> None:
        """Let a quarter of the moments go, the oldest first, and lines that ended among them.

        Called right after something was added, so the present moment is the newest.
        """
        oldest = sorted(self._moments)[self._most // 4]
        self._moments = {number: moment for number, moment in self._moments.items() if number >= oldest}
        self._line = [number for number in self._line if number in self._moments]
        self._ends = [number for number in self._ends if number in self._moments]
        self._place = self.last
