"""The knobs of a chain: whatever is turned, the chain stays one that can be."""

import attrs
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.chain_file import loads, write_toml
from knobmenu.bench.contact import Burst, Contact
from knobmenu.bench.filter import Filter
from knobmenu.bench.live import FIRST_TRY
from knobmenu.bench.parameters import (
    OWN_FIGURES,
    Parameter,
    choose_next_value,
    format_scaled,
    list_parameters,
    turn_parameter,
)
from knobmenu.bench.preferred import E24
from knobmenu.bench.reader import Reader


def knob(chain: Chain, path: str) -> Parameter:
    return next(one for one in list_parameters(chain) if one.path == path)


def paths(chain: Chain) -> list[str]:
    return [one.path for one in list_parameters(chain)]


moves = st.lists(st.tuples(st.integers(0, 30), st.sampled_from((-5, -1, 1, 5))), max_size=40)


@given(st.sampled_from((Chain(), FIRST_TRY)), moves)
def test_however_the_knobs_are_turned_the_chain_can_be_saved_and_read_again(
    chain: Chain, turns: list[tuple[int, int]]
) -> None:
    for number, steps in turns:
        known = list_parameters(chain)
        after = turn_parameter(chain, known[number % len(known)], steps)
        assert after.refused == (after.chain is chain)
        assert not after.refused or after.remark
        chain = after.chain
    assert loads(write_toml(chain)) == chain


@given(moves)
def test_a_step_up_is_taken_back_by_a_step_down(turns: list[tuple[int, int]]) -> None:
    chain, stepped = Chain(), 0
    for number, _ in turns:
        parameter = list_parameters(chain)[number % len(list_parameters(chain))]
        up = turn_parameter(chain, parameter, 1)
        if not up.refused and parameter.read(chain) in parameter.ladder:
            down = turn_parameter(up.chain, parameter, -1)
            assert parameter.read(down.chain) == parameter.read(chain)
            stepped += 1
    assume(stepped)


def test_resistors_and_capacitors_step_through_preferred_values() -> None:
    """E12 and E6 are every second and every fourth member of E24 (IEC 60063)."""
    chain = Chain()
    for path, series in (("filter.series_ohm", E24[::2]), ("filter.capacitor_f", E24[::4])):
        for value in knob(chain, path).ladder[1:]:
            digits = round(float(f"{float(value):e}"[:3]) * 10)
            assert digits in series
    up = turn_parameter(chain, knob(chain, "filter.pull_up_ohm"), 1)
    assert up.chain.filter.pull_up_ohm == 12_000


def test_from_between_two_rungs_the_next_one_is_a_step_away() -> None:
    ladder = (1.0, 2.0, 5.0, 10.0)
    assert choose_next_value(ladder, 3.0, 1) == 5.0
    assert choose_next_value(ladder, 3.0, -1) == 2.0
    assert choose_next_value(ladder, 3.0, 9) == 10.0
    assert choose_next_value(ladder, 99.0, 1) == 99.0
    assert choose_next_value(ladder, 99.0, -1) == 10.0
    assert choose_next_value(("a", "b"), "z", 1) == "a"


def test_only_the_knobs_that_do_something_are_shown() -> None:
    polled, woken = paths(Chain()), paths(Chain(reader=Reader(kind="interrupt")))
    assert "reader.period_ms" in polled
    assert "reader.latency_ms" not in polled
    assert "reader.latency_ms" in woken
    assert "reader.period_ms" not in woken
    assert "reader.lockout_ms" in paths(Chain(reader=Reader(debounce="lockout")))
    assert "reader.blocked_every_ms" in paths(FIRST_TRY)
    recorded = Turning(kind="recorded", recorded_ms=(0.0, 9.0), recorded_detents=(0.0, 1.0))
    assert "turning.kind" not in paths(Chain(turning=recorded))


def test_thresholds_keep_their_share_of_the_supply() -> None:
    after = turn_parameter(Chain(filter=Filter(rising_v=3.0, falling_v=2.0)), knob(Chain(), "filter.supply_v"), -1)
    assert (after.chain.filter.supply_v, after.chain.filter.rising_v, after.chain.filter.falling_v) == (3.3, 1.98, 1.32)
    assert "thresholds follow" in after.remark


def test_the_thresholds_of_a_plain_input_part_and_push_each_other() -> None:
    chain = Chain()
    schmitt = turn_parameter(chain, knob(chain, "filter.rising_v"), 1).chain
    assert (schmitt.filter.rising_v, schmitt.filter.falling_v) == (2.6, 2.5)
    lowered = turn_parameter(schmitt, knob(schmitt, "filter.rising_v"), -5)
    assert lowered.chain.filter.rising_v == lowered.chain.filter.falling_v == 2.1
    assert lowered.remark == "the falling threshold follows"


def test_a_loop_that_blocks_is_given_a_rhythm_and_one_that_has_no_room_is_refused() -> None:
    chain = Chain()
    blocks = turn_parameter(chain, knob(chain, "reader.blocked_for_ms"), 1)
    assert blocks.chain.reader.blocked_every_ms == blocks.chain.reader.blocked_for_ms * 5
    refused = turn_parameter(FIRST_TRY, knob(FIRST_TRY, "reader.blocked_every_ms"), -5)
    assert refused.refused
    assert "blocked_for_ms" in refused.remark


def test_an_interrupt_gives_up_looks_that_need_a_loop() -> None:
    chain = Chain(reader=Reader(kind="timer", debounce="equal"))
    after = turn_parameter(chain, knob(chain, "reader.kind"), 1)
    assert (after.chain.reader.kind, after.chain.reader.debounce) == ("interrupt", "none")
    assert "which need a loop" in after.remark


def test_a_contact_with_figures_of_its_own_turns_to_the_presets() -> None:
    burst = Burst(mean_ms=1.1, longest_ms=4.0, bounces=3.0)
    chain = Chain(contact=Contact(on_make=burst, on_break=burst))
    parameter = knob(chain, "contact.preset")
    assert parameter.describe(chain) == OWN_FIGURES
    assert parameter.describe(turn_parameter(chain, parameter, 1).chain) == "clean"


def test_the_end_of_a_ladder_is_said() -> None:
    chain = attrs.evolve(Chain(), decoder="table")
    after = turn_parameter(chain, knob(chain, "decoder.kind"), 1)
    assert after.refused
    assert after.remark == "counted by: table is the last value offered"


@pytest.mark.parametrize(
    ("number", "words"),
    [(4700.0, "4.7 kΩ"), (1e6, "1 MΩ"), (470.0, "470 Ω"), (999_999.9999999, "1 MΩ"), (0.5, "0.5 Ω")],
)
def test_a_number_has_the_unit_of_its_size(number: float, words: str) -> None:
    assert format_scaled(number, ((1e6, "MΩ"), (1e3, "kΩ"), (1.0, "Ω"))) == words


def test_every_knob_is_explained_and_fits_its_place() -> None:
    for chain in (Chain(), FIRST_TRY, Chain(reader=Reader(kind="interrupt")), Chain(reader=Reader(debounce="equal"))):
        for parameter in list_parameters(chain):
            assert parameter.about.endswith(".")
            assert len(parameter.label) <= 15
            for value in parameter.ladder:
                assert len(parameter.format_value(value)) <= 13
