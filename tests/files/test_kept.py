"""A text is kept while it differs from what was saved, and offered once nobody changes it any more."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from knobmenu.files.kept import KeptText, list_kept

FILES = ("/somewhere/mine.toml",)


@pytest.fixture
def keep() -> Iterator[Callable[[], KeptText]]:
    """Keep the text "old"; all is closed at the end."""
    opened: list[KeptText] = []

    def begin() -> KeptText:
        opened.append(KeptText("texts", FILES, ".toml", "old\n"))
        return opened[-1]

    yield begin
    for text in opened:
        text.close()


def test_a_text_is_kept_only_while_it_is_not_saved(keep: Callable[[], KeptText]) -> None:
    text = keep()
    assert text.take("old\n") == ""
    assert list_kept("texts") == []
    assert text.take("new\n") == ""
    assert [path.read_text() for path in list_kept("texts")] == ["new\n"]
    text.save("new\n")
    assert list_kept("texts") == []
    assert text.take("old\n") == ""
    assert [path.read_text() for path in list_kept("texts")] == ["old\n"]
    text.take("new\n")
    assert list_kept("texts") == []


def test_an_earlier_text_is_found_once_nobody_changes_it(keep: Callable[[], KeptText]) -> None:
    before, now = keep(), keep()
    before.take("new\n")
    assert now.find_earlier() is None
    before.close()
    earlier = now.find_earlier()
    assert earlier is not None
    assert earlier.path.read_text() == "new\n"
    earlier.delete()
    assert now.find_earlier() is None


def test_why_a_text_cannot_be_kept_is_returned(
    keep: Callable[[], KeptText], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "file"))
    assert keep().take("new\n") == "Not a directory"
