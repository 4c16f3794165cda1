"""A file with several mistakes says each of them once, and nothing that merely follows from another."""

from __future__ import annotations

from typing import Any

import attrs
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from knobmenu.codec import from_plain, to_plain
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, Problem
from knobmenu.files import toml
from tests.strategies import designs


def problems_of(data: Any) -> list[str]:
    with pytest.raises(DesignError) as refused:
        from_plain(data)
    return [problem.path for problem in refused.value.problems]


@settings(max_examples=100, deadline=None)
@given(designs(), st.randoms(use_true_random=False))
def test_a_setting_with_an_unknown_kind_is_the_only_problem_whatever_refers_to_it(design: Design, random: Any) -> None:
    data = to_plain(design)
    keys = [setting.key for setting in design.settings if setting.key != design.language]
    assume(keys)
    key = random.choice(keys)
    data["settings"][key]["kind"] = "nothing-known"

    assert problems_of(data) == [f"settings.{key}.kind"]


@settings(max_examples=100, deadline=None)
@given(designs(), st.randoms(use_true_random=False))
def test_a_wrong_field_of_a_setting_is_the_only_problem(design: Design, random: Any) -> None:
    data = to_plain(design)
    assume(design.settings)
    setting = random.choice(design.settings)
    name = random.choice([field.name for field in attrs.fields(type(setting)) if field.init and field.name != "key"])
    data["settings"][setting.key][name] = 0.5

    assert problems_of(data) == [f"settings.{setting.key}.{name}"]


@settings(max_examples=100, deadline=None)
@given(designs(), st.sampled_from(["display", "knob", "home", "idle", "wording", "languages", "settings", "menus"]))
def test_a_section_that_is_a_number_is_the_only_problem(design: Design, section: str) -> None:
    data = to_plain(design) | {section: 0.5}

    assert problems_of(data) == [section]


@settings(max_examples=60, deadline=None)
@given(designs(), st.randoms(use_true_random=False))
def test_a_misspelt_target_is_told_together_with_a_wrong_label(design: Design, random: Any) -> None:
    data = to_plain(design)
    menu = random.choice(design.menus).key
    data["menus"][menu]["label"] = 7
    data["menus"][menu]["entries"].append("nothing-is-called-this")
    last = len(data["menus"][menu]["entries"]) - 1

    assert set(problems_of(data)) == {f"menus.{menu}.label", f"menus.{menu}.entries[{last}].target"}


def test_problems_come_in_the_order_of_their_lines() -> None:
    text = (
        'format = 1\nname = ""\n[home]\npress = "x"\n[settings.a]\nkind = "switch"\nlabel = ""\n[idle]\nafter_ms = -1\n'
    )

    with pytest.raises(DesignError) as refused:
        toml.loads(text, "my.toml")

    assert [(problem.line, problem.path) for problem in refused.value.problems] == [
        (2, "name"),
        (4, "home.press"),
        (7, "settings.a.label"),
        (9, "idle.after_ms"),
    ]
    assert {problem.file for problem in refused.value.problems} == {"my.toml"}


def test_a_broken_home_is_blamed_for_what_its_author_wrote_and_for_nothing_else() -> None:
    """A stand-in for the broken part must not be blamed."""
    rows = "\n".join(f'    "row {number}",' for number in range(9))
    home = f'[home]\npress = "main"\nrows = [\n{rows}\n]\n'
    text = f'format = 1\nname = "A"\n{home}[menus.main]\nlabel = "M"\nentries = ["back"]\n'

    with pytest.raises(DesignError) as refused:
        toml.loads(text)

    assert {problem.path for problem in refused.value.problems} == {"home.rows"}


def test_a_path_that_is_very_long_is_cut_in_the_middle() -> None:
    text = str(Problem("settings." + "x" * 100_000 + ".key", "y"))

    assert len(text) < 250
    assert text.startswith("settings.xxx")
    assert text.endswith("xxx.key: y")
