"""The parameters of a chain that can be turned like knobs: their values in order, and their notation.

Resistors and capacitors step through preferred values, times and speeds by 1, 2, 5. Where a step contradicts another
parameter and there is one obvious way to resolve it, that parameter changes too, and a remark says so; otherwise the
step is refused with its reason.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import attrs

from knobmenu.bench.chain import Chain, Value, change, get_value
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.errors import BenchError
from knobmenu.bench.figures import format_number
from knobmenu.bench.inputs import KINDS, find_kind
from knobmenu.bench.preferred import list_values

OWN_FIGURES = "own figures"
"""What a contact or an input is called that is not a preset."""


@attrs.frozen
class Parameter:
    """One parameter of a chain."""

    section: str
    """The section of the chain's file."""
    key: str
    """The key in it."""
    label: str
    """What it is called."""
    ladder: tuple[Value, ...]
    """What it can be turned to, in order."""
    format_value: Callable[[Value], str]
    """Writes a value with its unit."""
    about: str
    """What it is, in a sentence."""

    @property
    def path(self) -> str:
        """Its place in the chain's file, such as ``filter.capacitor_f``."""
        return f"{self.section}.{self.key}"

    def read(self, chain: Chain) -> Value:
        """Read its value."""
        value = get_value(chain, self.path)
        return OWN_FIGURES if value is None else value

    def describe(self, chain: Chain) -> str:
        """Write its value with its unit."""
        return self.format_value(self.read(chain))


@attrs.frozen
class Outcome:
    """A chain after one of its parameters was turned."""

    chain: Chain
    remark: str = ""
    """What else changed, or why nothing did."""
    refused: bool = False
    """Whether the step was refused."""


def format_scaled(value: Value, units: tuple[tuple[float, str], ...]) -> str:
    """Write a number with the unit prefix that suits its size, such as ``4.7 kΩ``."""
    number = float(value)
    size, unit = next((one for one in units if number >= one[0] * (1 - 1e-9)), units[-1])
    return f"{number / size:.4g} {unit}"


def _format_ohm(value: Value) -> str:
    return format_scaled(value, ((1e6, "MΩ"), (1e3, "kΩ"), (1.0, "Ω"))) if value else "none"


def _format_farad(value: Value) -> str:
    return format_scaled(value, ((1e-6, "µF"), (1e-9, "nF"), (1e-12, "pF"))) if value else "none"


def _format_volt(value: Value) -> str:
    return f"{format_number(float(value))} V"


def _format_input(value: Value) -> str:
    return "MCU pin" if value == "microcontroller" else str(value)


def _format_hertz(value: Value) -> str:
    return format_scaled(value, ((1e6, "MHz"), (1e3, "kHz"), (1.0, "Hz")))


def _format_ms(value: Value) -> str:
    return f"{float(value):.4g} ms" if value else "none"


def _format_degree(value: Value) -> str:
    return f"{format_number(float(value))}°"


def _format_speed(value: Value) -> str:
    return f"{format_number(float(value))} turns/s"


def _format_number(value: Value) -> str:
    return f"{value:g}" if not isinstance(value, str) else value


def _format_rate(value: Value) -> str:
    return f"{format_number(float(value) * 100)} %"


def _list_one_two_five(lowest: float, highest: float) -> tuple[Value, ...]:
    decades = range(math.floor(math.log10(lowest)), math.ceil(math.log10(highest)) + 1)
    every = [float(f"{digit}e{decade}") for decade in decades for digit in (1, 2, 5)]
    return tuple(value for value in every if lowest * (1 - 1e-9) <= value <= highest * (1 + 1e-9))


_TENTHS = tuple(round(0.1 * number, 1) for number in range(1, 240))

