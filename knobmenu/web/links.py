"""One-time links: each admits one participant, once.

A link's token is exchanged for a cookie when its participant begins; from then on the token is used up, and the cookie
admits the same browser again, after a reload or a lost connection. Tokens and cookies are secrets of the caller.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import attrs


@attrs.frozen
class Links:
    """Which tokens are still open, and which cookies admit whom."""

    tokens: Mapping[str, int]
    """From each token that was not used yet to the number of its participant, from 1."""
    cookies: Mapping[str, int] = attrs.field(factory=dict)
    """From each cookie that was given to the number of its participant."""


def issue_links(tokens: Iterable[str]) -> Links:
    """Give one link to each participant.

    Args:
        tokens: A secret for each, all different.
    """
    return Links({token: number for number, token in enumerate(tokens, 1)})


def redeem_link(links: Links, token: str, cookie: str) -> tuple[Links, int | None]:
    """Exchange a token for a cookie.

    Args:
        links: The links.
        token: What the link holds.
        cookie: The secret that admits from now on.

    Returns:
        The links then, and the number of the participant; None, with nothing changed, where the token is unknown or
        was used before.
    """
    participant = links.tokens.get(token)
    if participant is None:
        return links, None
    tokens = {one: number for one, number in links.tokens.items() if one != token}
    return Links(tokens, {**links.cookies, cookie: participant}), participant
