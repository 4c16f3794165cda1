"""Every trace that a check prints does what the finding says when it is played."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings

from knobmenu.analysis.check import check_design
from knobmenu.analysis.check.findings import RULES, Severity
from knobmenu.design.conditions import AtLeast, Less
from knobmenu.design.home import Gestures, Home, Idle
from knobmenu.design.menu import Action, Entry, Menu
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.files.disk import load
from tests.analysis.check.claims import assert_shows
from tests.analysis.strategies import small_designs
from tests.sampling import sampled
from tests.strategies import designs

DEMOS = sorted((Path(__file__).parents[3] / "demos").glob("*.toml"))


def assert_all_show(design: Design) -> None:
    """Check the design, and play every trace that its report prints."""
    for finding in check_design(design).findings:
        assert finding.rule in RULES
        assert_shows(design, finding)


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_has_no_finding_that_is_not_accepted_and_every_trace_shows_its_own(path: Path) -> None:
    design = load(path)
    report = check_design(design)

    assert [report.list_open(severity) for severity in Severity] == [(), (), ()]
    assert_all_show(design)


@settings(max_examples=sampled(1000, 40))
@given(small_designs())
def test_every_trace_for_a_small_design_shows_its_finding(design: Design) -> None:
    assert_all_show(design)


@settings(max_examples=sampled(500, 20))
@given(designs())
def test_every_trace_for_any_design_shows_its_finding(design: Design) -> None:
    assert_all_show(design)


def test_a_setting_that_hides_its_entry_by_what_it_pushes_is_shown_by_a_value_that_does() -> None:
    """A value that hides nothing by itself may be part of a state that is hidden for another reason."""
    never = Less("lower", 0)
    design = Design(
        name="Pushed",
        settings=[
            Number(key="lower", label="Lower", low=0, high="upper", initial=0),
            Number(key="upper", label="Upper", low=0, high=1, initial=1),
        ],
        menus=[
            Menu(key="main", label="Main", entries=["inner", Entry(target="empty", enabled_if=never), "lower"]),
            Menu(
                key="inner",
                label="Inner",
                entries=[Entry(target="upper", shown_if=AtLeast("lower", 1)), Entry(target="act", enabled_if=never)],
            ),
            Menu(key="empty", label="Empty", entries=[Entry(target="back", enabled_if=never)]),
        ],
        actions=[Action(key="act", label="Act")],
        home=Home(press="main"),
        idle=Idle(after_ms=0),
        gestures=Gestures(long_press="nothing"),
    )
    found = [finding for finding in check_design(design).findings if finding.rule == "hides-itself"]

    assert found
    for finding in found:
        assert_shows(design, finding)
