"""The server from outside: who gets in, what is answered, and that every app ends with its page."""

from __future__ import annotations

import asyncio
import json
import os
import socket
import sys
from collections.abc import AsyncIterator, Sequence
from contextlib import AsyncExitStack, asynccontextmanager

import aiohttp
import pytest
from aiohttp import ClientSession, web

from knobmenu.web.guard import FORBIDDEN, MISDIRECTED, Site
from knobmenu.web.server import ReviewServer

Socket = aiohttp.ClientWebSocketResponse

ECHO = """
import os, sys
os.write(1, b"__GANGLION__\\n")
def send(kind, content): os.write(1, kind + len(content).to_bytes(4, "big") + content)
send(b"D", repr(sorted(os.environ)).encode())
while True:
    kind, size = os.read(0, 1), os.read(0, 4)
    if not size:
        break
    content = os.read(0, int.from_bytes(size, "big"))
    if kind == b"M" and b"quit" in content:
        break
    send(b"D", kind + b":" + content)
"""
"""An app that draws the names of its environment and then every packet that it gets."""

NUMBER = ECHO.replace("repr(sorted(os.environ))", "str(os.getpid())")
"""The same, but that it draws the number of its process first."""


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@asynccontextmanager
async def serving(participants: int = 1, script: str = ECHO) -> AsyncIterator[ReviewServer]:
    def command(participant: int) -> Sequence[str]:
        return (sys.executable, "-c", script)

    server = ReviewServer(Site("127.0.0.1", free_port()), "A <radio>", command, participants)
    runner = web.AppRunner(server.build_application())
    await runner.setup()
    await web.TCPSite(runner, "127.0.0.1", server.site.port).start()
    try:
        yield server
    finally:
        await runner.cleanup()


@asynccontextmanager
async def visitor() -> AsyncIterator[ClientSession]:
    async with ClientSession(cookie_jar=aiohttp.CookieJar(unsafe=True)) as session:  # an address has cookies, too
        yield session


async def test_a_link_admits_once_and_its_cookie_goes_on_admitting() -> None:
    async with serving(2) as server, visitor() as first, visitor() as second:
        async with first.post(server.urls[0], allow_redirects=False) as answer:
            assert answer.headers["Location"] == "/"
            cookie = answer.headers["Set-Cookie"]
            assert "HttpOnly" in cookie
            assert "SameSite=Strict" in cookie
        for url in (server.site.origin, server.site.origin, server.urls[0]):
            async with first.get(url) as answer:
                assert answer.status == 200
                assert 'id="terminal"' in await answer.text()
        for url in (server.urls[0], f"{server.site.origin}/join/guessed"):
            for method in ("GET", "HEAD", "POST"):
                async with second.request(method, url) as answer:
                    assert answer.status == FORBIDDEN
                    assert "Set-Cookie" not in answer.headers
        async with second.get(server.site.origin) as answer:
            assert answer.status == FORBIDDEN
        async with second.post(server.urls[1]) as answer:
            assert answer.status == 200


async def test_programs_that_open_a_link_do_not_use_it_up() -> None:
    async with serving() as server, visitor() as program, visitor() as guest:
        for method in ("GET", "HEAD", "GET"):
            async with program.request(method, server.urls[0]) as answer:
                assert answer.status == 200
                assert "Set-Cookie" not in answer.headers
                assert method == "HEAD" or "A &lt;radio&gt;" in await answer.text()
        async with guest.post(server.urls[0]) as answer:
            assert answer.status == 200


async def test_of_several_who_begin_together_with_one_link_one_is_admitted() -> None:
    async with serving() as server, AsyncExitStack() as stack:
        guests = [await stack.enter_async_context(visitor()) for _ in range(8)]
        answers = await asyncio.gather(*(guest.post(server.urls[0]) for guest in guests))
        assert sorted(answer.status for answer in answers) == [200] + [FORBIDDEN] * 7


@pytest.mark.parametrize("path", ["/", "/ws", "/page.js", "/static/js/textual.js", "/static/", "/download/1", "/none"])
async def test_nothing_is_answered_without_a_cookie(path: str) -> None:
    async with serving() as server, visitor() as stranger, stranger.get(server.site.origin + path) as answer:
        assert answer.status == FORBIDDEN


@pytest.mark.parametrize(
    ("path", "status"), [("/static/", 403), ("/download/1", 404), ("/static/../server.py", 404), ("/none", 404)]
)
async def test_what_is_not_the_page_is_not_served(path: str, status: int) -> None:
    async with serving() as server, visitor() as guest:
        await guest.post(server.urls[0])
        async with guest.get(server.site.origin + path) as answer:
            assert answer.status == status


