"""What can be changed about a chain so that it counts right, each as the lines of its file that change.

Nothing here is judged; `knobmenu.bench.plan` tries every remedy and offers those that help.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from enum import IntEnum

import attrs

from knobmenu.bench.chain import Chain, Value, change
from knobmenu.bench.errors import BenchError
from knobmenu.bench.preferred import list_candidates

PEAK = 3.5
"""Greatest speed in a flick against its mean: 15/8 by its course, and more over the hump of each detent (see
`knobmenu.bench.motion`). [unitless]"""

_FILTERS = 4
"""How many filters are tried."""


class Cost(IntEnum):
    """What a remedy costs, the cheapest first."""

    CODE = 1
    """Firmware alone."""
    PART = 2
    """A part more or another one."""
    ENCODER = 3
    """Another encoder."""


@attrs.frozen
class Remedy:
    """One change."""

    part: str
    """What it is about; two remedies about the same thing exclude each other."""
    cost: Cost
    """What it costs."""
    words: str
    """What to do, as an imperative sentence without its full stop."""
    changes: tuple[tuple[str, Value], ...]
    """The values that change, by their paths in the chain's file."""

    def apply(self, chain: Chain) -> Chain:
        """Return the chain with it applied.

        Raises:
            BenchError: such a chain cannot be.
        """
        return change(chain, dict(self.changes))


def list_remedies(chain: Chain) -> list[tuple[Remedy, Chain]]:
    """List the remedies that a chain leaves open, the cheapest first, each with the chain that it makes."""
    found = []
    for remedy in (*_walk_code_remedies(chain), *_walk_part_remedies(chain), *_walk_encoder_remedies(chain)):
        try:
            changed = remedy.apply(chain)
        except BenchError:
            continue
        if changed != chain:
            found.append((remedy, changed))
    return found


def find_longest_bounce_ms(chain: Chain) -> float:
    """Return the longest burst of a chain's contacts. [ms]"""
    bursts = (chain.contact.on_make, chain.contact.on_break)
    return max((burst.longest_ms for burst in bursts if burst is not None), default=0.0)


def find_shortest_quarter_ms(chain: Chain) -> float:
    """Return a quarter period at the target speed, at the peak of a flick. [ms]"""
    peak = PEAK if chain.turning.kind in ("flicks", "reversals") else 1.0
    return 1000 / (4 * chain.encoder.pulses_per_turn * chain.judging.target_turns_per_s * peak)


def _make_remedy(part: str, cost: Cost, words: str, changes: Mapping[str, Value]) -> Remedy:
    return Remedy(part, cost, words, tuple(changes.items()))


def _walk_code_remedies(chain: Chain) -> Iterator[Remedy]:
    look = chain.reader
    counts_samples = look.debounce in ("integrator", "equal")
    if chain.decoder != "table":
        words = "Decode both phases by the transition table that follows the last direction"
        yield _make_remedy("decoder", Cost.CODE, words, {"decoder.kind": "table"})
    if look.debounce != "none":
        yield _make_remedy("debounce", Cost.CODE, "Remove the debounce in software", {"reader.debounce": "none"})
    bounce_ms = find_longest_bounce_ms(chain)
    if bounce_ms:
        for factor in (1.0, 1.5):
            lockout_ms = float(math.ceil(bounce_ms * factor))
            words = f"Ignore each phase for {lockout_ms:g} ms after it changed (a lock-out in software)"
            yield _make_remedy(
                "debounce", Cost.CODE, words, {"reader.debounce": "lockout", "reader.lockout_ms": lockout_ms}
            )
        if look.kind != "interrupt":
            samples = math.ceil(bounce_ms / look.period_ms) + 1
            if samples <= 50:
                words = f"Accept a level after {samples} equal samples"
                yield _make_remedy(
                    "debounce", Cost.CODE, words, {"reader.debounce": "equal", "reader.samples": samples}
                )
    if look.kind == "interrupt" and look.phases == "a":
        yield _make_remedy("sampling", Cost.CODE, "Interrupt on both phases", {"reader.phases": "both"})
    for period_ms in (1.0, 0.25):
        if look.kind == "polled" or (look.kind == "timer" and look.period_ms > period_ms):
            words = f"Sample both phases in a timer every {period_ms:g} ms, outside the main loop"
            timer: dict[str, Value] = {"reader.kind": "timer", "reader.period_ms": period_ms, "reader.jitter_ms": 0.0}
            yield _make_remedy("sampling", Cost.CODE, words, timer)
        if look.kind == "polled" and look.period_ms > period_ms:
            words = f"Sample both phases every {period_ms:g} ms in the main loop"
            faster = {"reader.period_ms": period_ms, "reader.jitter_ms": min(look.jitter_ms, period_ms)}
            yield _make_remedy("sampling", Cost.CODE, words, faster)
    if look.kind != "interrupt" and not counts_samples:
        words = "Sample both phases in an interrupt at each of their edges"
        edges: dict[str, Value] = {"reader.kind": "interrupt", "reader.phases": "both"}
        yield _make_remedy("sampling", Cost.CODE, words, edges)
    for_ms, _ = look.held_up
    if for_ms:
        shorter_ms = _find_one_two_five_below(min(find_shortest_quarter_ms(chain), for_ms / 2))
        name, key = (
            ("Keep other work in the main loop", "blocked")
            if look.kind == "polled"
            else (
                "Keep sections that mask interrupts",
                "masked",
            )
        )
        words = f"{name} below {shorter_ms:g} ms at a time"
        yield _make_remedy("blocking", Cost.CODE, words, {f"reader.{key}_for_ms": shorter_ms})


