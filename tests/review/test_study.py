"""A study is read whole or refused with every problem, its orders are balanced, and its tasks can be done."""

from __future__ import annotations

import json
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import attrs
import pytest

from knobmenu.analysis.cost.gestures import perform_all
from knobmenu.errors import DesignError
from knobmenu.files import save
from knobmenu.files.studies import load_study
from knobmenu.files.toml import parse
from knobmenu.files.writing import format_line
from knobmenu.review.study import MOST_CONSENT, Trial, list_trials, make_balanced_square
from knobmenu.review.study_form import STUDY, Setup, is_done, read_study
from tests.review.designs import clean
from tests.review.studies import volume_and_light

TEXT = (
    """\
format = 1
name = "Two orders of a menu"
consent = "Your turns and presses are recorded under a code."

[variants]
first = "first.toml"
second = { design = "second.toml", label = "Light first" }

"""
    + volume_and_light(volume=3, give_up_s=60)
    + """
[tasks.loud_and_lit]
text = "Make it loud and light."
done = { all = [{ at_least = ["volume", 15] }, { equal = ["light", true] }] }

[questions.liked]
kind = "text"
text = "What did you like?"

[questions.sure]
kind = "scale"
text = "How sure were you?"
answers = 5
when = "task"
"""
)

CONSENT = 'consent = "Your turns and presses are recorded under a code."'
LONG = ("You take part of your own free will.\n" * 30 + "\n") * 3 + '"Nothing" is kept \\ but turns – é 漢字.'


def write(folder: Path, text: str = TEXT) -> Path:
    design = clean()
    save(design, folder / "first.toml")
    menu = attrs.evolve(design.menus[0], entries=tuple(reversed(design.menus[0].entries)))
    save(attrs.evolve(design, menus=(menu, *design.menus[1:])), folder / "second.toml")
    path = folder / "study.toml"
    path.write_text(text, encoding="utf-8")
    return path


def read(folder: Path, text: str = TEXT) -> Setup:
    return load_study(write(folder, text), read_study)


def refusals(folder: Path, old: str, new: str) -> list[str]:
    assert old in TEXT
    with pytest.raises(DesignError) as caught:
        read(folder, TEXT.replace(old, new))
    return [str(problem).removeprefix(f"{folder}/") for problem in caught.value.problems]


