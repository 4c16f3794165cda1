"""The whole way from a hand to counted detents, and the small TOML file that says it."""

from __future__ import annotations

import itertools
import re
import tomllib
from pathlib import Path
from typing import Any, Literal

import attrs

from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.decoder import DecoderKind
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.errors import BenchError
from knobmenu.bench.filter import Filter
from knobmenu.bench.keys import MOST_DETENTS, SECTIONS, Number, Rule, Word
from knobmenu.bench.pressing import Pressing
from knobmenu.bench.reader import Reader
from knobmenu.errors import Problem, nearest, one_of, shown

LARGEST_FILE = 1_000_000
"""A chain's file above this is refused before it is read whole. [bytes]"""

MotionKind = Literal["steady", "flicks", "reversals", "dither", "recorded"]


@attrs.frozen(kw_only=True)
class Turning:
    """How the knob is to be turned."""

    kind: MotionKind = "flicks"
    """At one speed, as a hand does, forth and back, rocked on a detent, or as recorded."""
    turns_per_s: float = 1.0
    """Wanted speed, mean within a stroke; of a dither, rocks of a whole turn's detents. [turns/s]"""
    detents: int = 100
    """How many are turned, signed; of a dither, how often the knob is rocked. [detents]"""
    recorded_ms: tuple[float, ...] = ()
    """Of a recorded motion: its moments. [ms]"""
    recorded_detents: tuple[float, ...] = ()
    """Of a recorded motion: the angle at each. [detents]"""


@attrs.frozen(kw_only=True)
class Judging:
    """How much is tried, and what is still good."""

    seeds: int = 20
    """How often each speed is tried, each time with other chance. [runs]"""
    first_seed: int = 1
    """The first seed; the others follow it."""
    error_share: float = 0.01
    """Errors for each true detent that are still borne. [unitless]"""


@attrs.frozen(kw_only=True)
class Chain:
    """A hand, an encoder, its contacts, a filter, a reader and a decoder."""

    turning: Turning = attrs.field(factory=Turning)
    encoder: Encoder = attrs.field(factory=Encoder)
    contact: Contact = attrs.field(factory=lambda: PRESETS["encoder-2ms"])
    filter: Filter = attrs.field(factory=Filter)
    reader: Reader = attrs.field(factory=Reader)
    decoder: DecoderKind = "table"
    pressing: Pressing = attrs.field(factory=Pressing)
    judging: Judging = attrs.field(factory=Judging)


def load(path: Path) -> Chain:
    """Read a chain's file.

    Raises:
        BenchError: the file cannot be read, or says what cannot be; all problems at once.
    """
    name = path.name
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise BenchError(
            [Problem("", error.strerror or "no file", "a chain's file that can be read", file=name)]
        ) from None
    if len(content) > LARGEST_FILE:
        raise BenchError([Problem("", f"more than {LARGEST_FILE} bytes", "a small TOML file", file=name)])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        found = f"byte 0x{content[error.start]:02x} at position {error.start}"
        raise BenchError([Problem("", found, "text in UTF-8; this looks like a binary file", file=name)]) from None
    return loads(text, name)


def loads(text: str, name: str = "") -> Chain:
    """Read a chain from its text.

    Args:
        text: TOML.
        name: the file's name, for errors.

    Raises:
        BenchError: the text is no TOML, or says what cannot be; all problems at once.
    """
    try:
        tables = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        place = re.search(r"at line (\d+)", str(error))
        line = int(place[1]) if place else 0
        raise BenchError([Problem("", shown(str(error), 100), "valid TOML", file=name, line=line)]) from None
    if "settings" in tables or "menus" in tables:
        advice = '"knobmenu try" tries a design; "knobmenu bench --show" prints a chain to start from'
        raise BenchError([Problem("", "a design", "a chain", advice, name, 1)])
    problems: list[Problem] = []
    for section, table in tables.items():
        line = _line(text, section, "")
        if section not in SECTIONS:
            advice = nearest(section, SECTIONS)
            problems.append(Problem(section[:60], "an unknown section", one_of(SECTIONS), advice, name, line))
        elif not isinstance(table, dict):
            problems.append(Problem(section, shown(table), f"a section, [{section}]", "", name, line))
        else:
            problems += _faults(text, section, table, name)
    if not problems:
        chain = _chain(tables)
        problems = [problem._replace(file=name, line=_line(text, *problem.path.split("."))) for problem in check(chain)]
    if problems:
        raise BenchError(problems)
    return chain


