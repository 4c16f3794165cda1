"""The server: a page for each participant, with a check of every request.

`knobmenu.web.guard`, `links` and `messages` make all decisions; this module only waits and sends.
"""

from __future__ import annotations

import asyncio
import secrets
import signal
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress
from html import escape
from importlib.resources import files
from pathlib import Path
from string import Template

import textual_serve
from aiohttp import WSCloseCode, WSMsgType, web

from knobmenu.web.guard import FORBIDDEN, HEADERS, Site, refuse_host, refuse_socket
from knobmenu.web.links import Links, issue_links, redeem_link
from knobmenu.web.messages import (
    MOST_BYTES,
    MOST_COLUMNS,
    MOST_ROWS,
    Focus,
    Keys,
    Ping,
    Resize,
    clamp_size,
    read_message,
)
from knobmenu.web.process import PATIENCE_S, ServedApp

SEE_OTHER = 303
"""Status code (IETF, RFC 9110, 15.4.4)."""

COOKIE = "knobmenu"
"""The name of the cookie that admits a participant."""

_STATIC = Path(textual_serve.__file__).parent / "static"
_ASSETS = {"page.css": "text/css", "page.js": "text/javascript"}

_USED = """\
This link has been used, or it does not belong to this session.

Each link admits one participant, once. Ask the moderator for a new one.
"""

_Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class ReviewServer:
    """A server of pages in which participants try a device."""

    def __init__(self, site: Site, title: str, command: Callable[[int], Sequence[str]], participants: int) -> None:
        """Make the server and its links.

        Args:
            site: The address to serve at.
            title: The page's title.
            command: Builds the command of a participant's app, by number from 1; called at each connection.
            participants: The number of links.
        """
        self.site = site
        """The address at which it serves."""
        self._title = title
        self._command = command
        tokens = [secrets.token_urlsafe(24) for _ in range(participants)]
        self._links: Links = issue_links(tokens)
        self.urls = tuple(f"{site.origin}/join/{token}" for token in tokens)
        """The link of each participant, in order."""
        self._open: dict[int, tuple[web.WebSocketResponse, asyncio.Event]] = {}
        """For each participant whose page is open, its connection, and an event that is set once its app has ended."""

    def build_application(self) -> web.Application:
        """Make the web application."""
        application = web.Application(middlewares=[self._guard])
        application.on_shutdown.append(self._close_pages)
        application.add_routes(
            [
                web.get("/join/{token}", self._show_link),
                web.post("/join/{token}", self._join),
                web.get("/", self._show_page),
                web.get("/ws", self._open_socket),
                *[web.get(f"/{name}", self._send_asset) for name in _ASSETS],
                web.static("/static", _STATIC, show_index=False),
            ]
        )
        return application

    @property
    def open_pages(self) -> int:
        """The number of participants whose page is open."""
        return len(self._open)

    async def _close_pages(self, application: web.Application) -> None:
        """Close every page's connection, which ends its app."""
        await asyncio.gather(*(socket.close(code=WSCloseCode.GOING_AWAY) for socket, _ in self._open.values()))

    @web.middleware
    async def _guard(self, request: web.Request, handler: _Handler) -> web.StreamResponse:
        status = refuse_host(self.site, request.host)
        is_open = request.path.startswith("/join/") or request.path == "/page.css"
        if status is None and not is_open and self._get_participant(request) is None:
            status = FORBIDDEN
        try:
            response: web.StreamResponse = (
                await handler(request)
                if status is None
                else web.Response(status=status, text="Open the link that you were given.\n")
            )
        except web.HTTPException as error:
            response = web.Response(status=error.status, text=f"{error.reason}\n")
        if not response.prepared:
            response.headers.update(HEADERS)
        return response

    def _get_participant(self, request: web.Request) -> int | None:
        return self._links.cookies.get(request.cookies.get(COOKIE, ""))

    async def _show_link(self, request: web.Request) -> web.Response:
        """Show how to use the device; the link stays valid until the participant begins.

        Programs open links, too, such as mail filters and previews of chats.
        """
        if request.match_info["token"] in self._links.tokens:
            return self._fill("join.html")
        return self._refuse_link(request)

    async def _join(self, request: web.Request) -> web.Response:
        """Exchange a link for a cookie, and redirect to the device."""
        cookie = secrets.token_urlsafe(24)
        self._links, participant = redeem_link(self._links, request.match_info["token"], cookie)
        if participant is None:
            return self._refuse_link(request)
        response = web.Response(status=SEE_OTHER, headers={"Location": "/"})
        response.set_cookie(COOKIE, cookie, httponly=True, samesite="Strict", path="/")
        return response

    def _refuse_link(self, request: web.Request) -> web.Response:
        """Redirect a participant who has begun to the device, and refuse everyone else."""
        if self._get_participant(request) is not None:
            return web.Response(status=SEE_OTHER, headers={"Location": "/"})
        return web.Response(status=FORBIDDEN, text=_USED)

    async def _show_page(self, request: web.Request) -> web.Response:
        return self._fill("page.html")

    def _fill(self, name: str) -> web.Response:
        socket = f"ws://{self.site.authority}/ws"
        text = Template(_read(name)).substitute(title=escape(self._title), socket=escape(socket))
        return web.Response(text=text, content_type="text/html")

    async def _send_asset(self, request: web.Request) -> web.Response:
        name = request.path.removeprefix("/")
        return web.Response(text=_read(name), content_type=_ASSETS[name])

    async def _open_socket(self, request: web.Request) -> web.StreamResponse:
        participant = self._get_participant(request)
        status = refuse_socket(self.site, request.headers.get("Origin", ""), participant)
        if status is not None or participant is None:
            return web.Response(status=status or FORBIDDEN, text="Not admitted.\n")
        socket = web.WebSocketResponse(heartbeat=15, timeout=PATIENCE_S, max_msg_size=MOST_BYTES)
        await socket.prepare(request)
        ended = asyncio.Event()
        before = self._open.get(participant)
        self._open[participant] = socket, ended
        try:
            if before is not None:
                # A reloaded page may connect before the loss of its old connection is detected.
                await before[0].close()
                await before[1].wait()
            if not socket.closed:
                await self._run_app(request, participant, socket)
        finally:
            ended.set()
            if self._open.get(participant) == (socket, ended):
                del self._open[participant]
        return socket

    async def _run_app(self, request: web.Request, participant: int, socket: web.WebSocketResponse) -> None:
        async def close() -> None:
            await socket.close()

        app = ServedApp(self._command(participant), socket.send_bytes, socket.send_str, close)
        columns = clamp_size(_read_number(request, "width", 80), MOST_COLUMNS)
        rows = clamp_size(_read_number(request, "height", 24), MOST_ROWS)
        try:
            await app.start(columns, rows)
            await _pass_on(socket, app)
        except asyncio.CancelledError:
            await socket.close()
        finally:
            await app.end()


