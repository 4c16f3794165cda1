"""A plain input behind a capacitor: the plan names noise as the reason, and what it advises survives being followed."""

from __future__ import annotations

import attrs
import pytest

from knobmenu.bench import wording
from knobmenu.bench.chain import Chain, change, get_value
from knobmenu.bench.chain_file import loads, write_toml
from knobmenu.bench.inputs import InputKind
from knobmenu.bench.plan import Plan, make_plan
from knobmenu.bench.remedies import list_remedies
from knobmenu.bench.verdict import measure_row, reach_verdict

SLOW = loads(
    "[judging]\nseeds = 8\ntarget_turns_per_s = 1\n[turning]\ndetents = 60\n[contact]\npreset = 'encoder-3ms'\n"
    "[filter]\ncapacitor_f = 470e-9\n[reader]\nperiod_ms = 0.01\n[decoder]\nkind = 'one-edge'"
)
"""470 nF into a plain input, read by a loop that does nothing else."""


@pytest.fixture(scope="module")
def planned() -> Plan:
    return make_plan(SLOW)


def test_noise_is_named_as_the_reason_with_what_would_be_wrong_without_it(planned: Plan) -> None:
    assert planned.rate_without_noise is not None
    assert planned.rate_without_noise < planned.error_rate / 10
    assert "Noise of 10 mV rms crosses the threshold some 8 times at an opening" in wording.write_heading(planned)


def test_an_input_with_hysteresis_is_offered_and_reaches_what_it_is_said_to(planned: Plan) -> None:
    """Each proposal that changes the input alone is applied, written, read and judged again."""
    offered = {
        get_value(one.chain, "filter.input"): one
        for one in planned.proposals
        if [remedy.part for remedy in one.remedies] == ["input"]
    }

    assert set(offered) == {"microcontroller", "schmitt"}
    for one in offered.values():
        after = loads(write_toml(one.chain))
        assert reach_verdict(after).worst.turns_per_s >= one.reached_turns_per_s * 0.999 > 0
        assert make_plan(after).rate_without_noise is None
        assert "noise crosses once" in one.remedies[0].words


def test_the_lines_to_change_say_that_an_input_takes_the_place_of_thresholds(planned: Plan) -> None:
    one = next(one for one in planned.proposals if one.chain.filter == change(SLOW, {"filter.input": "schmitt"}).filter)

    assert one.list_lines(SLOW) == ("[filter]", 'input = "schmitt"  # in place of rising_v and falling_v')


def test_the_first_proposal_leaves_nothing_that_noise_is_the_reason_of(planned: Plan) -> None:
    after = make_plan(planned.proposals[0].chain)

    assert not after.is_needed or after.rate_without_noise is None


@pytest.mark.parametrize("kind", ["microcontroller", "schmitt"])
def test_noise_is_not_named_where_the_thresholds_are_farther_apart_than_it_reaches(kind: InputKind) -> None:
    found = make_plan(change(SLOW, {"filter.input": kind, "judging.target_turns_per_s": 3.0}))

    assert found.is_needed
    assert found.rate_without_noise is None
    assert "Noise" not in wording.write_heading(found)


def test_no_hysteresis_is_offered_for_noise_where_there_is_none() -> None:
    quiet = change(SLOW, {"filter.noise_v": 0.0})

    assert not any("noise" in remedy.words for remedy, _ in list_remedies(quiet))


def test_the_same_hand_and_contacts_without_noise_count_right() -> None:
    """So it is noise that makes the errors, and nothing that comes with it."""
    noisy, quiet = (measure_row(chain, 0.5) for chain in (SLOW, change(SLOW, {"filter.noise_v": 0.0})))

    assert noisy.low > 0.3
    assert quiet.error_rate == 0


def errors(chain: Chain) -> float:
    return measure_row(chain, 0.5).error_rate


def test_more_noise_and_wider_noise_and_slower_edges_count_wrong_more_often() -> None:
    for path, values in (
        ("filter.noise_v", (0.002, 0.005, 0.02)),
        ("filter.noise_bandwidth_hz", (1e4, 3e4, 1e5)),
        ("filter.capacitor_f", (3.3e-7, 4.7e-7, 1e-6)),
    ):
        found = [errors(change(SLOW, {path: value})) for value in values]
        assert found == sorted(found), path
        assert found[-1] > 2 * found[0], path


def test_a_loop_that_looks_seldom_meets_noise_seldom() -> None:
    often, seldom = (errors(change(SLOW, {"reader.period_ms": period_ms})) for period_ms in (0.01, 1.0))

    assert seldom < often / 5


def test_a_table_of_both_phases_makes_up_for_noise_that_an_interrupt_meets() -> None:
    """Noise shakes one phase between the same two codes, which the table takes back."""
    edges = attrs.evolve(SLOW, reader=attrs.evolve(SLOW.reader, kind="interrupt"))

    assert errors(edges) > 0.2
    assert errors(attrs.evolve(edges, decoder="table")) < 0.01
