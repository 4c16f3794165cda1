"""Whose requests are answered: those for this host, and websockets of its own page."""

from __future__ import annotations

import pytest

from knobmenu.web.guard import FORBIDDEN, MISDIRECTED, Site, refuse_host, refuse_socket

HERE = Site("127.0.0.1", 8000)


@pytest.mark.parametrize(
    ("site", "authority"),
    [(HERE, "127.0.0.1:8000"), (Site("lab.example", 80), "lab.example"), (Site("::1", 8000), "[::1]:8000")],
)
def test_a_site_is_named_as_the_header_host_names_it(site: Site, authority: str) -> None:
    """RFC 9110, 7.2, and RFC 3986, 3.2.2: an IPv6 address in brackets, no port where it is the scheme's own."""
    assert site.authority == authority
    assert refuse_host(site, authority) is None
    assert site.origin == f"http://{authority}"


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8000", "127.0.0.1", "127.0.0.1:80", "", "localhost:8000"]
)
def test_a_request_for_another_host_is_misdirected(host: str) -> None:
    assert refuse_host(HERE, host) == MISDIRECTED


@pytest.mark.parametrize(
    ("origin", "participant", "status"),
    [
        ("http://127.0.0.1:8000", 1, None),
        ("http://127.0.0.1:8000", None, FORBIDDEN),
        ("https://127.0.0.1:8000", 1, FORBIDDEN),
        ("http://evil.example", 1, FORBIDDEN),
        ("null", 1, FORBIDDEN),
        ("", 1, FORBIDDEN),
    ],
)
def test_a_websocket_needs_the_pages_origin_and_a_cookie(
    origin: str, participant: int | None, status: int | None
) -> None:
    assert refuse_socket(HERE, origin, participant) == status