@pytest.mark.parametrize("count", range(1, 13))
def test_a_balanced_square_is_balanced_by_its_definition(count: int) -> None:
    """E. J. Williams, 1949: as often in each place, and as often directly after each other."""
    rows = make_balanced_square(count)

    assert all(sorted(row) == list(range(count)) for row in rows)
    for column in zip(*rows, strict=True):
        assert set(Counter(column).values()) == {len(rows) // count}
    after = Counter(pair for row in rows for pair in pairwise(row))
    assert len(after) == count * (count - 1)
    assert len(set(after.values())) <= 1
    assert len(rows) == (count if count % 2 == 0 or count == 1 else 2 * count)


def test_a_whole_round_of_participants_balances_variants_and_tasks(tmp_path: Path) -> None:
    study = read(tmp_path).study
    rounds = [list_trials(study, participant) for participant in range(2 * 6)]

    assert all(len(set(trials)) == 6 for trials in rounds)
    for column in zip(*rounds, strict=True):
        assert Counter(column) == {Trial(v, t.key): 2 for v in ("first", "second") for t in study.tasks}


def test_a_fixed_order_is_that_of_the_file(tmp_path: Path) -> None:
    study = attrs.evolve(read(tmp_path).study, order="fixed")

    assert [trial.task for trial in list_trials(study, 5)][:3] == ["louder", "dark", "loud_and_lit"]


def test_a_study_converts_to_plain_data_and_back(tmp_path: Path) -> None:
    study = read(tmp_path).study

    assert STUDY.build(STUDY.write(study)) == study


def test_a_consent_of_paragraphs_is_read_and_written(tmp_path: Path) -> None:
    """As TOML of several lines, as TOML of one line, and as JSON."""
    study = read(tmp_path, TEXT.replace(CONSENT, f"consent = '''\n{LONG}'''")).study
    assert study.consent == LONG
    assert 3000 < len(LONG) <= MOST_CONSENT

    plain = STUDY.write(study)
    assert STUDY.build(json.loads(json.dumps(plain))) == study
    assert STUDY.build(parse(inline_document(plain))) == study


def inline_document(plain: dict[str, Any]) -> str:
    return "".join(f"{format_line(name, value)}\n" for name, value in plain.items())


def test_the_longest_consent_is_accepted_and_a_longer_one_refused_at_its_line(tmp_path: Path) -> None:
    longest = "x" * MOST_CONSENT
    assert read(tmp_path, TEXT.replace(CONSENT, f'consent = "{longest}"')).study.consent == longest

    assert refusals(tmp_path, CONSENT, f'consent = """\n{longest}\n\n more"""') == [
        "study.toml:3: consent: expected text of at most 4000 characters, got 4007 characters."
        " Shorten it by 7 characters."
    ]


def test_the_least_way_does_each_task(tmp_path: Path) -> None:
    setup = read(tmp_path)

    assert len(setup.least) == 6
    tasks = {task.key: task for task in setup.study.tasks}
    for (variant, task), route in setup.least.items():
        assert route is not None
        state, _ = perform_all(setup.designs[variant], setup.starts[variant, task], route.way)
        assert not is_done(setup.designs[variant], setup.starts[variant, task], tasks[task])
        assert is_done(setup.designs[variant], state, tasks[task])


def test_an_unknown_setting_is_refused_in_each_variant_with_its_line(tmp_path: Path) -> None:
    found = refusals(tmp_path, '["volume", 12]', '["volme", 12]')

    assert len(found) == 2
    assert found[0].startswith("study.toml:12: tasks.louder.done")
    assert "volme" in found[0]
    assert 'Did you mean "volume"?' in found[0]


def test_an_impossible_task_is_refused(tmp_path: Path) -> None:
    found = refusals(tmp_path, '["volume", 12]', '["volume", 99]')

    assert found[0] == (
        "study.toml:12: tasks.louder.done: an impossible task: no way leads from its start to this condition"
        ' (with variant "first"). Change the condition, the start state or the design.'
    )


def test_a_task_that_is_done_when_it_begins_is_refused(tmp_path: Path) -> None:
    found = refusals(tmp_path, '["volume", 12]', '["volume", 3]')

    assert "holds when the task begins" in found[0]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("{ volume = 3 }", "{ volme = 3 }", 'tasks.louder.start.volme: expected one of "volume"'),
        ("{ volume = 3 }", "{ volume = 41 }", "study.toml:11: tasks.louder.start.volume: expected a value of"),
        ("{ volume = 3 }", '{ volume = "x" }', 'tasks.louder.start.volume: expected a value of "volume", got "x"'),
        ("{ volume = 3 }", "3", "tasks.louder.start: expected a table from settings to values, got 3"),
        ('["light", false]', '["lights", false]', "study.toml:18: tasks.dark.done: expected one of"),
        ("give_up_s = 60", "give_up_s = 0", "study.toml:13: tasks.louder.give_up_s: expected a whole number"),
        ("give_up_s = 60", "give_up = 60", 'Did you mean "give_up_s"?'),
        ("format = 1", "format = 2", "study.toml:1: format: expected 1, got 2"),
        ('"first.toml"', '"frist.toml"', "study.toml:6: variants.first.design: a design that cannot be used"),
        ('kind = "text"', 'kind = "txt"', 'study.toml:25: questions.liked.kind: expected one of "scale" or "text"'),
        ("answers = 5", "answers = 1", "questions.sure.answers: expected a whole number from 2 to 11, got 1"),
        ('name = "Two orders of a menu"\n', "", "name: expected text"),
        ('name = "Two orders of a menu"', "name = 5", "study.toml:2: name: expected text of 1 to"),
        ('text = "Make it loud and light."\n', "", "tasks.loud_and_lit.text: expected text"),
        ('second = { design = "second.toml", label', "second = { label", "variants.second.design: expected text"),
        ("[tasks.louder]", "[tasks.Louder]", "study.toml:9: tasks.Louder"),
        ("consent =", "konsent =", 'Did you mean "consent"?'),
        (CONSENT, "consent = 5", "study.toml:3: consent: expected text of at most 4000 characters, got 5"),
        (CONSENT, 'consent = "\\n \\n"', "study.toml:3: consent: expected text that is not blank"),
        (CONSENT, 'consent = "a\\tb"', "consent: expected printable characters and line ends"),
        ("[variants]", "[variants", "study.toml:5: "),
        (TEXT, "", "expected a study, got an empty file"),
    ],
)
def test_bad_studies_are_refused_at_their_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert said in "\n".join(refusals(tmp_path, old, new))


def test_every_problem_is_reported_together(tmp_path: Path) -> None:
    text = TEXT.replace("give_up_s = 60", "give_up_s = 0").replace("answers = 5", "answers = 1")
    with pytest.raises(DesignError) as caught:
        read(tmp_path, text)

    assert len(caught.value.problems) == 2
