"""The table of setting kinds is complete, and what a kind is called there is what files and the machine use."""

from typing import get_args

from hypothesis import given

from knobmenu.codec.tables import SETTINGS as FORMS
from knobmenu.design.kinds import KINDS, Parted, Setting, count_parts, get_initial_value
from knobmenu.design.whole import Design
from knobmenu.machine.state import make_initial_state
from knobmenu.machine.values import get_at
from tests.strategies import designs


def test_every_kind_has_a_row() -> None:
    assert set(KINDS) == set(get_args(Setting))


def test_every_kind_has_a_word_of_its_own_which_files_use() -> None:
    assert {kind.word: made for made, kind in KINDS.items()} == {word: form.made for word, form in FORMS.kinds.items()}


@given(designs())
def test_the_index_gives_each_setting_the_position_that_says_the_type_of_its_value(design: Design) -> None:
    index, values = design.index, make_initial_state(design).values

    assert set(index.numeric) | set(index.texts) == set(index.settings)
    for key, setting in index.settings.items():
        expected = index.text_positions[key] if key in index.texts else index.numbers[key]
        assert expected == index.positions[key]
        assert type(get_at(values, expected)) is (str if key in index.texts else int)
        assert get_at(values, expected) == get_initial_value(setting)
    assert set(index.numbers) == set(index.numeric) | set(index.readouts)


@given(designs())
def test_only_a_value_with_parts_has_several(design: Design) -> None:
    for setting in design.settings:
        assert isinstance(setting, Parted) or count_parts(setting) == 1
