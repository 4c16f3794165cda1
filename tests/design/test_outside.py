"""The model against what is published outside of this project. Beside each check stands its source."""

from fractions import Fraction
from itertools import pairwise

import eseries
import pytest

from knobmenu import (
    Design,
    Device,
    Generator,
    Home,
    Knob,
    Menu,
    Number,
    Scale,
    Switch,
    TextSetting,
)
from knobmenu.design.generators import compute_airband_carrier_hz, generate_values


@pytest.mark.parametrize("name", ["E3", "E6", "E12", "E24", "E48", "E96", "E192"])
def test_preferred_numbers_are_those_of_iec_60063(name: str) -> None:
    """Against the library eseries from the registry, which carries the tables of IEC 60063."""
    made_elsewhere = list(eseries.series(getattr(eseries, name)))
    unit = 100 if len(made_elsewhere) > 24 else 10
    decade = sorted(round(value / min(made_elsewhere) * unit) for value in made_elsewhere)

    assert list(generate_values(Generator(kind=name, low=unit, high=10 * unit - 1))) == decade  # type: ignore[arg-type]


def test_eight_members_of_e24_are_not_what_the_formula_gives() -> None:
    """IEC 60063; that 2.7 3.0 3.3 3.6 3.9 4.3 4.7 8.2 differ from 10^(n/24) is computed."""
    table = generate_values(Generator(kind="E24", low=10, high=99))
    formula = [round(10 * 10 ** (index / 24)) for index in range(24)]

    assert [value for value, rounded in zip(table, formula, strict=True) if value != rounded] == [
        27, 30, 33, 36, 39, 43, 47, 82,
    ]  # fmt: skip


def test_equal_temperament_is_that_of_the_published_notes() -> None:
    """A4 is 440 Hz; C4 to B4 from the On-Line Encyclopedia of Integer Sequences, A329207. Here in mHz from A0."""
    published_hz = {
        39: 261.6255653005986,
        40: 277.1826309768,
        41: 293.6647679174,
        43: 329.6275569128,
        44: 349.2282314330,
        46: 391.9954359817,
        48: 440.0,
        50: 493.8833012561,
    }
    notes = generate_values(Generator(kind="doublings", low=27_500, high=4_200_000, parts=12))

    assert {step: notes[step] for step in published_hz} == {step: round(hz * 1000) for step, hz in published_hz.items()}


def test_third_octaves_are_the_nominal_frequencies_and_within_one_percent_of_the_exact_ones() -> None:
    """ISO 266 nominal values as in a published table (kennisbank.crow.nl); exact are 1000 x 10^(n/10)."""
    nominal = generate_values(Generator(kind="third-octaves", low=160, high=160_000))

    assert nominal[:19] == (
        160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10_000,
    )  # fmt: skip
    assert max(abs(value / (10_000 * 10 ** ((index - 18) / 10)) - 1) for index, value in enumerate(nominal)) < 0.0096


def test_f_numbers_are_those_engraved_and_near_the_exact_thirds_of_a_stop() -> None:
    """Engraved values: kameraarkasi.org; exact 2^(n/6): medfmt.dustynegatives.org. 1.2 is farthest, exact 1.26."""
    published = "1 1.1 1.2 1.4 1.6 1.8 2 2.2 2.5 2.8 3.2 3.5 4 4.5 5 5.6 6.3 7.1 8 9 10 11 13 14 16 18 20 22"
    engraved = generate_values(Generator(kind="f-numbers", low=10, high=220))

    assert engraved == tuple(int(10 * Fraction(number)) for number in published.split())
    assert all(abs(value / (10 * 2 ** (index / 6)) - 1) < 0.05 for index, value in enumerate(engraved))


def test_thirds_of_a_stop_double_every_third_step() -> None:
    """The definition of a stop: twice the light."""
    times = generate_values(Generator(kind="doublings", low=100, high=6400, parts=3))

    assert times[::3] == (100, 200, 400, 800, 1600, 3200, 6400)
    assert times[1] == 126
    assert times[2] == 159


