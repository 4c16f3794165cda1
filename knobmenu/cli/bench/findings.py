"""What the bench found, in words for people and as plain data for JSON."""

from __future__ import annotations

import math

from knobmenu.bench import wording
from knobmenu.bench.chain import Chain
from knobmenu.bench.figures import format_number, format_percent
from knobmenu.bench.filter import Judgement, judge
from knobmenu.bench.plan import Plan
from knobmenu.bench.presses import PressRow, PressVerdict
from knobmenu.bench.suggest import Suggestion
from knobmenu.bench.sweep import Map
from knobmenu.bench.verdict import Reached, Row, Verdict, get_target


def _sum_counts(row: Row | PressRow, *names: str) -> dict[str, float]:
    """Add figures up over all seeds of a row, and add its error rate."""
    return {
        **{name: sum(getattr(one, name) for one in row.counts) for name in names},
        "error_rate": row.error_rate,
        "error_rate_low": row.low,
        "error_rate_high": row.high,
    }


def _sum_turns(row: Row) -> dict[str, float]:
    return {"turns_per_s": row.turns_per_s, **_sum_counts(row, "true", "counted", "lost", "extra", "reversed")}


def _reached_to_plain(one: Reached) -> dict[str, object]:
    return {
        "turns_per_s": one.turns_per_s,
        "low_turns_per_s": one.low,
        "high_turns_per_s": None if math.isinf(one.high) else one.high,
        "corner": one.corner or None,
    }


def verdict_to_plain(found: Verdict, plan: Plan) -> dict[str, object]:
    """Return a verdict and its plan as plain data."""
    return {
        "answer": "yes" if found.is_yes else "no",
        "target_turns_per_s": found.target_turns_per_s,
        "tolerated_error_rate": found.chain.judging.tolerated_error_rate,
        "nominal": _reached_to_plain(found.nominal),
        "worst_corner": _reached_to_plain(found.worst),
        "searched_to_turns_per_s": found.searched_to_turns_per_s,
        "rows": [_sum_turns(row) for row in found.rows],
        "remedies": [
            {
                "what": [remedy.words for remedy in one.remedies],
                "cost": one.cost.name.lower(),
                "reached_turns_per_s": one.reached_turns_per_s,
                "is_enough": one.is_enough,
                "changes": dict(change for remedy in one.remedies for change in remedy.changes),
            }
            for one in plan.proposals
        ],
        "reason": plan.reason or None,
        "error_rate": plan.error_rate,
        "error_rate_without_noise": plan.rate_without_noise,
    }


_MOST_PROPOSALS = 8
"""How many proposals are printed."""


def format_verdict(found: Verdict, plan: Plan, file: str) -> str:
    """Write the answer, the speeds reached, a table, what the filter does, and the plan.

    Args:
        found: the verdict.
        plan: its plan.
        file: the chain's file as it was named, for the command that applies a remedy; empty: the built-in chain.
    """
    chain = found.chain
    top = found.searched_to_turns_per_s
    lines = [wording.write_answer(found), f"  nominal parts: {wording.format_reached(found.nominal, top)}"]
    if found.worst is not found.nominal:
        lines.append(f"  worst corner:  {wording.format_reached(found.worst, top)}")
    lines += [
        "",
        f"{chain.encoder.detents_per_turn} detents and {chain.encoder.pulses_per_turn} pulses a turn,"
        f" {chain.reader.kind} reader, {chain.decoder} decoder;"
        f" {chain.judging.seeds} runs of {abs(chain.turning.detents)} detents at each speed ({chain.turning.kind})",
        "",
        "turns/s    true  counted     lost    extra  reversed   error rate  (95 % confidence)",
    ]
    for row in found.rows:
        sums = _sum_turns(row)
        lines.append(
            f"{row.turns_per_s:7.2f} {sums['true']:7} {sums['counted']:8} {sums['lost']:8} {sums['extra']:8}"
            f" {sums['reversed']:9} {row.error_rate * 100:10.2f} %  ({row.low * 100:.2f} to {row.high * 100:.2f} %)"
        )
    if chain.filter.capacitor_f:
        part = chain.encoder
        judged = judge(chain.filter, part.phase_error_deg, part.dwell_tolerance_deg)
        lines += ["", _describe_filter(judged, part.pulses_per_turn)]
    lines += ["", wording.write_heading(plan)]
    for number, one in enumerate(plan.proposals[:_MOST_PROPOSALS], 1):
        lines.append(f"  {number}. ({one.cost.name.lower()}) {wording.describe_proposal(one)}")
        lines += [f"       {line}" for line in one.list_lines(chain)]
    if plan.proposals:
        name = f" {file}" if file else ""
        lines += ["", f"knobmenu bench{name} --apply 1 --output better.toml writes the chain with the first one."]
    return "\n".join(lines)


def _describe_filter(judged: Judgement, pulses_per_turn: int) -> str:
    return (
        f"The filter delays opening by {_format_duration(judged.opening_delay_s)} and closing by"
        f" {_format_duration(judged.closing_delay_s)}, removes bounce of up to"
        f" {_format_duration(judged.longest_make_removed_s)} at a closing and of"
        f" {_format_duration(judged.longest_break_removed_s)} at an opening, and passes an even turn up to"
        f" {format_number(judged.fastest_periods_per_s / pulses_per_turn, 2)} turns/s;"
        f" above it fails by: {judged.limit}."
    )


