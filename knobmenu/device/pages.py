"""Storage of moments: millions of them in little memory.

Moments are stored in pages. The most recently used pages stay unpacked. Of every other page only its first moment and
those without a cause are stored whole; of the others only the causes are, compressed. A packed page that is used again
is replayed from them, since the same events always have the same result.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

import attrs

from knobmenu.events import Event

PAGE = 512
"""Moments on a page: enough that few are stored whole, few enough that a page is replayed unnoticed. [moments]"""

LIVE = 16
"""Pages that stay unpacked, besides the newest. [pages]"""

T = TypeVar("T")

Cause = tuple[Event | None, ...]
"""What happened to each variant; None where something happened to another variant alone."""

Replay = Callable[[T, Cause], T]
"""Computes the moment that follows another one because of a cause."""


@attrs.frozen(eq=False)
class _Packed(Generic[T]):
    """A page that is not in use."""

    whole: dict[int, T]
    """Its first moment, and those without a cause, by their numbers."""
    causes: bytes
    """The causes of the others, in order."""
    length: int
    """How many moments the page has."""


class Pages(Generic[T]):
    """Moments by their numbers."""

    def __init__(self, first: T, replay: Replay[T], live: int = LIVE, page: int = PAGE) -> None:
        """Begin with the first moment.

        Args:
            first: Number 0.
            replay: Computes a moment from the one before it.
            live: Pages that stay unpacked besides the newest, at least 1. [pages]
            page: Moments on a page. [moments]
        """
        self._replay = replay
        self._most = live
        self._page = page
        self._live: OrderedDict[int, list[T]] = OrderedDict({0: [first]})
        self._causes: dict[int, list[Cause | None]] = {0: [None]}
        """The causes on pages that have never been packed; None for moments that are stored whole."""
        self._packed: dict[int, _Packed[T]] = {}
        self._count = 1

    def __len__(self) -> int:
        return self._count

    def __getitem__(self, number: int) -> T:
        """Return a moment.

        Raises:
            IndexError: There is no moment of this number.
        """
        if not 0 <= number < self._count:
            raise IndexError(f"moment {number}: expected 0 to {self._count - 1}")
        page, place = divmod(number, self._page)
        moments = self._live.get(page)
        if moments is None:
            moments = self._live[page] = self._unpack(page)
            self._pack_oldest()
        else:
            self._live.move_to_end(page)
        return moments[place]

    def add(self, moment: T, cause: Cause | None) -> None:
        """Add the next moment.

        Args:
            moment: The moment.
            cause: How it follows from the moment numbered before it; None: it does not, and is stored whole.
        """
        page, place = divmod(self._count, self._page)
        if place == 0:
            self._live[page], self._causes[page] = [moment], [None]
        else:
            self._live[page].append(moment)
            self._causes[page].append(cause)
        self._count += 1
        self._pack_oldest()

    def _pack_oldest(self) -> None:
        """Pack the page that was used longest ago, if there are too many; never the one that is written."""
        if len(self._live) <= self._most + 1:
            return
        newest = (self._count - 1) // self._page
        page = next(page for page in self._live if page != newest)
        moments = self._live.pop(page)
        if page not in self._packed:
            causes = self._causes.pop(page)
            first = page * self._page
            whole = {first + place: moments[place] for place, cause in enumerate(causes) if cause is None}
            self._packed[page] = _Packed(whole, _pack([cause for cause in causes if cause is not None]), len(moments))

    def _unpack(self, page: int) -> list[T]:
        packed = self._packed[page]
        causes = iter(_unpack(packed.causes))
        first = page * self._page
        moments: list[T] = []
        for number in range(first, first + packed.length):
            if number in packed.whole:
                moments.append(packed.whole[number])
            else:
                moments.append(self._replay(moments[-1], next(causes)))
        return moments


# Imported late: the first page is packed long after the first frame of an app.


def _pack(causes: list[Cause]) -> bytes:
    import json
    import zlib

    from knobmenu.codec.events import event_to_plain

    plain = [[None if event is None else event_to_plain(event) for event in cause] for cause in causes]
    return zlib.compress(json.dumps(plain, separators=(",", ":")).encode())


def _unpack(packed: bytes) -> list[Cause]:
    import json
    import zlib

    from knobmenu.codec.events import event_from_plain

    plain = json.loads(zlib.decompress(packed))
    return [tuple(None if event is None else event_from_plain(event) for event in cause) for cause in plain]
