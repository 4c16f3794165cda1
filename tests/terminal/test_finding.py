"""Commands are found by the words that people use for them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.terminal.bench.keys import BENCH_KEYS
from knobmenu.terminal.input.keymap import ALL, Key
from knobmenu.terminal.prompts.finding import SYNONYMS, find


def first(query: str, keys: tuple[Key, ...] = ALL) -> str:
    found = find(query, [key.words for key in keys])
    return keys[found[0].place].does if found else ""


@pytest.mark.parametrize(
    ("query", "does"),
    [
        *(("exit", "leave"), ("quit", "leave"), ("close", "leave"), ("Quit", "leave")),
        *(("help", "help"), ("keys", "help"), ("shortcuts", "help")),
        *(("undo", "back"), ("back", "back"), ("go back", "back"), ("redo", "on"), ("forward", "on")),
        *(("restart", "power_on"), ("latest", "newest"), ("branch", "next_branch"), ("pause", "freeze")),
        *(("reload", "reload"), ("refresh", "reload"), ("reloed", "reload"), ("rel", "reload")),
        *(("screenshot", "picture"), ("png", "picture"), ("image", "picture"), ("save", "save_trace")),
        *(("long press", "long_press"), ("double click", "double_press"), ("press", "press"), ("hold", "hold")),
        *(("color", "look"), ("colour", "look"), ("theme", "look"), ("dark mode", "look"), ("zoom", "form")),
        *(("fullscreen", "present"), ("presentation", "present"), ("note", "note"), ("comment", "note")),
        *(("bounce", "simulated_encoder"), ("encoder", "simulated_encoder"), ("bench", "bench")),
        *(("test", "save_test"), ("open", "open_trace"), ("tree", "pane_menu"), ("values", "pane_place")),
        *(("resume", "resume"), ("session", "resume"), ("suspend", "suspend"), ("blink", "blinking")),
    ],
)
def test_the_first_command_found_is_the_one_that_the_word_means(query: str, does: str) -> None:
    assert first(query) == does


@pytest.mark.parametrize(("query", "does"), [("undo", "back"), ("redo", "on"), ("help", "help"), ("noise", "")])
def test_the_bench_is_searched_by_the_same_words(query: str, does: str) -> None:
    assert first(query, BENCH_KEYS) == does


@pytest.mark.parametrize("query", ["", "  ", "?!", "wibble", "xq"])
def test_letters_that_are_scattered_over_a_sentence_find_nothing(query: str) -> None:
    assert first(query) == ""


def test_every_synonym_finds_a_command() -> None:
    assert [synonym for synonym in SYNONYMS if not first(synonym) and not first(synonym, BENCH_KEYS)] == []


@given(st.text(max_size=40), st.lists(st.text(max_size=40), max_size=5))
def test_each_title_is_found_at_most_once_and_its_spans_are_in_it(query: str, titles: list[str]) -> None:
    found = find(query, titles)

    assert len({one.place for one in found}) == len(found)
    assert all(0 <= start < end <= len(titles[one.place]) for one in found for start, end in one.spans)
    assert [one.score for one in found] == sorted((one.score for one in found), reverse=True)