def _faults(text: str, section: str, table: dict[str, Any], name: str) -> list[Problem]:
    problems = []
    for key, value in table.items():
        line = _line(text, section, key)
        rule = SECTIONS[section].get(key)
        if rule is None:
            keys = SECTIONS[section]
            problems.append(
                Problem(f"{section}.{key[:60]}", "an unknown key", one_of(keys), nearest(key, keys), name, line)
            )
        elif allowed := rule.fault(value):
            problems.append(Problem(f"{section}.{key}", shown(value), allowed, _advice(rule, value), name, line))
    if section == "contact" and "preset" in table and len(table) > 1:
        line = _line(text, section, "preset")
        problems.append(
            Problem("contact.preset", "a preset beside figures of your own", "one of both", "take one away", name, line)
        )
    return problems


def _advice(rule: Rule, value: object) -> str:
    if isinstance(rule, Word):
        return nearest(value, rule.words) if isinstance(value, str) else ""
    if isinstance(rule, Number):
        return rule.advice or ("write the number alone, its unit is in the key" if isinstance(value, str) else "")
    return ""


def check(chain: Chain) -> list[Problem]:
    """Find what contradicts itself in a chain whose numbers are each in range.

    Returns:
        The problems, each at a path ``section.key``; none, if the chain can be.
    """
    problems = []
    parts, part, turning, reader = chain.filter, chain.encoder, chain.turning, chain.reader
    if part.detents_per_period == 3:
        problems.append(Problem("encoder.detents_per_period", "3", "1, 2 or 4"))
    off = abs(part.phase_error_deg) + 2 * part.dwell_tolerance_deg
    if off >= 90:
        problems.append(
            Problem(
                "encoder.dwell_tolerance_deg",
                f"{part.phase_error_deg:g} degrees of phase error and twice {part.dwell_tolerance_deg:g} of tolerance",
                "together less than 90 degrees, or the phases lose their order in the part itself",
            )
        )
    for key, volts in (("rising_v", parts.rising_v), ("falling_v", parts.falling_v)):
        if not parts.closed_v < volts < parts.supply_v:
            problems.append(
                Problem(
                    f"filter.{key}",
                    f"{volts:g} V",
                    f"a threshold between {parts.closed_v:.3g} V (contact closed) and {parts.supply_v:g} V (supply)",
                )
            )
    if parts.falling_v > parts.rising_v:
        problems.append(
            Problem("filter.falling_v", f"{parts.falling_v:g} V", f"at most rising_v, {parts.rising_v:g} V")
        )
    if reader.blocked_for_ms and not reader.blocked_every_ms:
        problems.append(Problem("reader.blocked_for_ms", f"{reader.blocked_for_ms:g} ms", "0, or say blocked_every_ms"))
    if reader.blocked_every_ms and reader.blocked_for_ms > reader.blocked_every_ms:
        problems.append(
            Problem(
                "reader.blocked_for_ms",
                f"{reader.blocked_for_ms:g} ms",
                f"at most blocked_every_ms, {reader.blocked_every_ms:g} ms",
            )
        )
    if reader.kind == "interrupt" and reader.debounce in ("integrator", "equal"):
        problems.append(
            Problem(
                "reader.debounce",
                f'"{reader.debounce}"',
                '"none" or "lockout" in an interrupt',
                "equal looks need a loop or a timer, an interrupt comes only at edges",
            )
        )
    for prefix, burst in (("", chain.contact.on_make), ("break_", chain.contact.on_break)):
        if burst is not None and burst.mean_ms > burst.longest_ms:
            allowed = f"at most {prefix}longest_ms, {burst.longest_ms:g} ms"
            problems.append(Problem(f"contact.{prefix}mean_ms", f"{burst.mean_ms:g} ms", allowed))
            if chain.contact.on_make == chain.contact.on_break:
                break
    if chain.pressing.shortest_ms > chain.pressing.longest_ms:
        allowed = f"at most longest_ms, {chain.pressing.longest_ms:g} ms"
        problems.append(Problem("pressing.shortest_ms", f"{chain.pressing.shortest_ms:g} ms", allowed))
    if turning.detents == 0:
        problems.append(Problem("turning.detents", "0", "at least one detent, either way"))
    if turning.kind == "recorded":
        times = turning.recorded_ms
        if len(times) < 2 or len(times) != len(turning.recorded_detents):
            problems.append(
                Problem(
                    "turning.recorded_ms",
                    f"{len(times)} moments and {len(turning.recorded_detents)} angles",
                    "as many moments as angles, at least 2 of each",
                )
            )
        else:
            angles = turning.recorded_detents
            travel = sum(abs(after - before) for before, after in itertools.pairwise(angles))
            if travel > MOST_DETENTS:
                allowed = f"at most {MOST_DETENTS} detents, whatever the direction"
                problems.append(Problem("turning.recorded_detents", f"{travel:.3g} detents in all", allowed))
            for index in range(1, len(times)):
                if times[index] <= times[index - 1]:
                    problems.append(
                        Problem(
                            "turning.recorded_ms",
                            f"{times[index]:g} ms after {times[index - 1]:g} ms, at number {index + 1}",
                            "moments that go forward",
                        )
                    )
                    break
    return problems


