"""Checks of a request before it is answered.

Another page that a reviewer has open can make the browser send requests to this server, and can make a name that it
controls resolve to this machine. So a request is accepted only if it is for the served host, and a websocket only if a
page of that host opened it.
"""

from __future__ import annotations

import attrs

MISDIRECTED, FORBIDDEN = 421, 403
"""Status codes (IETF, RFC 9110, 15.5.20 and 15.5.4)."""

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; connect-src 'self'; font-src 'self'; img-src 'self' data:;"
        " style-src 'self' 'unsafe-inline'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    ),
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
"""The headers of every response: the page loads nothing from elsewhere and cannot be framed. Inline styles are allowed,
since the terminal in the page needs them."""


@attrs.frozen
class Site:
    """The address at which the page is served."""

    host: str
    """The name or the address of the host."""
    port: int

    @property
    def authority(self) -> str:
        """The host and the port in the form of the header Host and of an origin."""
        name = f"[{self.host}]" if ":" in self.host else self.host
        return name if self.port == 80 else f"{name}:{self.port}"

    @property
    def origin(self) -> str:
        """The origin of the page."""
        return f"http://{self.authority}"


def refuse_host(site: Site, host: str) -> int | None:
    """Return the status for a request to another host; None for a request to this one."""
    return None if host.lower() == site.authority else MISDIRECTED


def refuse_socket(site: Site, origin: str, participant: int | None) -> int | None:
    """Return the status for a websocket that is not allowed; None for one that is.

    Args:
        site: The address of the page.
        origin: The header Origin.
        participant: The participant whom the cookie admits; None: nobody.
    """
    return FORBIDDEN if origin != site.origin or participant is None else None
