"""The afternoon at the bench that every beginner has.

What people say of each chain is common practice: no published figure was found. Each saying is judged by the bench's
own 95 % confidence intervals, by the very figures that stand in bench.md (`tests/export/test_standard.py` holds
the document to them). Where a hand's speed matters, the test says at which speed a saying is so.
"""

from __future__ import annotations

import re

import attrs
import pytest

from docs.afternoon import (
    CHAINS,
    CLAIMS,
    SPEEDS,
    cell,
    chain,
    fastest_turns_per_s,
    figures_table,
    judged,
    names,
    without_noise,
)
from knobmenu.bench import filter
from knobmenu.bench.chain import Turning, change
from knobmenu.bench.contact import Contact
from knobmenu.bench.run import count, run
from knobmenu.bench.verdict import measure_row
from knobmenu.cli.main import build_parser

TOLERATED = 0.01
"""Errors for each click that a chain is still called good with; every chain's own limit here."""


def test_every_chain_of_the_demos_is_part_of_the_afternoon_and_has_twenty_detents() -> None:
    assert sorted(names()) == sorted(path.stem for path in CHAINS.glob("*.toml"))
    for name in names():
        assert chain(name).encoder.detents_per_turn == 20
        assert chain(name).judging.tolerated_error_rate == TOLERATED


@pytest.mark.parametrize("speed", SPEEDS)
def test_polling_one_edge_counts_several_times_a_click_at_every_speed(speed: float) -> None:
    assert cell("one-edge-polling", speed).counted.low > 2


@pytest.mark.parametrize("remedy", ["lock-out", "rc-plain-input"])
def test_a_lock_out_or_an_rc_into_a_plain_input_fixes_it_only_partly(remedy: str) -> None:
    cells = {speed: cell(remedy, speed) for speed in SPEEDS}

    assert all(one.errors.high < cell("one-edge-polling", speed).errors.low for speed, one in cells.items())
    assert any(one.errors.low > TOLERATED for one in cells.values())


def test_a_lock_out_longer_than_the_chatter_fails_only_above_the_speed_of_a_data_sheet() -> None:
    """Here the bench is kinder than the saying: what a lock-out costs is speed, if it is as long as it must be."""
    assert all(cell("lock-out", speed).errors.high <= TOLERATED for speed in SPEEDS if speed <= 1)
    assert cell("lock-out", 3.0).lost.low > TOLERATED


def test_a_lock_out_shorter_than_the_chatter_counts_too_often_at_any_speed() -> None:
    """And this is why the saying is heard: the length that people try first is too short for their contacts."""
    short = chain("lock-out")
    short = attrs.evolve(short, reader=attrs.evolve(short.reader, lockout_ms=1.0))

    assert measure_row(short, 0.5).low > TOLERATED
    assert measure_row(short, 0.5).high < cell("one-edge-polling", 0.5).errors.low


@pytest.mark.parametrize("speed", [speed for speed in SPEEDS if speed <= 1.5])
def test_noise_at_one_threshold_is_why_an_rc_fails_and_a_schmitt_trigger_cures(speed: float) -> None:
    """With the same parts, the same noise and the same hands; the bounce alone is removed by both."""
    plain, schmitt = cell("rc-plain-input", speed), cell("rc-schmitt-input", speed)

    assert plain.errors.low > 0.5
    assert without_noise("rc-plain-input", speed) < TOLERATED
    assert schmitt.errors.high < TOLERATED


def test_the_two_rc_filters_of_the_afternoon_differ_in_the_input_alone() -> None:
    plain, schmitt = chain("rc-plain-input"), chain("rc-schmitt-input")

    assert change(plain, {"filter.input": "schmitt"}) == schmitt


def test_one_microfarad_at_a_schmitt_input_counts_once_a_click_up_to_a_speed() -> None:
    good = fastest_turns_per_s("schmitt-1uf")

    assert good > 0.5
    for speed in SPEEDS:
        one = cell("schmitt-1uf", speed)
        if speed < good * 0.8:
            assert one.counted.low > 0.99
            assert one.counted.high < 1.01
            assert one.errors.high <= TOLERATED
        elif speed > good * 1.25:
            assert one.errors.low > TOLERATED


