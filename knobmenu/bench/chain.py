"""The whole signal chain from a hand to counted detents."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from typing import Any, Literal

import attrs

from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.corners import Tolerance
from knobmenu.bench.decoder import DECODERS, DecoderKind
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.errors import BenchError
from knobmenu.bench.figures import format_number
from knobmenu.bench.filter import Filter
from knobmenu.bench.inputs import KINDS, find_kind, get_thresholds_v
from knobmenu.bench.pressing import Pressing
from knobmenu.bench.reader import Reader
from knobmenu.bench.rules import Number, Numbers, Rule, Word, list_rules, locate
from knobmenu.errors import Problem

MOST_DETENTS = 200_000
"""Most detents of one run, for the sake of memory: 100000 that bounce for 30 ms take about 350 MB. [detents]"""

MotionKind = Literal["steady", "flicks", "reversals", "dither", "recorded"]


def _to_numbers(values: Iterable[float]) -> tuple[float, ...]:
    return tuple(values)


@attrs.frozen(kw_only=True)
class Turning:
    """How the knob is turned."""

    kind: MotionKind = attrs.field(
        default="flicks", validator=Word(("steady", "flicks", "reversals", "dither", "recorded"))
    )
    """At one speed, as a hand does, back and forth, rocked on a detent, or as recorded."""
    turns_per_s: float = attrs.field(default=1.0, validator=Number(0, 100, "turns/s", above=True))
    """Requested speed, mean within a stroke; of a dither, rocks of a whole turn's detents. [turns/s]"""
    detents: int = attrs.field(default=100, validator=Number(-MOST_DETENTS, MOST_DETENTS, "detents", whole=True))
    """How many are turned, signed; of a dither, how often the knob is rocked. [detents]"""
    recorded_ms: tuple[float, ...] = attrs.field(default=(), converter=_to_numbers, validator=Numbers())
    """Of a recorded motion: the times. [ms]"""
    recorded_detents: tuple[float, ...] = attrs.field(default=(), converter=_to_numbers, validator=Numbers())
    """Of a recorded motion: the angle at each. [detents]"""

    def __attrs_post_init__(self) -> None:
        problems = []
        if self.detents == 0:
            problems.append(Problem("detents", "0", "at least one detent, either way"))
        if self.kind == "recorded":
            problems += _check_recording(self.recorded_ms, self.recorded_detents)
        BenchError.raise_any(problems)


def _check_recording(times_ms: tuple[float, ...], angles: tuple[float, ...]) -> list[Problem]:
    if len(times_ms) < 2 or len(times_ms) != len(angles):
        found = f"{len(times_ms)} moments and {len(angles)} angles"
        return [Problem("recorded_ms", found, "as many moments as angles, at least 2 of each")]
    problems = []
    travel = sum(abs(after - before) for before, after in itertools.pairwise(angles))
    if travel > MOST_DETENTS:
        expected = f"at most {MOST_DETENTS} detents, whatever the direction"
        problems.append(Problem("recorded_detents", f"{format_number(travel)} detents in all", expected))
    for number, (before, after) in enumerate(itertools.pairwise(times_ms), 2):
        if after <= before:
            found = f"{after:g} ms after {before:g} ms, at number {number}"
            problems.append(Problem("recorded_ms", found, "moments that go forward"))
            break
    return problems


@attrs.frozen(kw_only=True)
class Judging:
    """How many detents are tried, and which error rate is tolerated."""

    seeds: int = attrs.field(default=20, validator=Number(2, 1000, "runs", whole=True))
    """How often each speed is tried, each time with a different random seed. [runs]"""
    first_seed: int = attrs.field(default=1, validator=Number(0, 2**31 - 1, whole=True))
    """The first random seed; the others follow it."""
    tolerated_error_rate: float = attrs.field(default=0.01, validator=Number(0, 1, above=True))
    """Errors for each true detent that are tolerated. [unitless]"""
    target_turns_per_s: float = attrs.field(default=2.0, validator=Number(0, 100, "turns/s", above=True))
    """How fast it must count right. Data sheets end at 1 turn/s; a hurried hand is assumed twice as fast. [turns/s]"""


