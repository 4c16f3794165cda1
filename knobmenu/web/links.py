"""One-time links: each admits one participant, once.

A link's token is exchanged for a cookie when its participant begins; from then on the token is invalid, and the cookie
admits the same browser again, after a reload or a lost connection. The caller generates tokens and cookies.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import attrs


@attrs.frozen
class Links:
    """The unused tokens, and the valid cookies."""

    tokens: Mapping[str, int]
    """The number of the participant, from 1, for each unused token."""
    cookies: Mapping[str, int] = attrs.field(factory=dict)
    """The number of the participant for each cookie."""


def issue_links(tokens: Iterable[str]) -> Links:
    """Issue one link to each participant.

    Args:
        tokens: A unique secret for each participant.
    """
    return Links({token: number for number, token in enumerate(tokens, 1)})


def redeem_link(links: Links, token: str, cookie: str) -> tuple[Links, int | None]:
    """Exchange a token for a cookie.

    Args:
        links: The links.
        token: The token of the link.
        cookie: The secret that admits the browser from now on.

    Returns:
        The new links, and the number of the participant; unchanged links and None if the token is unknown or used.
    """
    participant = links.tokens.get(token)
    if participant is None:
        return links, None
    tokens = {one: number for one, number in links.tokens.items() if one != token}
    return Links(tokens, {**links.cookies, cookie: participant}), participant
