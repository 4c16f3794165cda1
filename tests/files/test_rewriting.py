"""A changed design goes back into its text, and what people wrote beside it stays."""

from __future__ import annotations

import random
import re

import attrs
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.design.menu import Entry
from knobmenu.design.settings import Number, Switch
from knobmenu.design.whole import Design
from knobmenu.files import toml
from knobmenu.files.rewriting import update_text
from knobmenu.files.spans import find_comments
from knobmenu.files.starter import read_starter
from tests.strategies import designs

STARTER = toml.loads(read_starter())


def list_comments(text: str) -> list[str]:
    return sorted(text[start:end] for start, end in find_comments(text))


def list_changed_lines(before: str, after: str) -> tuple[set[str], set[str]]:
    """Tell which lines are gone, and which are new."""
    old, new = before.split("\n"), after.split("\n")
    return set(old) - set(new), set(new) - set(old)


def commented(text: str, rng: random.Random) -> str:
    """Put a comment above and behind some lines of a written design."""
    rows = []
    for number, row in enumerate(text.split("\n")):
        if (row.startswith("[") or re.match("[a-z_]+ = ", row)) and rng.random() < 0.5:
            rows += [f"# above {number}.", row + ("" if row.endswith("[") else f"  # behind {number}.")]
        else:
            rows.append(row)
    return "\n".join(rows)


def test_a_changed_value_changes_its_line_alone() -> None:
    parts = [attrs.evolve(part, initial=55) if isinstance(part, Number) else part for part in STARTER.settings[:1]]

    text = update_text(read_starter(), attrs.evolve(STARTER, settings=[*parts, *STARTER.settings[1:]]))

    assert list_changed_lines(read_starter(), text) == ({"initial = 60"}, {"initial = 55"})


def test_entries_take_their_comments_along_when_they_change_places() -> None:
    text = read_starter().replace('    "wake",\n', '    # people use this often\n    "wake",  # each day\n')
    menu = STARTER.menus[0]
    entries = [menu.entries[2], *menu.entries[:2], *menu.entries[3:], Entry("range")]
    design = attrs.evolve(STARTER, menus=[attrs.evolve(menu, entries=entries), *STARTER.menus[1:]])

    result = update_text(text, design)

    assert toml.loads(result) == design
    assert '# people use this often\n    "wake",  # each day\n    "mood",\n' in result
    assert list_comments(result) == list_comments(text)


def test_a_new_setting_comes_after_the_one_before_it_and_a_removed_one_goes_with_its_comment() -> None:
    added = Switch(key="night", label="Night")
    kept = [part for part in STARTER.settings if part.key != "wake"]
    menu = STARTER.menus[0]
    entries = [entry for entry in menu.entries if entry.target != "wake"]
    words = [
        attrs.evolve(part, texts=[pair for pair in part.texts if not pair[0].startswith("Wake-up")])
        for part in STARTER.translations
    ]
    design = attrs.evolve(
        STARTER,
        settings=[kept[0], added, *kept[1:]],
        menus=[attrs.evolve(menu, entries=entries), *STARTER.menus[1:]],
        translations=words,
    )

    gone, new = list_changed_lines(read_starter(), update_text(read_starter(), design))

    assert new == {"[settings.night]", 'label = "Night"'}
    assert gone == {
        "# A clock sets a time of day or a duration, field by field.",
        "[settings.wake]",
        'kind = "clock"',
        'label = "Wake-up light"',
        'short = "Wake-up"               # used where the label does not fit',
        'fields = "hours-minutes"',
        "initial = 390                   # in minutes: half past six",
        '    "wake",',
        '"Wake-up light" = "Wecklicht"',
        '"Wake-up" = "Wecker"',
    }


def test_settings_in_another_order_keep_all_comments() -> None:
    design = attrs.evolve(STARTER, settings=STARTER.settings[::-1])

    result = update_text(read_starter(), design)

    assert toml.loads(result) == design
    assert list_comments(result) == list_comments(read_starter())


def test_lines_of_another_system_stay_so() -> None:
    text = read_starter().replace("\n", "\r\n")

    result = update_text(text, attrs.evolve(STARTER, name="Floor lamp"))

    assert result == text.replace('"Desk lamp"', '"Floor lamp"')


@settings(max_examples=40, deadline=None)
@given(designs(), st.randoms(use_true_random=False))
def test_an_unchanged_design_leaves_the_text_as_it_is(design: Design, rng: random.Random) -> None:
    text = commented(toml.dumps(design), rng)

    assert update_text(text, design) == text


@settings(max_examples=60, deadline=None)
@given(designs(), designs(), st.randoms(use_true_random=False))
def test_any_design_goes_into_the_text_of_any_other(old: Design, new: Design, rng: random.Random) -> None:
    assert toml.loads(update_text(commented(toml.dumps(old), rng), new)) == new


@settings(max_examples=60, deadline=None)
@given(designs(), st.randoms(use_true_random=False))
def test_a_changed_setting_loses_no_comment(design: Design, rng: random.Random) -> None:
    design = attrs.evolve(design, translations=())
    text = commented(toml.dumps(design), rng)
    marked = [attrs.evolve(part, hazard="Hot" if rng.random() < 0.5 else part.hazard) for part in design.settings]
    changed = attrs.evolve(design, settings=marked, name="Renamed")

    result = update_text(text, changed)

    assert toml.loads(result) == changed
    assert list_comments(result) == list_comments(text)