def _format_duration(seconds: float) -> str:
    return f"{format_number(seconds * 1000)} ms" if seconds >= 1e-6 else "less than 1 us"


def map_to_plain(found: Map) -> dict[str, object]:
    """Return a map as plain data."""
    return {
        "rows": {found.down.path: found.down.values},
        "columns": {found.across.path: found.across.values},
        "tolerated_error_rate": found.tolerated_error_rate,
        "error_rates": [[None if one is None else one.error_rate for one in row] for row in found.cells],
        "tolerated": [[None if one is None else one.is_tolerated for one in row] for row in found.cells],
    }


def format_map(found: Map) -> str:
    """Write a map as a table; what errs more than is tolerated is marked."""
    limit = format_percent(found.tolerated_error_rate)
    lines = [
        f"errors for each 100 detents; rows {found.down.path}, columns {found.across.path}; !: more than {limit}",
        " " * 10 + "".join(f"{format_number(value):>8} " for value in found.across.values),
    ]
    for value, row in zip(found.down.values, found.cells, strict=True):
        cells = [
            f"{'-':>8} "
            if one is None
            else f"{format_number(one.error_rate * 100):>8}{' ' if one.is_tolerated else '!'}"
            for one in row
        ]
        lines.append(f"{format_number(value):>10}{''.join(cells)}".rstrip())
    return "\n".join(lines)


def _sum_presses(row: PressRow) -> dict[str, float | None]:
    return {"debounce_ms": row.debounce_ms, **_sum_counts(row, "true", "reported", "lost", "extra", "mistaken")}


def presses_to_plain(found: PressVerdict) -> dict[str, object]:
    """Say the verdict on a push switch as plain data; a debounce of null takes every closing for a press."""
    return {
        "rows": [_sum_presses(row) for row in found.rows],
        "right_ms": list(found.right_ms),
        "needed_ms": found.needed_ms,
        "advised_ms": found.advised_ms,
        "shortest_press_ms": None if found.advised_ms is None else found.shortest_press_ms,
        "advice": found.advice,
    }


def format_presses(found: PressVerdict) -> str:
    """Say the verdict on a push switch as a table and what to write into the design."""
    pressing = found.chain.pressing
    lines = [
        f"switch {pressing.preset}, {found.chain.reader.kind} reader; {found.chain.judging.seeds} runs of"
        f" {pressing.presses} presses of {pressing.shortest_ms:g} to {pressing.longest_ms:g} ms,"
        f" long from {pressing.long_press_ms} ms",
        "",
        "debounce        true reported     lost    extra  mistaken   errors in 100  (95 % confidence)",
    ]
    for row in found.rows:
        sums = _sum_presses(row)
        name = "every closing" if row.debounce_ms is None else f"{row.debounce_ms} ms"
        lines.append(
            f"{name:13} {sums['true']:6} {sums['reported']:8} {sums['lost']:8} {sums['extra']:8} {sums['mistaken']:9}"
            f" {row.error_rate * 100:15.2f}  ({row.low * 100:.2f} to {row.high * 100:.2f})"
        )
    return "\n".join([*lines, "", found.advice])


def suggestions_to_plain(found: list[Suggestion]) -> list[dict[str, object]]:
    """Return suggested filters as plain data."""
    return [
        {
            "series_ohm": one.chain.filter.series_ohm,
            "capacitor_f": one.chain.filter.capacitor_f,
            "removed_ms": one.removed_ms,
            "reached_turns_per_s": one.reached_turns_per_s,
            "margin": one.margin,
            "is_enough": one.is_enough,
        }
        for one in found
    ]


def format_suggestions(chain: Chain, found: list[Suggestion]) -> str:
    """Write suggested filters as a table, with which resistor is which."""
    parts = chain.filter
    if not found:
        return "No filter: no bounce has to be removed, or the closed contact is above the thresholds."
    lines = [
        f"Pull-up of {parts.pull_up_ohm:g} ohm from contact to {parts.supply_v:g} V; series resistor from contact to"
        " pin; capacitor from pin to ground; then a Schmitt trigger (74HC14 class).",
        f"Judged at the worst corner, {chain.reader.kind} reader, {chain.decoder} decoder; the target is"
        f" {get_target(chain):g} turns/s.",
        "",
        "series resistor  capacitor   removes bounce to  right up to     margin",
    ]
    lines += [
        f"{one.chain.filter.series_ohm:11g} ohm {one.chain.filter.capacitor_f * 1e9:7.4g} nF {one.removed_ms:14.2f} ms"
        f" {format_number(one.reached_turns_per_s, 2):>8} turns/s {one.margin * 100:6.0f} %"
        for one in found
    ]
    if not any(one.is_enough for one in found):
        lines += ["", "None reaches the target: knobmenu bench judge lists other remedies."]
    return "\n".join(lines)
