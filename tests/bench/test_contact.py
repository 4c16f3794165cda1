"""Contacts bounce: the model against its own statement, and each preset against the figure it is taken from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given

from knobmenu.bench import filter
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.filter import Filter
from knobmenu.bench.signal import Floats, Signal
from tests.bench.stages import bouncing, filtered
from tests.bench.strategies import bursts, contacts, seeds

EDGES = 20_000
APART_S = 1.0

BOUNCING = {name: preset for name, preset in PRESETS.items() if preset.on_make and preset.on_break}


def bounced(tried: Contact, seed: int = 1, edges: int = EDGES) -> Signal:
    """Let edges bounce that are far apart; the first one closes."""
    ideal = Signal(0, np.arange(edges, dtype=np.float64) * APART_S)
    return bouncing(tried, ideal, seed)


def lengths_ms(signal: Signal, edges: int = EDGES) -> Floats:
    """Return how long each burst is, from its first edge to its last; 0 where it is clean. [ms]"""
    burst_of = np.floor(signal.changes_s / APART_S + 1e-9).astype(int)
    return np.array([np.ptp(one) * 1000 for one in np.split(signal.changes_s, np.flatnonzero(np.diff(burst_of)) + 1)])


@pytest.mark.parametrize(
    ("name", "longest_ms"),
    [
        # Data sheet of an 11 mm encoder, "contact bounce 2.0 ms max. at 15 rpm", https://dtsheet.com/model/2985517
        ("encoder-2ms", 2.0),
        # Data sheet of a 24-pulse encoder, "chatter t1, t3 <= 3.0 ms" at 360 degrees/s,
        # https://xonelec.com/mpn/teconnectivity/dpl12v2424a20fg
        ("encoder-3ms", 3.0),
        # Data sheet, "10 ms max. at 60 rpm", https://xonelec.com/mpn/bourns/pec11l4015fs0020
        ("encoder-10ms", 10.0),
        # Data sheet, "30 ms max. at 60 rpm", https://xonelec.com/mpn/bourns/pec11h4015fs0016
        ("encoder-30ms", 30.0),
        # J. Ganssle, A Guide to Debouncing: "a max of 6200 usec", read in a quotation.
        ("switch", 6.2),
        # Data sheets of three tactile switches, bounce 5 ms at most, https://dtsheet.com/doc/2762513/ and others
        ("tactile-5ms", 5.0),
    ],
)
def test_no_burst_of_a_preset_is_longer_than_the_published_one_and_some_come_near_it(
    name: str, longest_ms: float
) -> None:
    found = lengths_ms(bounced(PRESETS[name]))

    assert found.max() <= longest_ms * (1 + 1e-9)
    assert found.max() > longest_ms * 0.98


def test_the_bursts_of_a_switch_have_the_published_mean() -> None:
    """J. Ganssle, A Guide to Debouncing: 16 switches bounced for 1557 us on average (read in a quotation)."""
    makes = lengths_ms(bounced(PRESETS["switch"]))[0::2]
    makes = makes[makes > 0]

    assert makes.mean() == pytest.approx(1.557, abs=4 * makes.std() / np.sqrt(len(makes)))


def test_the_switches_of_that_guide_pass_a_debounce_of_ten_milliseconds_and_its_outlier_does_not() -> None:
    """The guide: most switches settle within 10 ms (read in a quotation); one outlier of 157 ms (from memory)."""
    outlier = Contact(on_make=Burst(mean_ms=157.0, longest_ms=157.0, bounces=20.0))

    assert lengths_ms(bounced(PRESETS["switch"])).max() < 10
    assert lengths_ms(bounced(outlier, edges=2), edges=2)[0] > 10


@pytest.mark.parametrize("name", BOUNCING)
def test_a_preset_bounces_as_often_and_as_long_as_it_says(name: str) -> None:
    """Within four standard errors, of the edges that bounce; the share of clean ones likewise."""
    signal = bounced(PRESETS[name])
    lengths = lengths_ms(signal)
    burst_of = np.floor(signal.changes_s / APART_S + 1e-9).astype(int)
    bounces = (np.bincount(burst_of, minlength=EDGES) - 1) // 2
    for first, burst in ((0, PRESETS[name].on_make), (1, PRESETS[name].on_break)):
        assert burst is not None
        length, number = lengths[first::2], bounces[first::2]
        clean = length == 0
        error = 4 / np.sqrt(len(length))
        assert clean.mean() == pytest.approx(burst.no_bounce_fraction, abs=error * 0.5)
        assert length[~clean].mean() == pytest.approx(burst.mean_ms, abs=error * length.std() * 1.2)
        assert number[~clean].mean() == pytest.approx(burst.bounces, abs=error * number.std() * 1.2)


@pytest.mark.parametrize("part", [0.05, 0.3, 0.6, 0.9, 0.99])
def test_the_mean_is_kept_however_near_it_is_to_the_longest(part: float) -> None:
    tried = Contact(on_make=Burst(mean_ms=10 * part, longest_ms=10.0, bounces=2.0))
    makes = lengths_ms(bounced(tried))[0::2]

    assert makes.mean() == pytest.approx(10 * part, abs=0.01 + 4 * makes.std() / np.sqrt(len(makes)))


@given(contacts, seeds)
def test_each_burst_begins_at_its_edge_and_ends_at_its_level_within_its_longest(tried: Contact, seed: int) -> None:
    signal = bounced(tried, seed, 20)
    longest = max((one.longest_ms for one in (tried.on_make, tried.on_break) if one), default=0.0)
    edges = np.arange(20.0)

    assert list(signal.get_levels(edges + APART_S / 2)) == [1, 0] * 10
    assert set(edges) <= set(signal.changes_s)
    assert lengths_ms(signal, 20).max() <= longest * (1 + 1e-9)
    assert len(lengths_ms(signal, 20)) == 20


@given(bursts, seeds)
def test_a_contact_is_where_it_belongs_at_each_of_its_ideal_edges_even_if_that_cuts_a_burst_short(
    burst: Burst, seed: int
) -> None:
    """However fast the knob is turned."""
    ideal = Signal(0, np.cumsum(np.random.default_rng(seed).uniform(1e-4, 5e-3, 50)))
    signal = bouncing(Contact(on_make=burst, on_break=burst), ideal, seed)

    assert np.all(np.diff(signal.changes_s) >= 0)
    assert list(signal.get_levels(ideal.changes_s)) == list(ideal.get_levels(ideal.changes_s))
    assert signal.last == ideal.last


def test_bounces_crowd_at_the_beginning_of_a_burst() -> None:
    tried = Contact(on_make=Burst(mean_ms=10.0, longest_ms=10.0, bounces=20.0))
    signal = bounced(tried, edges=400)
    into = np.mod(signal.changes_s, APART_S) / 0.010
    inner = into[(into > 0) & (into < 0.99)]

    # The square of an even share lies below a quarter half of the time.
    assert np.mean(inner < 0.25) == pytest.approx(0.5, abs=0.03)


def test_a_clean_contact_and_one_that_never_moves_are_left_as_they_are() -> None:
    ideal = Signal(0, np.array([1.0, 2.0]))
    still = Signal(1, np.zeros(0))

    assert bouncing(Contact(), ideal, 1).changes_s.tolist() == ideal.changes_s.tolist()
    assert not len(bouncing(PRESETS["switch"], still, 1).changes_s)


def test_a_contact_may_bounce_at_one_kind_of_edge_only() -> None:
    found = lengths_ms(bounced(Contact(on_break=Burst(mean_ms=1.0, longest_ms=2.0, bounces=3.0)), edges=400), 400)

    assert found[0::2].max() == 0
    assert found[1::2].min() > 0


def test_the_same_seed_gives_the_same_bounces_and_another_one_others() -> None:
    one, same, other = (bounced(PRESETS["encoder-3ms"], seed, 20) for seed in (5, 5, 6))

    assert list(one.changes_s) == list(same.changes_s)
    assert list(one.changes_s) != list(other.changes_s)


@pytest.mark.parametrize("name", BOUNCING)
def test_a_filter_sized_for_a_preset_removes_every_burst_of_it(name: str) -> None:
    """What `longest_bounce_removed_s` states and what the preset draws meet here."""
    longest_ms = max(one.longest_ms for one in (PRESETS[name].on_make, PRESETS[name].on_break) if one)
    parts = Filter(series_ohm=1e4, capacitor_f=longest_ms * 3e-7, rising_v=2.65, falling_v=1.7)
    seen = filtered(parts, bounced(PRESETS[name], edges=2000))

    assert filter.judge(parts).longest_bounce_removed_s * 1000 > longest_ms
    assert len(seen.changes_s) == 2000
