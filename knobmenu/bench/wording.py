"""Verdict, plan and filter as text, for the command line and the screen."""

from __future__ import annotations

import math

from knobmenu.bench.chain import Chain
from knobmenu.bench.figures import format_number, format_percent
from knobmenu.bench.filter import Filter, estimate_crossings, judge
from knobmenu.bench.plan import Plan, Proposal
from knobmenu.bench.verdict import Reached, Verdict


def write_answer(found: Verdict) -> str:
    """Write the answer to the question whether a chain counts right, yes or no first."""
    target, limit = found.target_turns_per_s, format_percent(found.chain.judging.tolerated_error_rate)
    corner = " at the worst corner of its parts" if found.worst is not found.nominal else ""
    if found.is_yes:
        return f"Yes: it counts right up to {target:g} turns/s, the target{corner} (error rate at most {limit})."
    reached = found.worst.turns_per_s
    speed = f"right only up to {format_number(reached, 2)} turns/s" if reached else "right at no speed that was tried"
    return f"No: it counts {speed}{corner}; the target is {target:g} turns/s (error rate at most {limit})."


def answer_briefly(found: Verdict) -> str:
    """Write the answer in a few words, for a title."""
    target, reached = found.target_turns_per_s, found.worst.turns_per_s
    if found.is_yes:
        return f"yes: right up to the target of {target:g} turns/s"
    speed = f"right only up to {format_number(reached, 2)} turns/s" if reached else "right at no speed"
    return f"no: {speed}; the target is {target:g}"


def format_reached(one: Reached, searched_to_turns_per_s: float) -> str:
    """Write the speed up to which a chain counts right, with the interval."""
    if not one.turns_per_s:
        speed = "right at no speed that was tried"
    elif one.turns_per_s >= searched_to_turns_per_s:
        speed = f"right up to {one.turns_per_s:g} turns/s, the fastest that was tried"
    else:
        speed = f"right up to {format_number(one.turns_per_s, 2)} turns/s"
    sure = f"certainly to {format_number(one.low, 2)}" if one.low else "certain of no speed"
    wrong = "" if math.isinf(one.high) else f", certainly not at {format_number(one.high, 2)}"
    corner = f"; the first to fail: {one.corner}" if one.corner and one.corner != "nominal parts" else ""
    return f"{speed} ({sure}{wrong}{corner})"


def describe_proposal(one: Proposal) -> str:
    """Write what to do and what it reaches, on one line."""
    what = ", and ".join(
        words if not number else words[0].lower() + words[1:]
        for number, words in enumerate(remedy.words for remedy in one.remedies)
    )
    speed = f"right up to {one.reached_turns_per_s:g} turns/s" if one.reached_turns_per_s else "still right at no speed"
    return f"{what}: {speed}{'' if one.is_enough else ', not enough alone'}."


def _describe_noise(parts: Filter) -> str:
    """Write what noise does at an input, as a sentence without its full stop."""
    opening, closing = estimate_crossings(parts)
    edge, times = ("an opening", opening) if opening >= closing else ("a closing", closing)
    return (
        f"Noise of {format_number(parts.noise_v * 1000)} mV rms crosses the threshold some"
        f" {format_number(times, 2)} times at {edge}, since the capacitor makes that edge slow"
    )


def write_heading(found: Plan) -> str:
    """Write a heading for the list of proposals, or why there is none."""
    if not found.is_needed:
        return "Nothing to change."
    wrong = (
        f"At {found.failing_turns_per_s:g} turns/s {format_percent(found.error_rate)} of the detents are counted wrong."
    )
    if found.rate_without_noise is not None:
        wrong += (
            f" {_describe_noise(found.chain.filter)}; without it {format_percent(found.rate_without_noise)} would be."
        )
    if not found.proposals:
        return f"{wrong} Nothing in the list of remedies helps: {found.reason}."
    if found.reason:
        return f"{wrong} Nothing in the list of remedies reaches the target, because {found.reason}. What helps:"
    return f"{wrong} What helps, the cheapest first:"


def describe_filter(chain: Chain) -> str:
    """Write what the filter of a chain delays, removes and passes, as what follows "the filter"."""
    part = chain.encoder
    found = judge(chain.filter, part.phase_error_deg, part.dwell_tolerance_deg)
    return (
        f"delays {format_number(found.opening_delay_s * 1000, 2)} ms opening,"
        f" {format_number(found.closing_delay_s * 1000, 2)} ms closing,"
        f" removes bounce to {format_number(found.longest_bounce_removed_s * 1000, 2)} ms,"
        f" passes {format_number(found.fastest_periods_per_s / part.pulses_per_turn, 2)} turns/s"
    )