_EVERY: tuple[Parameter, ...] = (
    Parameter(
        "turning", "kind", "motion", ("steady", "flicks", "reversals", "dither"), _format_number,
        "How the hand turns: evenly, in flicks, back and forth, or rocking on one detent.",
    ),
    Parameter(
        "turning", "turns_per_s", "speed", (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0), _format_speed,
        "The speed of the waveforms and of the simulated encoder; the verdict tries its own speeds.",
    ),
    Parameter(
        "encoder", "pulses_per_turn", "pulses a turn", (6, 9, 12, 15, 16, 18, 20, 24, 30, 32), _format_number,
        "Periods of either phase in one turn.",
    ),
    Parameter(
        "encoder", "detents_per_period", "detents a pulse", (1, 2, 4), _format_number,
        "Detents in one period of the phases: a full, a half or a quarter period from rest to rest.",
    ),
    Parameter(
        "encoder", "phase_error_deg", "phase error", tuple(range(-60, 61, 5)), _format_degree,
        "How far B lags where it should be; 360° is one period.",
    ),
    Parameter(
        "encoder", "dwell_tolerance_deg", "edge tolerance", (0.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0),
        _format_degree,
        "How far each edge of each contact may lie off its place, either way.",
    ),
    Parameter(
        "contact", "preset", "contacts", tuple(PRESETS), _format_number,
        "How the contacts bounce; mean and longest after data sheets named in the bench.",
    ),
    Parameter(
        "pressing", "preset", "push switch", tuple(PRESETS), _format_number,
        "How the push switch bounces; the same filter and the same reader lie behind it.",
    ),
    Parameter(
        "filter", "supply_v", "supply", (1.8, 2.5, 3.3, 5.0, 12.0, 24.0), _format_volt,
        "Supply of pull-up and input; the thresholds keep their fraction of it.",
    ),
    Parameter(
        "filter", "pull_up_ohm", "pull-up", tuple(list_values("E12", 470.0, 1e6)), _format_ohm,
        "Pull-up from the supply to the contact (E12).",
    ),
    Parameter(
        "filter", "series_ohm", "series", (0.0, *list_values("E12", 100.0, 1e6)), _format_ohm,
        "Series resistor from the contact to the pin and its capacitor (E12).",
    ),
    Parameter(
        "filter", "capacitor_f", "capacitor", (0.0, *list_values("E6", 1e-10, 1e-5)), _format_farad,
        "Capacitor from the pin to ground (E6); without one the pin follows the contact.",
    ),
    Parameter(
        "filter", "input", "input", KINDS, _format_input,
        "What the pin is: a plain gate, a port with some hysteresis, or a Schmitt trigger before it.",
    ),
    Parameter(
        "filter", "rising_v", "rises at", _TENTHS, _format_volt,
        "Threshold of a voltage that rises; above the falling one it is a Schmitt trigger.",
    ),
    Parameter(
        "filter", "falling_v", "falls at", _TENTHS, _format_volt,
        "Threshold of a voltage that falls; below the rising one it is a Schmitt trigger.",
    ),
    Parameter(
        "filter", "noise_v", "noise", (0.0, *_list_one_two_five(0.001, 0.2)), _format_volt,
        "Noise between pin and threshold, rms; on a slow edge it crosses one threshold many times.",
    ),
    Parameter(
        "filter", "noise_bandwidth_hz", "noise up to", _list_one_two_five(1e3, 1e7), _format_hertz,
        "Where the power of the noise has fallen to half; wider noise crosses more often.",
    ),
    Parameter(
        "reader", "kind", "read by", ("polled", "timer", "interrupt"), _format_number,
        "What reads the pins: the main loop, a timer, or an interrupt at each edge.",
    ),
    Parameter(
        "reader", "period_ms", "every", _list_one_two_five(0.05, 200.0), _format_ms,
        "From one sample of the pins to the next.",
    ),
    Parameter(
        "reader", "jitter_ms", "jitter", (0.0, *_list_one_two_five(0.05, 100.0)), _format_ms,
        "Each sample is late by up to this.",
    ),
    Parameter(
        "reader", "phases", "interrupts on", ("a", "both"), _format_number,
        "Which of the two pins interrupt.",
    ),
    Parameter(
        "reader", "latency_ms", "latency", (0.0, *_list_one_two_five(0.001, 10.0)), _format_ms,
        "From an edge until the interrupt has read the pins.",
    ),
    Parameter(
        "reader", "service_ms", "handler", (0.0, *_list_one_two_five(0.001, 10.0)), _format_ms,
        "From there until the next interrupt can be taken.",
    ),
    Parameter(
        "reader", "blocked_for_ms", "blocked for", (0.0, *_list_one_two_five(0.1, 5000.0)), _format_ms,
        "How long other work holds up the main loop at a time.",
    ),
    Parameter(
        "reader", "blocked_every_ms", "blocked every", _list_one_two_five(1.0, 50_000.0), _format_ms,
        "From the beginning of one such stretch to the next.",
    ),
    Parameter(
        "reader", "masked_for_ms", "masked for", (0.0, *_list_one_two_five(0.1, 5000.0)), _format_ms,
        "How long code masks interrupts at a time, the timer's too.",
    ),
    Parameter(
        "reader", "masked_every_ms", "masked every", _list_one_two_five(1.0, 50_000.0), _format_ms,
        "From the beginning of one such section to the next.",
    ),
    Parameter(
        "reader", "debounce", "debounce", ("none", "lockout", "integrator", "equal"), _format_number,
        "In software: a lock-out after each change, an integrator, or so many equal samples.",
    ),
    Parameter(
        "reader", "lockout_ms", "lock-out", _list_one_two_five(0.1, 200.0), _format_ms,
        "How long a phase is ignored after it changed.",
    ),
    Parameter(
        "reader", "samples", "samples", (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 32), _format_number,
        "Samples that an integrator counts up and down, or that must be equal.",
    ),
    Parameter(
        "decoder", "kind", "counted by", ("one-edge", "two-edges", "table"), _format_number,
        "One edge of one phase, both its edges, or the transition table of both phases.",
    ),
    Parameter(
        "judging", "tolerated_error_rate", "error rate", (0.0001, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1),
        _format_rate,
        "Errors for each true detent that are tolerated.",
    ),
)  # fmt: skip


