"""What a capture tells, as JSON and as text. Names of pins are foreign: they are made printable here."""

from __future__ import annotations

from knobmenu.bench.capture.bounce import Bounce
from knobmenu.bench.capture.fitting import find_nearest_preset
from knobmenu.bench.capture.measure import Measured
from knobmenu.bench.chain import Chain
from knobmenu.bench.figures import format_number
from knobmenu.bench.tally import Directions
from knobmenu.errors import printable


def format_json(measured: Measured, done: Directions) -> dict[str, object]:
    """Return what a capture holds and what a firmware would have counted of it, as plain data.

    What cannot be determined is null; `doubts` says why.
    """
    known = measured.bounce_is != "undetermined"
    return {
        "phases": [measured.pin_a, measured.pin_b],
        "closed_is_low": measured.closed_is_low,
        "wiring_is_determined": measured.wiring_is_determined,
        "detents_per_period": measured.determined_detents_per_period or None,
        "assumed_detents_per_period": None if measured.determined_detents_per_period else measured.detents_per_period,
        "rests": dict(zip(("00", "01", "10", "11"), measured.rests, strict=True)),
        "detents": measured.detents,
        "turned_up": measured.up,
        "turned_down": measured.down,
        "quarter_periods_up": measured.quarters_up,
        "quarter_periods_down": measured.quarters_down,
        "fastest_periods_per_s": measured.fastest_periods_per_s or None,
        "bounce_is": measured.bounce_is,
        "longest_bounce_ms": measured.longest_bounce_s * 1000 if known else None,
        "bounce": _list_bursts(measured) if known else None,
        "merged_bursts": measured.merged,
        "glitches": measured.glitches if known else None,
        "double_changes": measured.double_changes,
        "sample_ms": measured.sample_s * 1000 or None,
        "nearest_preset": find_nearest_preset(measured) if known else None,
        "doubts": [
            {"about": doubt.about, "reason": printable(doubt.reason), "advice": doubt.advice}
            for doubt in measured.doubts
        ],
        "counted": done.total,
        "counted_up": done.up,
        "counted_down": done.down,
        "net": done.net,
    }


def format_text(measured: Measured, done: Directions, chain: Chain) -> str:
    """Return what a capture holds and what a chain's firmware would have counted of it, as text."""
    doubts = format_doubts(measured)
    return "\n".join(
        [
            f"phases: A is {printable(measured.pin_a)}, B is {printable(measured.pin_b)}; {_describe_wiring(measured)}",
            f"detents per period: {_describe_detents(measured)}",
            f"turned: {measured.up} detents clockwise and {measured.down} counter-clockwise, total"
            f" {measured.up + measured.down}, net {measured.detents}; {_describe_speed(measured)}",
            *_describe_bounce(measured),
            f"double changes: {measured.double_changes}",
            f"through this chain ({chain.reader.kind} reader, {chain.decoder} decoder): {done.up} counted clockwise"
            f" and {done.down} counter-clockwise, total {done.total}, net {done.net}",
            *(["", doubts.rstrip()] if doubts else []),
        ]
    )


def format_doubts(measured: Measured) -> str:
    """Return what the figures may be wrong about, as lines; nothing where they are not in doubt."""
    lines = [f"  {doubt.about}: {printable(doubt.reason)}. {doubt.advice}.\n" for doubt in measured.doubts]
    return "".join(["In doubt:\n", *lines]) if lines else ""


def _describe_wiring(measured: Measured) -> str:
    level = "low (pull-up)" if measured.closed_is_low else "high (pull-down)"
    return f"a closed contact is {level}" + ("" if measured.wiring_is_determined else ", assumed")


def _describe_detents(measured: Measured) -> str:
    if measured.determined_detents_per_period:
        return f"{measured.detents_per_period}, from {sum(measured.rests)} rests"
    return f"cannot be determined; {measured.detents_per_period} assumed"


def _describe_speed(measured: Measured) -> str:
    if not measured.fastest_periods_per_s:
        return "the fastest speed cannot be determined"
    least = "at least " if measured.merged else ""
    return f"fastest {least}{format_number(measured.fastest_periods_per_s)} periods/s"


def _describe_bounce(measured: Measured) -> list[str]:
    longest_ms = measured.longest_bounce_s * 1000
    match measured.bounce_is:
        case "undetermined":
            return ["bounce: cannot be determined"]
        case "at least":
            longest = f"longest bounce: at least {format_number(longest_ms)} ms"
            longest = f"{longest}; {measured.merged} bursts could not be measured"
        case "exact":
            longest = f"longest bounce: {format_number(longest_ms)} ms" if longest_ms else "longest bounce: none"
    return [
        f"{longest}; glitches: {measured.glitches}; nearest preset: {find_nearest_preset(measured)}",
        *(_format_burst(name, figures) for name, figures in _list_bursts(measured).items()),
    ]


def _format_burst(name: str, figures: dict[str, float]) -> str:
    return (
        f"bounce on {name}: {figures['bounced']} of {figures['edges']} edges;"
        f" mean {format_number(figures['mean_ms'])} ms, half up to {format_number(figures['median_ms'], 2)} ms,"
        f" 9 of 10 up to {format_number(figures['percentile_90_ms'], 2)} ms,"
        f" longest {format_number(figures['longest_ms'])} ms; {format_number(figures['bounces'])} bounces"
    )


def _list_bursts(measured: Measured) -> dict[str, dict[str, float]]:
    return {
        name: _list_figures(bounce)
        for name, bounce in (("make", measured.on_make), ("break", measured.on_break))
        if bounce.bounced
    }


def _list_figures(bounce: Bounce) -> dict[str, float]:
    return {
        "edges": bounce.edges,
        "bounced": bounce.bounced,
        "mean_ms": bounce.mean_s * 1000,
        "median_ms": bounce.find_quantile_s(0.5) * 1000,
        "percentile_90_ms": bounce.find_quantile_s(0.9) * 1000,
        "longest_ms": bounce.longest_s * 1000,
        "bounces": bounce.bounces / bounce.bounced,
    }