def serve(server: ReviewServer, announce: Callable[[], None], take_leave: Callable[[int], None]) -> int:
    """Serve until a signal, then end the apps of all participants.

    Args:
        server: The server.
        announce: Called when the server can be reached.
        take_leave: Called when every app has ended, with the number of pages that were open.

    Returns:
        The exit code: 0 after Ctrl-C, the regular end; after another signal, 128 plus its number.

    Raises:
        OSError: The server cannot use the address.
    """
    return asyncio.run(_serve(server, announce, take_leave))


_ENDS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGQUIT") if hasattr(signal, name))


async def _serve(server: ReviewServer, announce: Callable[[], None], take_leave: Callable[[int], None]) -> int:
    ended: asyncio.Future[signal.Signals] = asyncio.get_running_loop().create_future()

    def end(number: signal.Signals) -> None:
        if not ended.done():
            ended.set_result(number)

    for number in _ENDS:
        # On systems where the loop cannot handle signals, an interrupt ends it as an exception.
        with suppress(NotImplementedError):
            asyncio.get_running_loop().add_signal_handler(number, end, number)
    runner = web.AppRunner(server.build_application(), access_log=None, shutdown_timeout=PATIENCE_S)
    await runner.setup()
    try:
        await web.TCPSite(runner, server.site.host, server.site.port).start()
        announce()
        number = await ended
        pages = server.open_pages
    finally:
        await runner.cleanup()
    take_leave(pages)
    return 0 if number == signal.SIGINT else 128 + number


async def _pass_on(socket: web.WebSocketResponse, app: ServedApp) -> None:
    """Forward the page's messages to its app until the connection ends; drop invalid ones."""
    async for frame in socket:
        if frame.type is not WSMsgType.TEXT:
            continue
        match read_message(frame.data):
            case Keys(text):
                await app.send_bytes(text.encode("utf-8"))
            case Resize(columns, rows):
                await app.set_terminal_size(columns, rows)
            case Ping(content):
                await socket.send_json(["pong", content])
            case Focus(has_focus):
                await (app.focus() if has_focus else app.blur())
            case None:
                pass


def _read(name: str) -> str:
    return files("knobmenu.web").joinpath(name).read_text(encoding="utf-8")


def _read_number(request: web.Request, name: str, default: int) -> int:
    text = request.query.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else default
