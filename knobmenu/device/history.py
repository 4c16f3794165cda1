"""The history of a device or a session: every moment, on branches; going back loses nothing.

A moment has a number, counted from 0 at power-on, and follows another one, its parent. A branch is a sequence of
moments from power-on to its end; one branch is current. A moment that is added in the past begins another branch; the
former one stays.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from typing import Generic, TypeVar

from knobmenu.device.pages import LIVE, Cause, Pages, Replay

T = TypeVar("T")


class History(Generic[T]):
    """Moments, and which of them is the present one."""

    def __init__(self, first: T, replay: Replay[T], live: int = LIVE) -> None:
        """Begin at power-on.

        Args:
            first: The moment of power-on.
            replay: Computes a moment from the one before it and its cause; see `knobmenu.device.pages`.
            live: How many pages of moments stay unpacked. [pages]
        """
        self._pages = Pages(first, replay, live)
        self._present = first
        self._followed: dict[int, int] = {0: -1}
        """The parents of the moments that do not follow the one numbered before them."""
        self._begins = [0]
        """The numbers of those, in order: each begins a run of moments that follow each other."""
        self._begun_on = [0]
        """The branch on which each of those runs was added: the first that it is on."""
        self._branch = [range(1)]
        """The numbers on the current branch, in runs."""
        self._starts = [0]
        """The places at which those runs start."""
        self._place = self._number = 0
        self._ends = [0]
        """The number at the end of each branch."""
        self._walked = 0
        """The index of the current branch."""

    def __len__(self) -> int:
        """Count the moments on all branches."""
        return len(self._pages)

    def __getitem__(self, number: int) -> T:
        """Return a moment by its number.

        Raises:
            IndexError: There is no moment of this number.
        """
        return self._pages[number]

    def __iter__(self) -> Iterator[T]:
        """Walk all moments in the order of their numbers, on all branches."""
        return (self._pages[number] for number in range(len(self)))

    @property
    def present(self) -> T:
        """The moment that is shown."""
        return self._present

    @property
    def number(self) -> int:
        """The number of the present moment."""
        return self._number

    @property
    def place(self) -> int:
        """Where the present moment stands on its branch, from 0."""
        return self._place

    @property
    def last(self) -> int:
        """The place at which the branch ends."""
        return self._starts[-1] + len(self._branch[-1]) - 1

    @property
    def in_past(self) -> bool:
        """Whether something followed the present moment."""
        return self._place < self.last

    @property
    def branches(self) -> int:
        """How many branches there are."""
        return len(self._ends)

    @property
    def branch(self) -> int:
        """The number of the current branch, counted from 1 in the order in which they began."""
        return self._walked + 1

    def get_number(self, place: int) -> int:
        """Return the number of the moment at a place of the branch.

        Raises:
            IndexError: The branch has no such place.
        """
        if not 0 <= place <= self.last:
            raise IndexError(f"place {place}: expected 0 to {self.last}")
        run = bisect_right(self._starts, place) - 1
        return self._branch[run][place - self._starts[run]]

    def get(self, place: int) -> T:
        """Return the moment at a place of the branch.

        Raises:
            IndexError: The branch has no such place.
        """
        return self._pages[self.get_number(place)]

    def get_parent(self, number: int) -> int:
        """Return the number of the moment that another one followed; -1 for power-on.

        Raises:
            IndexError: There is no moment of this number.
        """
        if not 0 <= number < len(self):
            raise IndexError(f"moment {number}: expected 0 to {len(self) - 1}")
        return self._followed.get(number, number - 1)

    def find_place(self, number: int) -> int | None:
        """Return where a moment stands on the branch; None where it is on another."""
        run = bisect_right(self._branch, number, key=lambda numbers: numbers.start) - 1
        if run < 0 or number not in self._branch[run]:
            return None
        return self._starts[run] + number - self._branch[run].start

    def walk_path(self, start: int = 0) -> Iterator[int]:
        """Walk the numbers of the moments that led to the present one, from a place of the branch on."""
        for place in range(start, self._place + 1):
            yield self.get_number(place)

    def add(self, moment: T, cause: Cause | None = None) -> int:
        """Add a moment after the present one, and go there.

        Args:
            moment: The moment.
            cause: How it follows from the present moment; None: it does not.

        Returns:
            Its number.
        """
        parent, number = self._number, len(self._pages)
        if self.in_past:
            self._cut()
            self._walked = len(self._ends)
            self._ends.append(number)
        self._ends[self._walked] = number
        if parent == number - 1:
            self._branch[-1] = range(self._branch[-1].start, number + 1)
        else:
            self._followed[number] = parent
            self._begins.append(number)
            self._begun_on.append(self._walked)
            self._starts.append(self.last + 1)
            self._branch.append(range(number, number + 1))
        self._pages.add(moment, cause if parent == number - 1 else None)
        self._place += 1
        self._number, self._present = number, moment
        return number

    def go(self, place: int) -> T:
        """Go to a place of the branch; beyond its ends, to its ends."""
        self._place = min(max(place, 0), self.last)
        self._number = self.get_number(self._place)
        self._present = self._pages[self._number]
        return self._present

    def go_to(self, number: int) -> T:
        """Go to a moment by its number, on another branch if need be.

        Raises:
            IndexError: There is no moment of this number.
        """
        if not 0 <= number < len(self):
            raise IndexError(f"moment {number}: expected 0 to {len(self) - 1}")
        if (place := self.find_place(number)) is None:
            self._walk(self._begun_on[bisect_right(self._begins, number) - 1])
            place = self.find_place(number)
        assert place is not None, "a moment is on the branch on which it was added"
        return self.go(place)

    def go_to_next_branch(self) -> T:
        """Go to the end of the next branch, in the order in which they began; after the last, the first."""
        self._walk((self._walked + 1) % self.branches)
        return self.go(self.last)

    def _cut(self) -> None:
        """End the branch at the present moment."""
        run = bisect_right(self._starts, self._place) - 1
        del self._branch[run + 1 :], self._starts[run + 1 :]
        self._branch[run] = self._branch[run][: self._place - self._starts[run] + 1]

    def _walk(self, branch: int) -> None:
        """Make a branch the current one."""
        self._walked = branch
        runs = []
        number = self._ends[branch]
        while number >= 0:
            begin = self._begins[bisect_right(self._begins, number) - 1]
            runs.append(range(begin, number + 1))
            number = self._followed[begin]
        self._branch = runs[::-1]
        self._starts = [0]
        for run in self._branch[:-1]:
            self._starts.append(self._starts[-1] + len(run))
