"""Costs as plain data, for JSON."""

from __future__ import annotations

from typing import Any

import attrs

from knobmenu.analysis.cost.gestures import Tally, Way, count_gestures
from knobmenu.analysis.cost.operators import Seconds
from knobmenu.analysis.cost.report import Cost, Report
from knobmenu.analysis.cost.routes import Route
from knobmenu.analysis.cost.values import ValueCosts

FORMAT = 1


def report_to_plain(report: Report) -> dict[str, Any]:
    """Return a whole report in JSON's own types."""
    return {
        "format": FORMAT,
        "design": report.design.name,
        "expected_gestures": round(report.expected, 3),
        "expected_seconds": seconds_to_plain(report.expected_seconds),
        "worst": report.worst.key if report.worst else None,
        "costs": [cost_to_plain(cost) for cost in report.costs],
        "operators": {
            name: {**attrs.asdict(operator.seconds), "source": operator.source}
            for name, operator in report.operators.by_name.items()
        },
    }


def cost_to_plain(cost: Cost) -> dict[str, Any]:
    """Return the costs of one part."""
    return {
        "key": cost.key,
        "kind": cost.kind,
        "label": cost.label,
        "menus": list(cost.menus),
        "from_power_on": route_to_plain(cost.power_on),
        "from_home": route_to_plain(cost.home),
        "values": values_to_plain(cost.values),
        "keystrokes_per_character": None if cost.keystrokes is None else round(cost.keystrokes.per_character, 3),
        "use": round(cost.use, 6),
        "expected_gestures": None if cost.expected is None else round(cost.expected, 3),
        "expected_seconds": None if cost.expected_seconds is None else seconds_to_plain(cost.expected_seconds),
        "undecided_after_states": cost.undecided or None,
    }


def route_to_plain(route: Route | None) -> dict[str, Any] | None:
    """Return a route with its gestures, its time and its trace."""
    if route is None:
        return None
    return {
        **_count(route.tally),
        "seconds": seconds_to_plain(route.seconds),
        "changes_first": list(route.changed),
        "needs_reports": list(route.reported),
        "least_proved": route.proved,
        "trace": " ".join(route.trace.split()),
    }


def values_to_plain(values: ValueCosts | None) -> dict[str, Any] | None:
    """Return the costs of a setting's values."""
    if values is None:
        return None
    return {
        "start": values.start,
        "count": values.count,
        "all_listed": values.whole,
        "mean_gestures": round(values.mean, 3),
        "worst": values.worst.value if values.worst else None,
        "listed": [
            {
                "value": item.value,
                "plain": _count_gestures(item.plain),
                "held": _count_gestures(item.held),
                "fast": _count_gestures(item.fast),
            }
            for item in values.listed
        ],
    }


def seconds_to_plain(seconds: Seconds) -> dict[str, float]:
    """Return a range of seconds."""
    return {name: round(value, 3) for name, value in attrs.asdict(seconds).items()}


def _count(count: Tally) -> dict[str, int]:
    return {"gestures": count.gestures, **attrs.asdict(count)}


def _count_gestures(way: Way | None) -> int | None:
    return None if way is None else count_gestures(way).gestures
