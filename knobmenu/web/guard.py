"""What a request has to show before anything is answered.

A page that a reviewer happens to have open elsewhere can make the browser send requests here, and a name that it
controls can be made to resolve to this machine. So a request counts only if it asks for the very host that is served,
and a websocket only if it was opened by a page of that host.
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
"""What goes with every answer: the page loads nothing from elsewhere and cannot be framed. Styles are written into the
page by the terminal that draws it."""


@attrs.frozen
class Site:
    """Where the page is served."""

    host: str
    """The name or the address."""
    port: int

    @property
    def authority(self) -> str:
        """The host and the port, as the header Host and an origin have them."""
        name = f"[{self.host}]" if ":" in self.host else self.host
        return name if self.port == 80 else f"{name}:{self.port}"

    @property
    def origin(self) -> str:
        """The origin of the page."""
        return f"http://{self.authority}"


def refuse_host(site: Site, host: str) -> int | None:
    """Return the status for a request that asks for another host; None for one that asks for this."""
    return None if host.lower() == site.authority else MISDIRECTED


def refuse_socket(site: Site, origin: str, participant: int | None) -> int | None:
    """Return the status for a websocket that is not allowed; None for one that is.

    Args:
        site: Where the page is served.
        origin: The header Origin.
        participant: Whom the cookie admits; None: nobody.
    """
    return FORBIDDEN if origin != site.origin or participant is None else None
