"""A chain being tried: changes can be taken back, and answers come in the order of their use."""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Turning
from knobmenu.bench.judging import judge_chain
from knobmenu.bench.plan import Plan
from knobmenu.bench.presses import PressVerdict
from knobmenu.bench.run import Run
from knobmenu.bench.trial import Trial, apply_remedy, choose, go, learn, rerun, turn
from knobmenu.bench.verdict import Row, Verdict
from tests.bench.trials import CLEAN, judged_trial


def test_every_change_can_be_taken_back_and_made_again() -> None:
    trial = choose(judged_trial(), 10)
    for steps in (1, 1, -1):
        trial = turn(trial, steps)
    chains = trial.chains
    assert len(chains) == 4
    trial = go(go(trial, -1), -1)
    assert trial.chain is chains[1]
    assert trial.found.fresh == 0
    assert go(trial, 1).chain is chains[2]
    branched = turn(trial, 5)
    assert len(branched.chains) == 3
    assert go(go(go(branched, -1), -1), -1).message[0] == "nothing to undo"
    assert go(branched, 1).message[0] == "nothing to redo"


def test_what_was_changed_is_known() -> None:
    trial = turn(choose(judged_trial(), 10), 1)
    assert trial.changed == {trial.parameters[10].path}
    assert go(trial, -1).changed == frozenset()


def test_answers_come_in_the_order_of_their_use_and_fill_the_table() -> None:
    chain = attrs.evolve(CLEAN, judging=attrs.evolve(CLEAN.judging, seeds=2), turning=Turning(detents=5))
    reported: list[str] = []
    trial = Trial("mine.toml", (chain,))
    kinds = []
    for step in judge_chain(chain, 1, reported.append):
        trial = learn(trial, step)
        kinds.append(type(step))
        assert trial.found.fresh == len(trial.found.rows)
    assert kinds[0] is Run
    assert set(kinds[1:-3]) == {Row}
    assert kinds[-3:] == [Verdict, Plan, PressVerdict]
    assert trial.found.presses is not None
    assert trial.found.verdict is not None
    assert trial.found.verdict.rows == trial.found.rows
    assert reported[0] == "waveforms"


def test_another_draw_is_another_run() -> None:
    assert rerun(judged_trial()).seed == 2


def test_the_first_remedy_is_applied_by_a_key_and_can_be_taken_back() -> None:
    trial = judged_trial()
    applied = apply_remedy(trial)
    assert applied.chain.filter.capacitor_f == 1e-8
    assert applied.message[0] == "applied: Make each capacitor 10 nF"
    assert go(applied, -1).chain is trial.chain
    assert apply_remedy(applied).chain is applied.chain
    assert apply_remedy(applied).message[0] == "the plan is not ready yet"
