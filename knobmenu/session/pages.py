"""Where moments are kept: all of them, a million as well as a thousand, in little memory.

Moments are kept in pages of `PAGE`. The pages that were used last are kept as they are. Of every other page its first
moment is kept, those that no event explains, and for the rest their events alone, packed. When such a page is wanted
again its moments are worked out anew from those: a machine that is told the same events does the same.
"""

from __future__ import annotations

from collections import OrderedDict

import attrs

from knobmenu.events import Event
from knobmenu.session.trying import Part, after

PAGE = 512
"""Moments on a page: so many that little is kept whole, so few that a page is back before anyone waits. [moments]"""

LIVE = 16
"""Pages that are kept as they are, besides the newest. [pages]"""


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


_Told = list[tuple[Event | None, ...] | None]
"""For each moment of a page what happened to each variant; None where the moment is kept whole."""


@attrs.frozen(eq=False)
class _Packed:
    """A page that is not used now."""

    whole: dict[int, Moment]
    """Its first moment, and those that cannot be worked out from the one before, by their numbers."""
    events: bytes
    """What happened to each variant at each of its moments."""


class Pages:
    """Moments by their numbers."""

    def __init__(self, first: Moment, live: int = LIVE, page: int = PAGE) -> None:
        """Begin with the first moment.

        Args:
            first: Number 0.
            live: Pages that are kept as they are besides the newest, at least 1. [pages]
            page: Moments on a page. [moments]
        """
        self._live: OrderedDict[int, list[Moment]] = OrderedDict({0: [first]})
        self._most = live
        self._page = page
        self._packed: dict[int, _Packed] = {}
        self._whole: dict[int, Moment] = {0: first}
        """What has to be kept whole, until its page is packed."""
        self._count = 1

    def __len__(self) -> int:
        return self._count

    def moment(self, number: int) -> Moment:
        """Return a moment."""
        page, place = divmod(number, self._page)
        moments = self._live.get(page)
        if moments is None:
            moments = self._live[page] = _unpacked(page * self._page, self._packed[page])
            self._pack_oldest()
        else:
            self._live.move_to_end(page)
        return moments[place]

    def add(self, moment: Moment, before: Moment) -> None:
        """Add the next moment.

        Args:
            moment: The moment.
            before: The one that it followed.
        """
        page, place = divmod(moment.number, self._page)
        if place == 0 or not _follows(moment, before):
            self._whole[moment.number] = moment
        if place == 0:
            self._live[page] = [moment]
        else:
            self._live[page].append(moment)
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
            numbers = range(page * self._page, (page + 1) * self._page)
            whole = {number: self._whole.pop(number) for number in numbers if number in self._whole}
            told = [
                None if moment.number in whole else tuple(part.event for part in moment.parts) for moment in moments
            ]
            self._packed[page] = _Packed(whole, _bytes_of(told))


def _follows(moment: Moment, before: Moment) -> bool:
    """Tell whether a moment is what its events make of the one that is numbered before it."""
    if moment.parent != moment.number - 1 or moment.remark or moment.switched_on:
        return False
    return all(
        now.design is then.design and (now.event is not None or now.state is then.state)
        for now, then in zip(moment.parts, before.parts, strict=True)
    )


def _unpacked(first: int, packed: _Packed) -> list[Moment]:
    moments: list[Moment] = []
    for number, events in enumerate(_told_in(packed.events), first):
        if events is None:
            moments.append(packed.whole[number])
        else:
            parts = tuple(after(part, event) for part, event in zip(moments[-1].parts, events, strict=True))
            moments.append(Moment(number, number - 1, parts))
    return moments


# Both import late: the first page is packed long after the first frame.


def _bytes_of(told: _Told) -> bytes:
    import pickle
    import zlib

    return zlib.compress(pickle.dumps(told, pickle.HIGHEST_PROTOCOL))


def _told_in(packed: bytes) -> _Told:
    import pickle
    import zlib

    told: _Told = pickle.loads(zlib.decompress(packed))
    return told