def _walk_part_remedies(chain: Chain) -> Iterator[Remedy]:
    parts = chain.filter
    schmitt: dict[str, Value] = {"filter.input": "schmitt"}
    if parts.capacitor_f:
        yield _make_remedy("filter", Cost.PART, "Remove the capacitor", {"filter.capacitor_f": 0.0})
        if bounce_ms := find_longest_bounce_ms(chain):
            lockout_ms = float(math.ceil(bounce_ms))
            words = f"Remove the capacitor, and ignore each phase for {lockout_ms:g} ms after it changed instead"
            locked_out: dict[str, Value] = {"reader.debounce": "lockout", "reader.lockout_ms": lockout_ms}
            yield _make_remedy("filter", Cost.PART, words, {"filter.capacitor_f": 0.0, **locked_out})
        if parts.is_noisy:
            words = "Connect each phase to a pin with hysteresis (a microcontroller's port), which noise crosses once"
            yield _make_remedy("input", Cost.PART, words, {"filter.input": "microcontroller"})
        if parts.rising_v == parts.falling_v:
            words = "Put a Schmitt trigger (74HC14 class) before each pin"
            reason = ", which noise crosses once" if parts.is_noisy else ""
            yield _make_remedy("input", Cost.PART, f"{words}{reason}", schmitt)
        for divisor in (10, 4):
            smaller_f = float(f"{parts.capacitor_f / divisor:.2g}")
            words = f"Make each capacitor {smaller_f * 1e9:g} nF"
            yield _make_remedy("filter", Cost.PART, words, {"filter.capacitor_f": smaller_f})
    if not find_longest_bounce_ms(chain):
        return
    for series_ohm, capacitor_f in list_candidates(chain, _FILTERS):
        words = (
            f"Filter each phase: a series resistor of {series_ohm:g} ohm from contact to pin and"
            f" {capacitor_f * 1e9:g} nF from pin to ground, into a Schmitt trigger (74HC14 class)"
        )
        filtered = {"filter.series_ohm": series_ohm, "filter.capacitor_f": capacitor_f, **schmitt}
        yield _make_remedy("filter", Cost.PART, words, filtered)


def _walk_encoder_remedies(chain: Chain) -> Iterator[Remedy]:
    if find_longest_bounce_ms(chain) > 2.0:
        words = "Use an encoder whose contacts bounce for 2 ms at most"
        yield _make_remedy("encoder", Cost.ENCODER, words, {"contact.preset": "encoder-2ms"})
    part = chain.encoder
    if part.phase_error_deg or part.dwell_tolerance_deg:
        words = "Use an encoder whose phases keep their places"
        yield _make_remedy(
            "evenness", Cost.ENCODER, words, {"encoder.phase_error_deg": 0.0, "encoder.dwell_tolerance_deg": 0.0}
        )


def _find_one_two_five_below(value: float) -> float:
    """Return the largest of 1, 2 and 5 times a power of ten that is not above a value."""
    decade = 10.0 ** math.floor(math.log10(value))
    digit = max(one for one in (1, 2, 5) if one * decade <= value * (1 + 1e-9))
    return float(f"{digit * decade:.1g}")