@attrs.frozen(kw_only=True)
class Chain:
    """A hand, an encoder, its contacts, a filter, a reader and a decoder."""

    turning: Turning = attrs.field(factory=Turning, validator=attrs.validators.instance_of(Turning))
    encoder: Encoder = attrs.field(factory=Encoder, validator=attrs.validators.instance_of(Encoder))
    contact: Contact = attrs.field(
        factory=lambda: PRESETS["encoder-2ms"], validator=attrs.validators.instance_of(Contact)
    )
    filter: Filter = attrs.field(factory=Filter, validator=attrs.validators.instance_of(Filter))
    tolerance: Tolerance = attrs.field(factory=Tolerance, validator=attrs.validators.instance_of(Tolerance))
    reader: Reader = attrs.field(factory=Reader, validator=attrs.validators.instance_of(Reader))
    decoder: DecoderKind = attrs.field(default="table", validator=Word(DECODERS))
    pressing: Pressing = attrs.field(factory=Pressing, validator=attrs.validators.instance_of(Pressing))
    judging: Judging = attrs.field(factory=Judging, validator=attrs.validators.instance_of(Judging))


PARTS: dict[str, type[attrs.AttrsInstance]] = {
    "turning": Turning,
    "encoder": Encoder,
    "filter": Filter,
    "tolerance": Tolerance,
    "reader": Reader,
    "pressing": Pressing,
    "judging": Judging,
}
"""The parts of a chain whose fields are the keys of a section in its file."""

SECTIONS: dict[str, dict[str, Rule]] = {
    "turning": list_rules(Turning),
    "encoder": list_rules(Encoder),
    "contact": {
        "preset": Word(tuple(PRESETS)),
        **list_rules(Burst),
        **{f"break_{key}": rule for key, rule in list_rules(Burst).items()},
    },
    "filter": {"input": Word(KINDS), **list_rules(Filter)},
    "tolerance": list_rules(Tolerance),
    "reader": list_rules(Reader),
    "pressing": list_rules(Pressing),
    "decoder": {"kind": list_rules(Chain)["decoder"]},
    "judging": list_rules(Judging),
}
"""Every section of a chain's file, its keys, and what each may hold."""

Value = float | str
"""What a key of a chain's file holds, but for recordings."""


def get_value(chain: Chain, path: str) -> Value | None:
    """Return the value at a path of a chain's file, such as ``reader.period_ms``; None if there is none."""
    section, _, key = path.partition(".")
    if section == "decoder":
        return chain.decoder
    if section == "contact":
        if key == "preset":
            return next((name for name, one in PRESETS.items() if one == chain.contact), None)
        burst = chain.contact.on_break if key.startswith("break_") else chain.contact.on_make
        return None if burst is None else getattr(burst, key.removeprefix("break_"))
    if path == "filter.input":
        return find_kind(chain.filter.supply_v, chain.filter.rising_v, chain.filter.falling_v)
    value: Value = getattr(getattr(chain, section), key)
    return value


def change(chain: Chain, changes: Mapping[str, Value]) -> Chain:
    """Change values of a chain, all of them together.

    Args:
        chain: the chain.
        changes: new values by path, such as ``reader.period_ms``. As in a chain's file, what is changed of a contact's
            closing is changed of its opening too, unless that is changed by itself; a preset takes the place of both,
            and an input that of both thresholds.

    Raises:
        BenchError: such a chain cannot be; paths are those of the chain's file.
    """
    parts: dict[str, Any] = {}
    for path, value in changes.items():
        section, _, key = path.partition(".")
        parts.setdefault(section, {})[key] = value
    for section, figures in parts.items():
        match section:
            case "decoder":
                parts[section] = figures["kind"]
            case "contact":
                parts[section] = _change_contact(chain.contact, figures)
            case _:
                if section == "filter" and "input" in figures:
                    kind, supply_v = figures.pop("input"), figures.get("supply_v", chain.filter.supply_v)
                    figures["rising_v"], figures["falling_v"] = get_thresholds_v(kind, supply_v)
                with locate(section):
                    parts[section] = attrs.evolve(getattr(chain, section), **figures)
    return attrs.evolve(chain, **parts)


def _change_contact(contact: Contact, figures: dict[str, Any]) -> Contact:
    if "preset" in figures:
        return PRESETS[figures["preset"]]
    on_break = {key.removeprefix("break_"): value for key, value in figures.items() if key.startswith("break_")}
    on_make = {key: value for key, value in figures.items() if not key.startswith("break_")}
    make, opening = contact.on_make, contact.on_break
    with locate("contact"):
        make = make and attrs.evolve(make, **on_make)
    with locate("contact.break_" if on_break else "contact"):
        opening = opening and attrs.evolve(opening, **(on_make | on_break))
    return Contact(on_make=make, on_break=opening)
