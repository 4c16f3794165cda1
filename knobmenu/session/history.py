"""Every moment of a session, kept: going back and on, and branches that lose nothing.

A moment has a number and knows the number of the one that it followed. One line of moments, from power-on to its end,
is the one that is walked; a moment that is added in the past begins another, and the line that was left is kept by
its end.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator

from knobmenu.session.pages import LIVE, Moment, Pages
from knobmenu.session.trying import Part


class History:
    """Moments, and which of them is the present one."""

    def __init__(self, parts: tuple[Part, ...], live: int = LIVE) -> None:
        """Begin at power-on.

        Args:
            parts: Each variant, just switched on.
            live: How many pages of moments are kept as they are; see `knobmenu.session.pages`.
        """
        self._present = Moment(0, -1, parts, "power-on", True)
        self._pages = Pages(self._present, live)
        self._followed: dict[int, int] = {0: -1}
        """For the moments that did not follow the one numbered before them, which they followed."""
        self._begins = [0]
        """The numbers of those, in order."""
        self._switched_on = [0]
        """The numbers of the moments at which all variants were switched on, in order."""
        self._line = [range(1)]
        """The numbers on the line that is walked, in runs."""
        self._starts = [0]
        """The places at which those runs start."""
        self._place = 0
        self._ends = [0]
        self._walked = 0
        """Which of the ends is that of the line that is walked."""

    @property
    def present(self) -> Moment:
        """The moment that is shown."""
        return self._present

    @property
    def place(self) -> int:
        """Where the present moment stands on its line, from 0."""
        return self._place

    @property
    def last(self) -> int:
        """Where the line ends."""
        return self._starts[-1] + len(self._line[-1]) - 1

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
        return self._walked + 1

    @property
    def kept(self) -> int:
        """How many moments are kept, on all lines."""
        return len(self._pages)

    def at(self, place: int) -> Moment:
        """Return the moment at a place of the line."""
        run = bisect_right(self._starts, place) - 1
        return self._pages.moment(self._line[run][place - self._starts[run]])

    def moment(self, number: int) -> Moment:
        """Return the moment of a number.

        Raises:
            KeyError: There is no such moment.
        """
        if not 0 <= number < len(self._pages):
            raise KeyError(number)
        return self._pages.moment(number)

    def up_to_present(self) -> Iterator[Moment]:
        """Give the moments that led here, in order, from the last time that all variants were switched on."""
        start = max(
            place
            for number in self._switched_on
            if (place := self._place_of(number)) is not None and place <= self.place
        )
        for place in range(start, self._place + 1):
            yield self.at(place)

    def add(self, parts: tuple[Part, ...], remark: str = "", *, switched_on: bool = False) -> Moment:
        """Let something follow the present moment, and go there."""
        before, number = self._present, len(self._pages)
        moment = Moment(number, before.number, parts, remark, switched_on)
        if self.in_past:
            self._cut()
            self._walked = len(self._ends)
            self._ends.append(number)
        self._ends[self._walked] = number
        if before.number == number - 1:
            self._line[-1] = range(self._line[-1].start, number + 1)
        else:
            self._followed[number] = before.number
            self._begins.append(number)
            self._starts.append(self.last + 1)
            self._line.append(range(number, number + 1))
        if switched_on:
            self._switched_on.append(number)
        self._pages.add(moment, before)
        self._place += 1
        self._present = moment
        return moment

    def go(self, place: int) -> Moment:
        """Go to a place of the line; beyond its ends, to its ends."""
        self._place = min(max(place, 0), self.last)
        self._present = self.at(self._place)
        return self._present

    def go_to(self, number: int) -> Moment:
        """Go to a moment by its number, on another line if need be.

        Raises:
            KeyError: There is no such moment.
        """
        self.moment(number)
        place = self._place_of(number)
        for line in range(self.lines):
            if place is not None:
                break
            self._walk(line)
            place = self._place_of(number)
        assert place is not None, "every moment is on some line"
        return self.go(place)

    def other_line(self) -> Moment:
        """Go to the end of the next line, in the order in which the lines began; after the last, the first."""
        self._walk((self._walked + 1) % self.lines)
        return self.go(self.last)

    def _cut(self) -> None:
        """End the line at the present moment."""
        run = bisect_right(self._starts, self._place) - 1
        del self._line[run + 1 :], self._starts[run + 1 :]
        self._line[run] = self._line[run][: self._place - self._starts[run] + 1]

    def _walk(self, line: int) -> None:
        """Take a line as the one that is walked."""
        self._walked = line
        runs = []
        number = self._ends[line]
        while number >= 0:
            begin = self._begins[bisect_right(self._begins, number) - 1]
            runs.append(range(begin, number + 1))
            number = self._followed[begin]
        self._line = runs[::-1]
        self._starts = [0]
        for run in self._line[:-1]:
            self._starts.append(self._starts[-1] + len(run))

    def _place_of(self, number: int) -> int | None:
        """Return where a moment stands on the line; None where it is on another."""
        for start, run in zip(self._starts, self._line, strict=True):
            if number in run:
                return start + number - run.start
        return None
