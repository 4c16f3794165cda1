"""Line mode: what changed in plain sentences, and nothing that a pipe or a screen reader would stumble over."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from knobmenu.files.disk import load
from knobmenu.files.starter import read_starter
from knobmenu.line_mode import HELP, converse
from knobmenu.trace import WORDS


@pytest.fixture
def design_file(tmp_path: Path) -> Path:
    """The starter design, in a file that may be changed."""
    path = tmp_path / "lamp.toml"
    path.write_text(read_starter(), encoding="utf-8")
    return path


def told(path: Path, *lines: str) -> tuple[list[str], bool]:
    """Try a design with some lines; give what was said after the greeting, and whether all could be done."""
    said: list[str] = []
    fine = converse([load(path)], [str(path)], lines, said.append)
    greeting = 2 + 2
    return "\n".join(said[greeting:]).split("\n"), fine


def test_a_turn_says_the_value_and_the_row_that_changed(design_file: Path) -> None:
    said, fine = told(design_file, "1")

    assert said[0] == "Turn +1."
    assert "  brightness is 65 %." in said
    assert "  Row 2: Light bar 3 of 4 65 %" in said
    assert not [line for line in said if line.startswith("  Row 1")]
    assert fine


def test_a_lamp_that_goes_off_is_said_in_words(design_file: Path) -> None:
    said, _ = told(design_file, "hold")

    assert "  Lamp On: off." in said


def test_several_words_in_a_line_are_said_one_by_one(design_file: Path) -> None:
    said, _ = told(design_file, "press 2 press")

    assert [line for line in said if not line.startswith(" ")] == ["Press.", "Turn +2.", "Press."]


def test_what_is_being_changed_is_said(design_file: Path) -> None:
    said, _ = told(design_file, "press 1 press", "where")

    assert any("(blinking: 06)" in line for line in said)
    assert said[-1] == "  Menu: Wake-up light is being edited."


def test_a_mistyped_word_is_answered_with_the_nearest_and_nothing_is_lost(design_file: Path) -> None:
    said, fine = told(design_file, "pres", "where")

    assert said == ['Cannot: expected a word of a trace or a command, got "pres". Did you mean "press"?', "  Home."]
    assert not fine


def test_one_of_a_thing_is_said_in_the_singular(design_file: Path) -> None:
    said, _ = told(design_file, "press 1", "cost")

    assert said[-1].startswith("  since home 1 detent, 1 press, ")


def test_a_word_that_cannot_be_read_leaves_the_device_as_it_was(design_file: Path) -> None:
    said, fine = told(design_file, "press 1 held", "cost")

    assert said[0].startswith("Cannot: trace, line 1, column 9")
    assert said[-1] == "  since home 0 detents, 0 presses, 0.0 s."
    assert not fine


def test_steps_can_be_taken_back_and_a_new_one_loses_none(design_file: Path) -> None:
    said, _ = told(design_file, "1 1", "back 2", "-1", "branch", "values")

    assert "Event 0 of 2, at 0 ms." in said
    assert "Event 2 of 2, at 200 ms." in said
    assert "  brightness is 70 %." in said[said.index("Event 2 of 2, at 200 ms.") :]


def test_a_changed_file_is_taken_with_the_next_line_and_keeps_the_values(design_file: Path) -> None:
    said: list[str] = []

    def changing() -> Iterator[str]:
        yield "1"
        design_file.write_text(read_starter().replace('"Light", bar', '"Glow", bar'), encoding="utf-8")
        yield "values"

    fine = converse([load(design_file)], [str(design_file)], changing(), said.append)

    assert "The design changed; place and values are kept." in said
    assert any(line.startswith("  Row 2: Glow") for line in said)
    assert "  brightness is 65 %." in said[said.index("The design changed; place and values are kept.") :]
    assert fine


def test_a_broken_file_is_said_with_its_line_and_the_last_good_design_stays(design_file: Path) -> None:
    said: list[str] = []

    def breaking() -> Iterator[str]:
        design_file.write_text(
            read_starter().replace("digits", "x").replace("columns = 16", "columns = 3"), encoding="utf-8"
        )
        yield "1"
        design_file.write_text(read_starter(), encoding="utf-8")
        yield "1"

    fine = converse([load(design_file)], [str(design_file)], breaking(), said.append)
    errors = [line for line in said if line.startswith("The changed file cannot be used")]

    assert len(errors) == 1
    assert "lamp.toml:" in errors[0]
    assert "columns" in errors[0]
    assert said.count("Turn +1.") == 2
    assert not fine


def test_two_variants_are_worked_by_one_knob_and_told_apart(design_file: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(read_starter().replace("step = 5", "step = 10", 1), encoding="utf-8")
    said: list[str] = []
    converse([load(design_file), load(other)], [str(design_file), str(other)], ["1"], said.append)

    assert "  lamp.toml: brightness is 65 %." in said
    assert "  other.toml: brightness is 70 %." in said


def test_a_saved_trace_plays_again_to_the_same_place(design_file: Path, tmp_path: Path) -> None:
    kept = tmp_path / "walk.trace"
    said, fine = told(design_file, "press 2 press", f"save {kept}", "start", f"load {kept}", "where")

    assert said[-1] == "  Menu, Range: Dimmest is selected."
    assert fine


def test_a_saved_test_passes_and_an_existing_file_is_not_written_over(design_file: Path, tmp_path: Path) -> None:
    kept = tmp_path / "test_walk.py"
    said, fine = told(design_file, "press 2 press", f"test {kept}", f"test {kept}")
    content = kept.read_text(encoding="utf-8")
    space: dict[str, object] = {"__file__": str(kept)}
    exec(compile(content, str(kept), "exec"), space)
    tests = [thing for name, thing in space.items() if name.startswith("test_") and callable(thing)]
    for test in tests:
        test()

    assert len(tests) == 1
    assert said[-1].startswith("Cannot: ")
    assert not fine


@pytest.mark.parametrize("line", ["save", "test", "load", "note", "back x", "load nowhere.trace"])
def test_a_command_that_cannot_be_done_says_what_is_allowed(design_file: Path, line: str) -> None:
    said, fine = told(design_file, line)

    assert said[0].startswith("Cannot: ")
    assert not fine


def test_quit_ends_it_and_so_does_the_end_of_the_input(design_file: Path) -> None:
    said, fine = told(design_file, "quit", "1")

    assert said == [""]
    assert fine


def test_help_names_every_word_of_a_trace(design_file: Path) -> None:
    said, _ = told(design_file, "help")

    assert "\n".join(said) == HELP
    assert [word for word in WORDS if word not in HELP and word != "at"] == []


def test_nothing_said_needs_more_than_plain_lines(design_file: Path) -> None:
    said, _ = told(design_file, "1 press 1 press 1 hold", "screen", "values", "where", "cost")

    assert all(line.isprintable() for line in said)