def test_its_phases_lose_their_order_before_its_pulses_vanish() -> None:
    """At 1.5 turns/s every click is still counted once, a good part of them backwards; at 3 most are not counted."""
    disordered, vanished = cell("schmitt-1uf", 1.5), cell("schmitt-1uf", 3.0)

    assert disordered.counted.low > 0.99
    assert disordered.reversed.low > 0.1
    assert vanished.counted.high < 0.5


def test_the_speed_at_which_the_order_breaks_is_the_one_of_the_closed_form() -> None:
    """Of an even turn and clean contacts: right 3 % below the closed form's limit, reversed 3 % above it."""
    clean = attrs.evolve(chain("schmitt-1uf"), turning=Turning(kind="steady", detents=40), contact=Contact())
    judgement = filter.judge(clean.filter)
    limit_turns_per_s = judgement.fastest_periods_per_s / clean.encoder.pulses_per_turn

    below, above = (count(run(clean, 1, limit_turns_per_s * factor)) for factor in (0.97, 1.03))

    assert judgement.limit == "order of the phases"
    assert below.errors == 0
    assert above.counted == above.true
    assert above.reversed > 0.9 * above.true


def test_a_hand_that_flicks_reaches_the_limit_at_a_lower_mean_speed_than_an_even_turn() -> None:
    parts = chain("schmitt-1uf")
    even_turns_per_s = filter.judge(parts.filter).fastest_periods_per_s / parts.encoder.pulses_per_turn

    assert fastest_turns_per_s("schmitt-1uf") < even_turns_per_s


def test_waits_of_100_ms_in_the_loop_leave_about_one_click_in_twenty() -> None:
    """About: within a factor of two. At the slow end of a hand's speeds more is seen, and the table says so."""
    waits = next(claim for claim in CLAIMS if claim.chain == "waiting-loop")

    assert judged(waits, 1.0) == judged(waits, 1.5) == "yes"
    assert cell("waiting-loop", 1.5).counted.low <= 1 / 20 <= cell("waiting-loop", 1.5).counted.high
    assert cell("waiting-loop", 0.2).counted.low > 1 / 10
    assert all(cell("waiting-loop", speed).lost.low > 0.8 for speed in SPEEDS)


@pytest.mark.parametrize("speed", [speed for speed in SPEEDS if speed <= 1.5])
def test_interrupts_on_both_phases_bring_all_clicks_back(speed: float) -> None:
    assert cell("interrupts-both", speed).errors.high <= TOLERATED


def test_where_interrupts_on_both_phases_err_the_contacts_chatter_longer_than_a_quarter_of_a_period() -> None:
    """No decoder mends that: with contacts that do not bounce the same chain is right at every speed."""
    clean = attrs.evolve(chain("interrupts-both"), contact=Contact())

    assert cell("interrupts-both", 3.0).errors.low > TOLERATED
    assert measure_row(clean, 3.0).error_rate == 0


def test_a_saying_is_open_where_its_interval_crosses_an_end_of_the_band() -> None:
    figure = cell("schmitt-1uf", 1.0).errors

    assert figure.is_in(figure.low, figure.high) == "yes"
    assert figure.is_in(0.0, figure.mean) == "open"
    assert figure.is_in(figure.high + 0.1, 1.0) == "no"


def test_the_table_has_two_lines_for_each_chain() -> None:
    lines = figures_table().splitlines()

    assert len(lines) == 2 + 2 * len(names())
    assert len({line.count("|") for line in lines}) == 1


def test_the_readme_of_the_chains_lists_them_in_the_order_of_the_afternoon() -> None:
    text = (CHAINS / "README.md").read_text(encoding="utf-8")

    assert tuple(re.findall(r"^\| \[([\w-]+)\.toml\]\(\1\.toml\)", text, re.MULTILINE)) == names()
    for command in re.findall(r"^knobmenu (bench \S+.*?) *#", text, re.MULTILINE):
        assert build_parser().parse_args(command.split()).command == "bench"