def test_one_two_five_has_three_values_a_decade() -> None:
    """The definition of the series."""
    assert generate_values(Generator(kind="1-2-5", low=1, high=1000)) == (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


@pytest.mark.parametrize(
    ("low", "high", "step", "channels", "source"),
    [
        (87_500, 108_000, 100, 206, "87.5 to 108.0 MHz in 100 kHz: thefriendsfm.com; counted"),
        (87_900, 107_900, 200, 101, "odd multiples of 100 kHz in the Americas: thefriendsfm.com; counted"),
        (531, 1602, 9, 120, "medium wave in 9 kHz: chaos.owiki.org/wiki/Medium_wave"),
        (530, 1700, 10, 118, "medium wave in 10 kHz: chaos.owiki.org/wiki/Medium_wave"),
        (540, 1700, 10, 117, "medium wave in 10 kHz from 540: chaos.owiki.org/wiki/Medium_wave"),
    ],
)
def test_channel_rasters_have_the_published_number_of_channels(
    low: int, high: int, step: int, channels: int, source: str
) -> None:
    assert len(generate_values(Generator(kind="grid", low=low, high=high, step=step))) == channels, source


def test_the_airband_has_760_wide_and_2280_narrow_channels() -> None:
    """Counts: experimentalaircraft.info, 8.33 kHz channels; names: pprune.org; no name ends in 20, 45, 70 or 95."""
    names = generate_values(Generator(kind="airband", low=118_000, high=136_999))

    assert sum(name % 25 == 0 for name in names) == 760
    assert sum(name % 25 != 0 for name in names) == 2280
    assert {name % 100 for name in names}.isdisjoint({20, 45, 70, 95})
    assert names[:8] == (118_000, 118_005, 118_010, 118_015, 118_025, 118_030, 118_035, 118_040)


@pytest.mark.parametrize(
    ("name", "carrier_hz"),
    [(118_005, 118_000_000), (118_010, 118_008_333), (118_015, 118_016_667), (118_030, 118_025_000), (118_020, None)],
)
def test_an_airband_name_stands_for_its_published_carrier(name: int, carrier_hz: int | None) -> None:
    """A public table of names and carriers; the rule, ICAO Annex 10 Volume V Table 4-1 bis, is from memory."""
    assert compute_airband_carrier_hz(name) == carrier_hz


def test_every_narrow_channel_lies_a_third_of_25_khz_from_its_neighbour() -> None:
    """ICAO Annex 10 Volume V: 8.33 kHz is 25/3 kHz (from memory)."""
    carriers = [
        compute_airband_carrier_hz(name)
        for name in generate_values(Generator(kind="airband", low=118_000, high=119_000))
        if name % 25
    ]

    gaps = [later - carrier for carrier, later in pairwise(carriers) if carrier is not None and later is not None]
    assert all(abs(gap - Fraction(25_000, 3)) < 1 for gap in gaps)


def _volume(clockwise: str) -> Device:
    return Device(
        Design(
            name="Volume",
            knob=Knob(clockwise=clockwise),  # type: ignore[arg-type]
            settings=[Number(key="volume", label="Volume", low=0, high=30, initial=10)],
            home=Home(turn="volume"),
        )
    )


def test_clockwise_increases() -> None:
    """MIL-STD-1472E 5.4.1.2.1 and IEC 60447: clockwise is on, increase. A leads B clockwise: docs.kernel.org."""
    device = _volume("up")
    for at_ms, (level_a, level_b) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1), (0, 0))):
        device.read_contacts(level_a, level_b, False, 10 * at_ms)

    assert device.get_value("volume") == 11


def test_a_design_can_turn_it_round_for_a_valve() -> None:
    """MIL-STD-1472E 5.4.1.2.1 excepts valves, which close clockwise."""
    device = _volume("down")
    for at_ms, (level_a, level_b) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1), (0, 0))):
        device.read_contacts(level_a, level_b, False, 10 * at_ms)

    assert device.get_value("volume") == 9


