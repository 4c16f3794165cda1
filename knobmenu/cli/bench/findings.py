"""What the bench found, in words for people and as plain data for JSON."""

from __future__ import annotations

from knobmenu.bench.filter import Judgement, judge
from knobmenu.bench.presses import PressRow, PressVerdict
from knobmenu.bench.sweep import Map
from knobmenu.bench.verdict import Row, Verdict


def _sums(row: Row | PressRow, *names: str) -> dict[str, float]:
    """Add figures up over all seeds of a row, and say its share of errors."""
    return {
        **{name: sum(getattr(one, name) for one in row.counts) for name in names},
        "error_rate": row.error_rate,
        "error_rate_low": row.low,
        "error_rate_high": row.high,
    }


def _turned(row: Row) -> dict[str, float]:
    return {"turns_per_s": row.turns_per_s, **_sums(row, "true", "counted", "lost", "extra", "reversed")}


def verdict_json(found: Verdict) -> dict[str, object]:
    """Say a verdict as plain data."""
    return {
        "rows": [_turned(row) for row in found.rows],
        "fastest_turns_per_s": found.fastest_turns_per_s,
        "searched_to_turns_per_s": found.searched_to_turns_per_s,
        "advice": found.advice,
    }


def verdict_words(found: Verdict) -> str:
    """Say a verdict as a table, the fastest speed, what the filter does, and what to change first."""
    chain = found.chain
    lines = [
        f"{chain.encoder.detents_per_turn} detents and {chain.encoder.pulses_per_turn} pulses a turn,"
        f" {chain.reader.kind} reader, {chain.decoder} decoder;"
        f" {chain.judging.seeds} runs of {abs(chain.turning.detents)} detents at each speed ({chain.turning.kind})",
        "",
        "turns/s    true  counted     lost    extra  reversed   errors in 100  (95 % confidence)",
    ]
    for row in found.rows:
        sums = _turned(row)
        lines.append(
            f"{row.turns_per_s:7.2f} {sums['true']:7} {sums['counted']:8} {sums['lost']:8} {sums['extra']:8}"
            f" {sums['reversed']:9} {row.error_rate * 100:15.2f}  ({row.low * 100:.2f} to {row.high * 100:.2f})"
        )
    limit = f"{chain.judging.tolerated_error_rate * 100:g} errors in 100 detents"
    if found.fastest_turns_per_s >= found.searched_to_turns_per_s:
        fastest = f"Counts right up to {found.searched_to_turns_per_s:g} turns/s, the fastest that was tried ({limit})."
    elif found.fastest_turns_per_s:
        fastest = f"Counts right up to {found.fastest_turns_per_s:.2g} turns/s (at most {limit})."
    else:
        fastest = f"Does not count right at any speed that was tried (at most {limit})."
    lines += ["", fastest]
    if chain.filter.capacitor_f:
        part = chain.encoder
        judged = judge(chain.filter, part.phase_error_deg, part.dwell_tolerance_deg)
        lines.append(_filter_words(judged, part.pulses_per_turn))
    return "\n".join([*lines, "", f"What to change first: {found.advice}"])


def _filter_words(judged: Judgement, pulses_per_turn: int) -> str:
    return (
        f"The filter delays opening by {_duration(judged.opening_delay_s)} and closing by"
        f" {_duration(judged.closing_delay_s)}, removes bounce of up to {_duration(judged.longest_make_removed_s)} at a"
        f" closing and of {_duration(judged.longest_break_removed_s)} at an opening, and passes an even turn up to"
        f" {judged.fastest_periods_per_s / pulses_per_turn:.2g} turns/s; above it fails by: {judged.limit}."
    )


def _duration(seconds: float) -> str:
    return f"{seconds * 1000:.3g} ms" if seconds >= 1e-6 else "less than 1 us"


def map_json(found: Map) -> dict[str, object]:
    """Return a map as plain data."""
    return {
        "rows": {found.down.path: found.down.values},
        "columns": {found.across.path: found.across.values},
        "error_rates": found.error_rates,
    }


def map_words(found: Map) -> str:
    """Say a map as a table."""
    lines = [f"errors for each 100 detents; rows {found.down.path}, columns {found.across.path}"]
    lines.append(" " * 10 + "".join(f"{value:9.3g}" for value in found.across.values))
    for value, shares in zip(found.down.values, found.error_rates, strict=True):
        cells = "".join("        -" if share is None else f"{share * 100:9.3g}" for share in shares)
        lines.append(f"{value:10.3g}{cells}")
    return "\n".join(lines)


def _pressed(row: PressRow) -> dict[str, float | None]:
    return {"debounce_ms": row.debounce_ms, **_sums(row, "true", "reported", "lost", "extra", "mistaken")}


def presses_json(found: PressVerdict) -> dict[str, object]:
    """Say the verdict on a push switch as plain data; a debounce of null takes every closing for a press."""
    return {
        "rows": [_pressed(row) for row in found.rows],
        "right_ms": list(found.right_ms),
        "advice": found.advice,
    }


def presses_words(found: PressVerdict) -> str:
    """Say the verdict on a push switch as a table and what to write into the design."""
    wish = found.chain.pressing
    lines = [
        f"switch {wish.preset}, {found.chain.reader.kind} reader; {found.chain.judging.seeds} runs of {wish.presses}"
        f" presses of {wish.shortest_ms:g} to {wish.longest_ms:g} ms, long from {wish.long_press_ms} ms",
        "",
        "debounce        true reported     lost    extra  mistaken   errors in 100  (95 % confidence)",
    ]
    for row in found.rows:
        sums = _pressed(row)
        name = "every closing" if row.debounce_ms is None else f"{row.debounce_ms} ms"
        lines.append(
            f"{name:13} {sums['true']:6} {sums['reported']:8} {sums['lost']:8} {sums['extra']:8} {sums['mistaken']:9}"
            f" {row.error_rate * 100:15.2f}  ({row.low * 100:.2f} to {row.high * 100:.2f})"
        )
    return "\n".join([*lines, "", found.advice])
