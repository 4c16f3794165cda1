"""A chain's file: what it says is what is judged, and what cannot be is refused with its place and the way out.

tests/bench/bad/ is a catalogue of chains that are wrong, most of them in one way, and the very messages that they
give. Run with KNOBMENU_UPDATE=1 to write the messages down again; then read what changed before it is kept.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import SECTIONS, Chain, Judging, Turning, change, get_value
from knobmenu.bench.chain_file import LARGEST_FILE, load, loads, write_toml
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.errors import BenchError
from knobmenu.bench.filter import Filter
from knobmenu.bench.inputs import KINDS, InputKind, get_thresholds_v
from knobmenu.bench.pressing import Pressing
from knobmenu.bench.reader import DebounceKind
from tests.bench.strategies import chains, numbers

HERE = Path(__file__).parent / "bad"
FILES = sorted(path.name for path in HERE.glob("*.toml"))
MESSAGES = HERE / "messages.txt"
DEBOUNCES: tuple[DebounceKind, ...] = ("none", "lockout", "integrator", "equal")


def refused(name: str) -> BenchError:
    with pytest.raises(BenchError) as told:
        load(HERE / name)
    return told.value


def test_each_bad_chain_gives_the_messages_that_are_written_down() -> None:
    said = "\n".join(f"{refused(name)}\n" for name in FILES).replace(f"{HERE}{os.sep}", "")
    if os.environ.get("KNOBMENU_UPDATE") == "1":
        MESSAGES.write_text(said, encoding="utf-8")

    assert said == MESSAGES.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", FILES)
def test_every_problem_of_a_bad_chain_names_the_file_what_was_found_and_what_is_allowed(name: str) -> None:
    for problem in refused(name).problems:
        assert problem.file == str(HERE / name)
        assert problem.got
        assert problem.expected or problem.advice
        assert str(problem).isprintable()


NO_LINE = ("binary.toml", "in-another-encoding.toml", "key-with-an-escape.toml")
"""Of a file that is no text, and of a key that does not stand there as it is called."""


@pytest.mark.parametrize("name", [name for name in FILES if name not in NO_LINE])
def test_every_problem_of_a_bad_chain_names_the_line_of_its_key_or_else_of_its_section(name: str) -> None:
    lines = (HERE / name).read_text(encoding="utf-8").splitlines()
    for problem in refused(name).problems:
        section, _, key = problem.path.partition(".")
        line = lines[problem.line - 1]
        assert problem.line >= 1
        assert key in line or line.strip("[]") == section


def test_the_catalogue_holds_at_least_fifty_mistakes() -> None:
    assert len(FILES) >= 50


def test_all_mistakes_of_a_file_are_told_at_once() -> None:
    paths = [problem.path for problem in refused("many-at-once.toml").problems]

    assert paths == ["filter.pull_up_ohm", "filter.rising_v", "reader.kind", "reader.period", "decoder.kind"]


def test_the_nearest_name_is_offered_for_a_slip() -> None:
    for name, advice in (
        ("key-misspelt", "capacitor_f"),
        ("section-misspelt", "filter"),
        ("decoder-unknown", "table"),
        ("reader-unknown", "interrupt"),
        ("motion-unknown", "flicks"),
        ("preset-misspelt", "encoder-3ms"),
    ):
        assert refused(f"{name}.toml").problems[0].advice == f'Did you mean "{advice}"?'


def test_a_file_that_is_too_large_is_refused_before_it_is_read_whole(tmp_path: Path) -> None:
    large = tmp_path / "large.toml"
    large.write_text("# a remark\n" * (LARGEST_FILE // 11 + 2), encoding="utf-8")

    with pytest.raises(BenchError, match=r"large\.toml: expected a small TOML file, got more than 1000000 bytes"):
        load(large)


def test_a_file_that_is_not_there_or_is_a_directory_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(BenchError, match=r"none\.toml: .* got No such file"):
        load(tmp_path / "none.toml")
    with pytest.raises(BenchError, match="got Is a directory"):
        load(tmp_path)


def test_an_empty_file_is_the_built_in_chain(tmp_path: Path) -> None:
    empty = tmp_path / "empty.toml"
    empty.touch()

    assert load(empty) == Chain()


def test_a_chain_nested_beyond_reason_is_refused_without_a_traceback() -> None:
    with pytest.raises(BenchError):
        loads("x = " + "[" * 100_000)


def test_a_file_that_begins_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    """Editors of one system write it."""
    marked = tmp_path / "marked.toml"
    marked.write_bytes(b"\xef\xbb\xbf[turning]\r\ndetents = 7\r\n")

    assert load(marked).turning.detents == 7


turnings = st.builds(
    Turning,
    kind=st.sampled_from(("steady", "flicks", "reversals", "dither")),
    turns_per_s=numbers(0.001, 100),
    detents=st.integers(1, 200_000),
) | st.builds(
    lambda steps, angles: Turning(
        kind="recorded",
        recorded_ms=tuple(float(sum(steps[: nth + 1])) for nth in range(len(steps))),
        recorded_detents=tuple(angles[: len(steps)]),
    ),
    st.lists(st.integers(1, 1000), min_size=2, max_size=5),
    st.lists(numbers(-1000, 1000), min_size=5, max_size=5),
)
pressings = st.builds(
    lambda preset, presses, shortest_ms, longer_ms, apart_ms, long_press_ms: Pressing(
        preset=preset,
        presses=presses,
        shortest_ms=shortest_ms,
        longest_ms=shortest_ms + longer_ms,
        apart_ms=apart_ms,
        long_press_ms=long_press_ms,
    ),
    st.sampled_from(sorted(PRESETS)),
    st.integers(1, 10_000),
    numbers(1, 1000),
    numbers(0, 1000),
    numbers(1, 1000),
    st.integers(50, 10_000),
)
judgings = st.builds(
    Judging, seeds=st.integers(2, 1000), first_seed=st.integers(0, 2**31 - 1), tolerated_error_rate=numbers(1e-6, 1)
)


@st.composite
def whole_chains(draw: st.DrawFn) -> Chain:
    """Chains that say something in every section."""
    chain = attrs.evolve(
        draw(chains(debounce=DEBOUNCES)),
        turning=draw(turnings),
        pressing=draw(pressings),
        judging=draw(judgings),
        decoder=draw(st.sampled_from(("one-edge", "two-edges", "table"))),
    )
    bursts = [burst for burst in (chain.contact.on_make, chain.contact.on_break) if burst is not None]
    # A burst that is never seen is written as none at all.
    return attrs.evolve(chain, contact=Contact()) if any(burst.no_bounce_fraction == 1 for burst in bursts) else chain


@given(whole_chains())
def test_a_chain_that_can_be_is_written_and_read_as_it_was(chain: Chain) -> None:
    assert loads(write_toml(chain)) == chain


@pytest.mark.parametrize("name", PRESETS)
def test_a_preset_is_written_by_its_name(name: str) -> None:
    assert f'preset = "{name}"' in write_toml(Chain(contact=PRESETS[name]))


def test_figures_of_an_opening_are_those_of_a_closing_unless_they_are_said() -> None:
    same = loads("[contact]\nmean_ms = 1\nlongest_ms = 3").contact
    other = loads("[contact]\nmean_ms = 1\nlongest_ms = 3\nbreak_mean_ms = 0.5\nbreak_no_bounce_fraction = 0.4").contact

    assert same.on_make == same.on_break == Burst(mean_ms=1, longest_ms=3, bounces=3)
    assert other.on_make == same.on_make
    assert other.on_break == Burst(mean_ms=0.5, longest_ms=3, bounces=3, no_bounce_fraction=0.4)


def test_the_mean_of_a_burst_that_only_says_its_longest_is_a_share_of_it() -> None:
    burst = loads("[contact]\nlongest_ms = 10").contact.on_make

    assert burst is not None
    assert burst.mean_ms == pytest.approx(3.5)


def test_a_contact_that_never_bounces_can_be_said() -> None:
    assert loads("[contact]\nno_bounce_fraction = 1").contact == Contact()


def test_every_key_of_a_chain_is_written_by_show() -> None:
    """But for the figures of a contact and the thresholds of an input, where a name stands for them."""
    written = write_toml(attrs.evolve(Chain(), filter=Filter(rising_v=2.6, falling_v=2.4))) + write_toml(Chain())
    for section, keys in SECTIONS.items():
        assert f"[{section}]" in written
        for key in keys:
            assert section == "contact" or re.search(rf"^{key} = ", written, re.MULTILINE)


def test_an_input_that_is_not_described_is_a_plain_one_at_half_of_the_supply() -> None:
    parts = loads("[filter]\nsupply_v = 3.3").filter
    other = loads("[filter]\nsupply_v = 3.3\nrising_v = 1.2").filter

    assert (parts.rising_v, parts.falling_v) == (1.65, 1.65)
    assert (other.rising_v, other.falling_v) == (1.2, 1.2)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("supply_v", [1.8, 3.3, 5.0])
def test_an_input_by_name_has_its_typical_thresholds_at_the_supply_and_is_written_by_its_name(
    kind: InputKind, supply_v: float
) -> None:
    chain = loads(f'[filter]\nsupply_v = {supply_v}\ninput = "{kind}"')

    assert (chain.filter.rising_v, chain.filter.falling_v) == get_thresholds_v(kind, supply_v)
    assert get_value(chain, "filter.input") == kind
    assert f'input = "{kind}"' in write_toml(chain)
    assert loads(write_toml(chain)) == chain
    assert change(Chain(), {"filter.supply_v": supply_v, "filter.input": kind}).filter == chain.filter


def test_the_schmitt_trigger_has_the_published_thresholds() -> None:
    """NXP 74HC1G14, table 7, http://www.datasheetandpdf.com/EN/NXP/4/74HC1G14.htm: 2.36 and 1.53 V at 4.5 V."""
    assert get_thresholds_v("schmitt", 4.5) == (2.36, 1.53)
    assert get_value(loads("[filter]\nsupply_v = 4.5\nrising_v = 2.36\nfalling_v = 1.53"), "filter.input") == "schmitt"


def test_thresholds_that_no_input_has_have_no_name() -> None:
    assert get_value(Chain(filter=Filter(rising_v=2.6, falling_v=2.4)), "filter.input") is None
