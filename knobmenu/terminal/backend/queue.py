"""One queue for all input: a key is given away only when the one before it has done all that it does.

A key may open a prompt, close one, or move the focus. The library gives a key to what is in front when it leaves the
app's queue, while keys before it may still wait in the queues of screens and widgets; typed without a pause, they would
reach what is not in front any more, or overtake each other. Here a callback follows each key through the queues that
the key goes through, from the widget with the focus up to the app, and the next key waits until it is back. A screen
that has just come to the front has its own queue emptied first: it is composed then, has its focus, and has taken the
answer of the prompt that was over it.

A key that nothing waits for is followed only once its picture had time to be drawn: each callback would put the drawing
off by as long as it takes.

Each queue either refuses the callback, because it is closing, and is passed over, or runs it before it closes: a key
that closes what it goes through holds nothing up.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable, Iterable, Iterator
from contextlib import suppress
from time import monotonic
from typing import Any, Protocol, cast, runtime_checkable

from textual import events
from textual.app import App
from textual.errors import NoWidget
from textual.message_pump import MessagePump
from textual.screen import Screen
from textual.widget import Widget

from knobmenu.terminal.backend.bursts import Typed, is_character
from knobmenu.terminal.backend.parser import KeyUp

FRAME_S = 0.03
"""For how long a picture waits for input that comes without a pause. [s]"""

PICTURE_S = 0.005
"""For how long a key that nothing waits for is not followed: what it changes is drawn first. [s]"""

LONGEST_SEARCH_S = 2.0
"""For how long a key waits for a search that its screen has begun. [s]"""


@runtime_checkable
class Searching(Protocol):
    """A screen that searches in the background: what a key does there depends on what is found."""

    async def search_ends(self) -> None:
        """Return once everything is found that was searched for."""


def is_input(event: events.Event) -> bool:
    """Return whether an event comes from the terminal and has a place among the keys: keys, mouse, pastes and focus."""
    if isinstance(event, events.InputEvent | events.Paste):
        return not event.is_forwarded
    return isinstance(event, Typed | KeyUp | events.AppFocus | events.AppBlur)


async def drain(pumps: Iterable[MessagePump]) -> None:
    """Return once everything that is in these queues now is done, one queue after the other."""
    for pump in pumps:
        done = asyncio.Event()
        if pump.call_later(done.set):
            await done.wait()


class InputQueue:
    """Input in the order in which it came."""

    def __init__(self, app: App[Any], give: Callable[[events.Event], Awaitable[None]]) -> None:
        """Begin empty.

        Args:
            app: Whose input.
            give: Gives an event to what is in front now.
        """
        self._app = app
        self._give = give
        self._waiting: deque[events.Event] = deque()
        self._followed = False
        """Whether a key is being processed, or a screen is being prepared."""
        self._later: asyncio.TimerHandle | None = None
        """The timer that continues after the present key, once its picture had time to be drawn."""
        self._pumps: tuple[MessagePump, ...] = ()
        """The queues that this key goes through."""
        self._front: Screen[Any] | None = None
        """The screen that was ready last."""
        self._search: asyncio.Task[None] | None = None
        """The task that waits for the search of the screen in front."""
        self._written = False
        """Whether the last delivered event was text."""
        self._searched = False
        """Whether the search that the last key started in the screen in front is complete."""
        self._held: list[tuple[MessagePump, Callable[[], object]]] = []
        """The callbacks for when nothing waits any more."""
        self._held_since_s = 0.0

    @property
    def is_empty(self) -> bool:
        """Whether all received events are processed."""
        return not self._waiting and not self._followed

    async def put(self, event: events.Event) -> None:
        """Deliver an event as soon as everything before it is processed."""
        self._waiting.extend(event.keys if isinstance(event, Typed) else (event,))
        if not self._followed:
            await self._go_on()
        elif self._later is not None:
            self._follow(self._pumps)

    def put_back(self, key: events.Key) -> None:
        """Deliver the present key again, before all others, for a screen that moved the focus for it."""
        self._waiting.appendleft(events.Key(key.key, key.character))

    def call_after(self, pump: MessagePump, do: Callable[[], object]) -> None:
        """Call later, in the queue of a screen or widget; while input comes without a pause, once in `FRAME_S`.

        Drawing what each key of many changes would take longer than the keys themselves.
        """
        if not self._waiting:
            pump.call_later(do)
            return
        if not self._held:
            self._held_since_s = monotonic()
        self._held.append((pump, do))

    def _release(self) -> None:
        if self._held and (not self._waiting or monotonic() - self._held_since_s >= FRAME_S):
            held, self._held = self._held, []
            for pump, do in held:
                pump.call_later(do)

    async def _go_on(self) -> None:
        self._followed = False
        while self._waiting and not self._followed:
            front = self._app.screen
            if front is not self._front:
                self._front, self._written, self._searched = front, True, False
                self._follow((front,))
            elif isinstance(front, Searching) and self._depends_on_search():
                self._searched = self._followed = True
                self._search = asyncio.create_task(self._wait_for_search(front))
            else:
                await self._give_next()
        self._release()

    def _depends_on_search(self) -> bool:
        """Return whether the next event has to wait for a search: a character behind others only changes it."""
        return not self._searched and not (self._written and is_character(self._waiting[0]))

    async def _give_next(self) -> None:
        event = self._take_next()
        self._written, self._searched = is_character(event) or isinstance(event, events.Paste), False
        target = self._find_target(event)
        pumps = () if target is None else tuple(pump for pump in target.ancestors_with_self if pump is not self._app)
        await self._give(event)
        if pumps and self._waiting:
            self._follow(pumps)
        elif pumps:
            self._followed, self._pumps = True, pumps
            self._later = asyncio.get_running_loop().call_later(PICTURE_S, self._follow, pumps)

    def _take_next(self) -> events.Event:
        """Take the next event; all characters that wait for an input line are merged."""
        event = self._waiting.popleft()
        if not is_character(event) or not callable(getattr(self._app.focused, "insert_text_at_cursor", None)):
            return event
        written: list[events.Key] = [event]
        while self._waiting and is_character(following := self._waiting[0]):
            written.append(following)
            self._waiting.popleft()
        return events.Paste(Typed(written).text) if len(written) > 1 else event

    def _find_target(self, event: events.Event) -> Widget | None:
        """Return what an event goes to first; None for what need not be followed, as nothing depends on its end."""
        match event:
            case events.Key() | events.Paste():
                return self._app.focused or self._app.screen
            case events.MouseDown() | events.MouseUp() | events.MouseScrollUp() | events.MouseScrollDown():
                if self._app.mouse_captured is not None:
                    return self._app.mouse_captured
                with suppress(NoWidget):
                    return self._app.get_widget_at(int(event.x), int(event.y))[0]
        return None

    def _follow(self, pumps: Iterable[MessagePump]) -> None:
        """Go on once everything that is in these queues now is done, one queue after the other, and the app's last."""
        self._followed = True
        if self._later is not None:
            self._later.cancel()
            self._later = None
        self._pass(iter(pumps))

    def _pass(self, pumps: Iterator[MessagePump]) -> None:
        if not any(pump.call_later(self._pass, pumps) for pump in pumps):
            self._app.call_later(self._go_on)

    async def _wait_for_search(self, screen: Searching) -> None:
        try:
            with suppress(TimeoutError):
                async with asyncio.timeout(LONGEST_SEARCH_S):
                    await screen.search_ends()
        finally:
            self._app.call_later(self._go_on)


class _WithQueue(Protocol):
    """An app with such a queue: each of this package's."""

    input: InputQueue


def get_queue(screen: Screen[Any]) -> InputQueue:
    """Return the queue of the app that a screen belongs to."""
    return cast(_WithQueue, screen.app).input