def list_parameters(chain: Chain) -> tuple[Parameter, ...]:
    """Return the knobs that have an effect in a chain."""
    return tuple(parameter for parameter in _EVERY if _has_effect(chain, parameter))


def _has_effect(chain: Chain, parameter: Parameter) -> bool:
    reader = chain.reader
    match parameter.path:
        case "turning.kind" | "turning.turns_per_s":
            return chain.turning.kind != "recorded"
        case "filter.noise_v":
            return chain.filter.capacitor_f > 0
        case "filter.noise_bandwidth_hz":
            return chain.filter.is_noisy
        case "reader.period_ms" | "reader.jitter_ms":
            return reader.kind != "interrupt"
        case "reader.phases" | "reader.latency_ms" | "reader.service_ms":
            return reader.kind == "interrupt"
        case "reader.blocked_for_ms":
            return reader.kind == "polled"
        case "reader.blocked_every_ms":
            return reader.kind == "polled" and reader.blocked_for_ms > 0
        case "reader.masked_for_ms":
            return reader.kind != "polled"
        case "reader.masked_every_ms":
            return reader.kind != "polled" and reader.masked_for_ms > 0
        case "reader.lockout_ms":
            return reader.debounce == "lockout"
        case "reader.samples":
            return reader.debounce in ("integrator", "equal")
    return True


def turn_parameter(chain: Chain, parameter: Parameter, steps: int) -> Outcome:
    """Turn one knob of a chain.

    Args:
        chain: The chain, without a contradiction.
        parameter: Which knob.
        steps: How far along its ladder; negative is down. At the end of the ladder it stays.

    Returns:
        The chain with it turned, again without a contradiction; or as it was, with the reason.
    """
    value = choose_next_value(parameter.ladder, parameter.read(chain), steps)
    if value == parameter.read(chain):
        end = "last" if steps > 0 else "first"
        return Outcome(
            chain, f"{parameter.label}: {parameter.describe(chain)} is the {end} value offered", refused=True
        )
    changes = {parameter.path: value}
    follows, remark = _follow(chain, parameter.path, value)
    try:
        return Outcome(change(chain, changes | follows), remark)
    except BenchError as error:
        return Outcome(chain, f"{parameter.label} stays: {error.problems[0]}", refused=True)


def choose_next_value(ladder: tuple[Value, ...], value: Value, steps: int) -> Value:
    """Return the value this many steps along a ladder; between two rungs, the next one is one step away."""
    if isinstance(value, str):
        place = ladder.index(value) if value in ladder else -1 if steps > 0 else len(ladder)
        return ladder[min(max(place + steps, 0), len(ladder) - 1)]
    rungs = [float(rung) for rung in ladder]
    slack = 1e-9 * max(abs(float(value)), 1e-12)
    if steps > 0:
        above = [place for place, rung in enumerate(rungs) if rung > value + slack]
        return ladder[min(above[0] + steps - 1, len(ladder) - 1)] if above else value
    below = [place for place, rung in enumerate(rungs) if rung < value - slack]
    return ladder[max(below[-1] + steps + 1, 0)] if below else value


def _follow(chain: Chain, path: str, value: Value) -> tuple[dict[str, Value], str]:
    """Find what follows from a change in one obvious way; describe it."""
    parts, reader = chain.filter, chain.reader
    if isinstance(value, str):
        if path == "reader.kind" and value == "interrupt" and reader.debounce in ("integrator", "equal"):
            return {"reader.debounce": "none"}, f"without {reader.debounce} samples, which need a loop"
        return {}, ""
    match path:
        case "filter.supply_v" if kind := find_kind(parts.supply_v, parts.rising_v, parts.falling_v):
            return {"filter.input": kind}, "the thresholds follow"
        case "filter.supply_v":
            rising, falling = (round(volts * value / parts.supply_v, 2) for volts in (parts.rising_v, parts.falling_v))
            return {
                "filter.rising_v": rising,
                "filter.falling_v": falling,
            }, f"the thresholds follow: {rising:g} V and {falling:g} V"
        case "filter.rising_v" if value < parts.falling_v:
            return {"filter.falling_v": value}, "the falling threshold follows"
        case "filter.falling_v" if value > parts.rising_v:
            return {"filter.rising_v": value}, "the rising threshold follows"
        case "reader.period_ms" if value < reader.jitter_ms:
            return {"reader.jitter_ms": value}, f"the jitter follows: {value:g} ms"
        case "reader.blocked_for_ms" if value > reader.blocked_every_ms:
            return {"reader.blocked_every_ms": value * 5}, f"every {value * 5:g} ms"
        case "reader.masked_for_ms" if value > reader.masked_every_ms:
            return {"reader.masked_every_ms": value * 5}, f"every {value * 5:g} ms"
    return {}, ""
