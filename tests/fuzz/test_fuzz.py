"""Whatever is read from outside is accepted or refused: without a traceback, raw characters, or much time or memory."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.kinds import KINDS
from tests.fuzz.oracle import judge, judge_mutants, kept_cases

MUTANTS = 10_000
"""How many of each kind; `python -m tests.fuzz COUNT` reads any number."""


@pytest.mark.parametrize("name", KINDS)
def test_changed_documents_are_accepted_or_refused(name: str) -> None:
    failures = list(judge_mutants(name, MUTANTS))

    assert not failures, "\n\n".join(map(str, failures[:5]))


@pytest.mark.parametrize("path", kept_cases(), ids=lambda path: path.name)
def test_what_once_failed_stays_fixed(path: Path) -> None:
    kind = KINDS[path.name.split(".")[0]]

    assert judge(kind, path.read_bytes()) == ""


def test_the_mutants_reach_both_answers() -> None:
    """A suite whose every mutant is refused at the first byte would prove nothing."""
    for kind in KINDS.values():
        answers = set()
        for number in range(200):
            try:
                kind.read(kind.mutant(number))
                answers.add("accepted")
            except kind.refusals as error:
                answers.add(type(error).__name__)

        assert len(answers) >= 2, kind.name