async def test_every_answer_forbids_frames_and_content_from_elsewhere() -> None:
    async with serving() as server, visitor() as guest:
        for url in (server.urls[0], server.site.origin, f"{server.site.origin}/page.js", f"{server.site.origin}/none"):
            async with guest.get(url) as answer:
                policy = answer.headers["Content-Security-Policy"]
                assert "default-src 'none'" in policy
                assert "frame-ancestors 'none'" in policy
        async with guest.get(server.site.origin) as answer:
            assert "//fonts" not in await answer.text()


async def test_a_request_for_another_host_is_refused_even_with_a_cookie() -> None:
    async with serving() as server, visitor() as guest:
        await guest.post(server.urls[0])
        async with guest.get(server.site.origin, headers={"Host": "evil.example"}) as answer:
            assert answer.status == MISDIRECTED


@asynccontextmanager
async def connect(
    guest: ClientSession, server: ReviewServer, origin: str = ""
) -> AsyncIterator[aiohttp.ClientWebSocketResponse]:
    url = f"{server.site.origin}/ws?width=99999&height=x"
    async with guest.ws_connect(url, headers={"Origin": origin or server.site.origin}) as page:
        yield page


async def drawn(page: Socket) -> bytes:
    message = await page.receive(timeout=20)
    assert isinstance(message.data, bytes)
    return message.data


async def test_a_websocket_from_another_page_is_refused() -> None:
    async with serving() as server, visitor() as guest:
        await guest.post(server.urls[0])
        with pytest.raises(aiohttp.WSServerHandshakeError) as refused:
            async with connect(guest, server, "http://evil.example"):
                pass
        assert refused.value.status == FORBIDDEN


async def test_a_page_drives_one_app_which_sees_neither_secrets_nor_what_is_no_message(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("SECRET_TOKEN", "hidden")
    async with serving() as server, visitor() as guest:
        await guest.post(server.urls[0])
        async with connect(guest, server) as page:
            environment = (await drawn(page)).decode()
            assert "SECRET_TOKEN" not in environment
            assert "TEXTUAL_DRIVER" in environment
            assert "'HOME'" not in environment
            for rubbish in ("", "{", "[]", '["stdin"]', '["deliver_file_start", "x"]', '["resize", {"width": 1}]'):
                await page.send_str(rubbish)
            await page.send_str(json.dumps(["resize", {"width": 99_999, "height": 99_999}]))
            assert json.loads((await drawn(page)).removeprefix(b"M:")) == {
                "type": "resize",
                "width": 400,
                "height": 120,
            }
            await page.send_str(json.dumps(["stdin", "\x1b[C"]))
            assert await drawn(page) == b"D:\x1b[C"


async def test_a_page_that_is_opened_again_takes_over_and_the_app_before_it_ends() -> None:
    async with serving(script=NUMBER) as server, visitor() as guest:
        await guest.post(server.urls[0])
        numbers = []
        async with connect(guest, server) as first:
            numbers.append(int(await drawn(first)))
            async with connect(guest, server) as second:
                numbers.append(int(await drawn(second)))
                assert not is_running(numbers[0])
                message = await first.receive(timeout=20)
                assert message.type in (aiohttp.WSMsgType.CLOSE, aiohttp.WSMsgType.CLOSED)
                await second.send_str(json.dumps(["stdin", "x"]))
                assert await drawn(second) == b"D:x"
        async with asyncio.timeout(10):
            while is_running(numbers[1]):
                await asyncio.sleep(0.05)


@pytest.mark.parametrize("script", ["pass", "raise SystemExit(3)", "import os; os.write(1, b'__GANGLION__\\n')"])
async def test_a_page_is_closed_when_its_app_ends(script: str) -> None:
    async with serving(script=script) as server, visitor() as guest:
        await guest.post(server.urls[0])
        async with connect(guest, server) as page:
            message = await page.receive(timeout=20)
            assert message.type in (aiohttp.WSMsgType.CLOSE, aiohttp.WSMsgType.CLOSED)


async def test_an_app_that_does_not_leave_is_killed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("knobmenu.web.process.PATIENCE_S", 0.2)
    stubborn = (
        ECHO.split("while")[0].replace("repr(sorted(os.environ))", "str(os.getpid())")
        + "import time\n"
        + ("while True: time.sleep(1)\n")
    )
    async with serving(script=stubborn) as server, visitor() as guest:
        await guest.post(server.urls[0])
        async with connect(guest, server) as page:
            number = int(await drawn(page))
        async with asyncio.timeout(10):
            while is_running(number):
                await asyncio.sleep(0.05)


def is_running(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True
