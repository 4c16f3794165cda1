"""The table of keys: what it promises, and where it is repeated for readers."""

from knobmenu.design.simulation import FREE_KEYS
from knobmenu.terminal.bench.keys import BENCH_KEYS
from knobmenu.terminal.desk.layout import PANES
from knobmenu.terminal.input.keymap import ALL, BY_KEY, FIRST, GROUPS
from knobmenu.terminal.sitting.screen import LEAVING
from tests import pictures


def test_no_key_does_two_things() -> None:
    names = [name for key in ALL for name in key.keys]
    assert len(names) == len(set(names))
    assert {name: key for key in ALL for name in key.keys} == BY_KEY


def test_every_key_says_what_it_does_in_a_sentence() -> None:
    for key in ALL:
        assert key.words[0].isupper(), key
        assert key.words.endswith("."), key
        assert key.shown, key


def test_the_bottom_row_has_a_word_for_each_of_its_keys() -> None:
    by_name = {key.does: key for key in ALL}
    assert all(by_name[does].short for does in FIRST)
    assert {key.does for key in ALL if key.short} <= set(FIRST)


def test_each_pane_has_a_key() -> None:
    assert {f"pane_{pane}" for pane in PANES} <= {key.does for key in ALL}


def test_every_key_is_in_the_documentation() -> None:
    text = (pictures.ROOT / "docs" / "reference" / "terminal.md").read_text(encoding="utf-8")
    table = text[text.index("| keys |") : text.index("A turn in the past")]
    for key in ALL:
        name = key.shown.lower() if key.does == "press" else key.shown
        said = f"`{name}`" if len(name) == 1 else name
        assert said in table, key


def test_groups_hold_every_key_once() -> None:
    assert [key for keys in GROUPS.values() for key in keys] == list(ALL)


def test_a_key_that_a_design_may_bind_for_a_moderator_hides_no_key_of_the_app() -> None:
    used = {name for key in (*ALL, *BENCH_KEYS) for name in key.keys} | {*LEAVING}

    assert used.isdisjoint(FREE_KEYS)