def _chain(tables: dict[str, Any]) -> Chain:
    turning = dict(tables.get("turning", {}))
    for key in ("recorded_ms", "recorded_detents"):
        if key in turning:
            turning[key] = tuple(float(value) for value in turning[key])
    figures = dict(tables.get("contact", {}))
    contact = PRESETS[figures.pop("preset", "encoder-2ms")]
    if figures:
        make = {key: value for key, value in figures.items() if not key.startswith("break_")}
        other = {key.removeprefix("break_"): value for key, value in figures.items() if key.startswith("break_")}
        contact = Contact(on_make=_burst(make), on_break=_burst(make | other))
    return Chain(
        turning=Turning(**turning),
        encoder=Encoder(**tables.get("encoder", {})),
        contact=contact,
        filter=_filter(tables.get("filter", {})),
        reader=Reader(**tables.get("reader", {})),
        decoder=tables.get("decoder", {}).get("kind", "table"),
        pressing=Pressing(**tables.get("pressing", {})),
        judging=Judging(**tables.get("judging", {})),
    )


def _filter(figures: dict[str, float]) -> Filter:
    """Make a filter of the figures that a file gives; an input that is not described is a plain one, at half supply."""
    rising_v = figures.get("rising_v", figures.get("supply_v", Filter().supply_v) / 2)
    return Filter(**{"rising_v": rising_v, "falling_v": rising_v} | figures)


def _burst(figures: dict[str, float]) -> Burst | None:
    """Make a burst of the figures that a file gives; nothing, where every edge is clean."""
    longest_ms = figures.get("longest_ms", 2.0)
    given = {"mean_ms": 0.35 * longest_ms, "longest_ms": longest_ms, "bounces": 3.0} | figures
    return None if figures.get("clean_share") == 1 else Burst(**given)


def _line(text: str, section: str, key: str) -> int:
    """Find the line of a section or a key, or 0; only errors ask."""
    inside = False
    for number, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if bare.startswith("["):
            inside = bare.lstrip("[ ").startswith(section)
            if inside and not key:
                return number
        elif re.match(rf"['\"]?{re.escape(key if inside else section)}['\"]?\s*[.=]", bare) and (key or not inside):
            return number
    return _line(text, section, "") if key else 0
