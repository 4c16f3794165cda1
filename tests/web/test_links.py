"""A link admits one participant, once; the cookie that it was exchanged for admits the same one again."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from knobmenu.web.links import issue_links, redeem_link

TOKENS = st.lists(st.text(min_size=1), min_size=1, max_size=5, unique=True)


@given(TOKENS, st.lists(st.tuples(st.integers(0, 6), st.text(min_size=1)), max_size=12))
def test_a_token_is_exchanged_once_whatever_is_tried(tokens: list[str], tries: list[tuple[int, str]]) -> None:
    links, redeemed = issue_links(tokens), set[str]()
    for number, (index, cookie) in enumerate(tries):
        token = tokens[index] if index < len(tokens) else f"never issued {number} {''.join(tokens)}"
        secret = f"{number} {cookie}"
        before = links
        links, participant = redeem_link(links, token, secret)
        if index < len(tokens) and token not in redeemed:
            assert participant == index + 1
            assert links.cookies[secret] == participant
            redeemed.add(token)
        else:
            assert participant is None
            assert links == before
    assert set(links.tokens) == set(tokens) - redeemed
    assert len(links.cookies) == len(redeemed)