@pytest.mark.parametrize(
    ("on", "held_ms", "afterwards"),
    [(False, 3900, "on"), (True, 3900, "standby"), (True, 4100, "off")],
)
def test_a_power_switch_tells_four_seconds_from_less(on: bool, held_ms: int, afterwards: str) -> None:
    """The table of state and press length of a main board's power switch: D955XBK manual, Table 6.

    Off and shorter is on; on and shorter is standby; on and longer than 4 s is off. On and standby are one switch here,
    off is the switch `power`.
    """
    device = Device(
        Design(
            name="Board",
            knob=Knob(long_press_ms=4000),
            settings=[
                Switch(key="power", label="Power", initial=on),
                Switch(key="awake", label="Awake", initial=on),
            ],
            home=Home(press="awake" if on else "power", long_press="power"),
        )
    )
    device.read_contacts(0, 0, False, 0)
    device.read_contacts(0, 0, True, 100)
    device.read_contacts(0, 0, False, 100 + held_ms)
    device.read_contacts(0, 0, False, 10_000)

    state = "off" if not device.get_value("power") else "on" if device.get_value("awake") or not on else "standby"
    assert state == afterwards


ALPHABET = " ABCDEFGHIJKLMNOPQRSTUVWXYZ"

MACKAY = (
    0.1928, 0.0575, 0.0128, 0.0263, 0.0285, 0.0913, 0.0173, 0.0133, 0.0313, 0.0599, 0.0006, 0.0084, 0.0335, 0.0235,
    0.0596, 0.0689, 0.0192, 0.0008, 0.0508, 0.0567, 0.0706, 0.0334, 0.0069, 0.0119, 0.0073, 0.0164, 0.0007,
)  # fmt: skip
"""Space and A to Z: MacKay, Information Theory, Inference and Learning Algorithms, Table 2.9 (from memory)."""


def _detents_and_press(letter: str) -> int:
    """Count what one letter costs from the first character, by turning the device up until it is picked."""
    device = Device(
        Design(
            name="Writer",
            settings=[TextSetting(key="text", label="Text", characters=ALPHABET, longest=4, after_each="first")],
            menus=[Menu(key="main", label="Menu", entries=["text"])],
            home=Home(press="text"),
        )
    )
    device.press()
    turns = ALPHABET.index(letter)
    for _ in range(turns):
        device.turn(1)
    device.press()
    focus = device.state.focus
    assert getattr(focus, "draft", None) == letter
    assert getattr(focus, "pick", None) == 0, "the pick is at the first character again"
    return turns + 1


def test_a_row_of_letters_with_the_pick_snapping_back_costs_what_is_published() -> None:
    """KSPC 10.66 for three keys, alphabetical, the cursor snapping to space.

    MacKenzie, "Mobile text entry using three keys", NordiCHI 2002: the range is published, that 10.66 is this method is
    inferred; so within 3 percent.
    """
    cost = sum(share * _detents_and_press(letter) for share, letter in zip(MACKAY, ALPHABET, strict=True)) / sum(MACKAY)

    assert cost == pytest.approx(10.66, rel=0.03)


def test_uniform_choices_on_a_line_cost_half_the_line_and_a_bit() -> None:
    """Exact: from the first of n entries, the mean of moves and one press is (n + 1) / 2."""
    assert Fraction(sum(map(_detents_and_press, ALPHABET)), len(ALPHABET)) == Fraction(len(ALPHABET) + 1, 2)


def test_turning_wears_an_eeprom_once_a_rest_and_not_once_a_detent() -> None:
    """At 100,000 cycles of one cell over 20 years 13.7 writes a day are allowed (Atmel data sheet figure; computed)."""
    device = _volume("up")
    saves = 0
    for _ in range(400):
        device.turn(1 if device.get_value("volume") == 0 else -1)
        saves += sum(effect.word == "save" for effect in device.effects)
    saves += sum(effect.word == "save" for effect in device.wait(2000).effects)

    assert saves == 1


@pytest.mark.parametrize("step", [1, 5])
def test_a_decibel_scale_goes_faster_where_it_is_quiet(step: int) -> None:
    """What docs/reference/design-file.md says of it: single steps, below 20 of them by two, below 40 by four."""
    below = [*range(20), *range(20, 40, 2), *range(40, 101, 4)]
    values = generate_values(Generator(kind="decibels", low=-100 * step, high=0, step=step))

    assert values[::-1] == tuple(-step * amount for amount in below)


def test_a_tone_knob_in_decibels_doubles_the_level_in_six_steps_of_one() -> None:
    """20 log10 2 is 6.02 dB (computed)."""
    gain = Scale(key="gain", label="Gain", generator=Generator(kind="decibels", low=-60, high=0), initial=0, unit="dB")

    assert round(10 ** ((gain.steps[-1] - gain.steps[-7]) / 20), 2) == 2.0
