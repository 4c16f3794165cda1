"""Costs as plain data, for JSON."""

from __future__ import annotations

from typing import Any

import attrs

from knobmenu.analysis.cost.gestures import Tally, Way, tally
from knobmenu.analysis.cost.operators import Seconds
from knobmenu.analysis.cost.report import Cost, Report
from knobmenu.analysis.cost.routes import Route
from knobmenu.analysis.cost.values import ValueCosts

FORMAT = 1


def plain_report(report: Report) -> dict[str, Any]:
    """Return a whole report in JSON's own types."""
    return {
        "format": FORMAT,
        "design": report.design.name,
        "expected_gestures": round(report.expected, 3),
        "expected_seconds": plain_seconds(report.expected_seconds),
        "worst": report.worst.key if report.worst else None,
        "costs": [plain_cost(cost) for cost in report.costs],
        "operators": {
            name: {**attrs.asdict(operator.seconds), "source": operator.source}
            for name, operator in report.operators.by_name.items()
        },
    }


def plain_cost(cost: Cost) -> dict[str, Any]:
    """Give what one part costs."""
    return {
        "key": cost.key,
        "kind": cost.kind,
        "label": cost.label,
        "menus": list(cost.menus),
        "from_power_on": plain_route(cost.power_on),
        "from_home": plain_route(cost.home),
        "values": plain_values(cost.values),
        "keystrokes_per_character": None if cost.keystrokes is None else round(cost.keystrokes.per_character, 3),
        "use": round(cost.use, 6),
        "expected_gestures": None if cost.expected is None else round(cost.expected, 3),
        "expected_seconds": None if cost.expected_seconds is None else plain_seconds(cost.expected_seconds),
        "undecided_after_states": cost.undecided or None,
    }


def plain_route(route: Route | None) -> dict[str, Any] | None:
    """Return a route with its gestures, its time and its trace."""
    if route is None:
        return None
    return {
        **_counts(route.tally),
        "seconds": plain_seconds(route.seconds),
        "changes_first": list(route.changed),
        "needs_reports": list(route.reported),
        "least_proved": route.proved,
        "trace": " ".join(route.trace.split()),
    }


def plain_values(values: ValueCosts | None) -> dict[str, Any] | None:
    """Give what the values of a setting cost."""
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
                "plain": _gestures(item.plain),
                "held": _gestures(item.held),
                "fast": _gestures(item.fast),
            }
            for item in values.listed
        ],
    }


def plain_seconds(seconds: Seconds) -> dict[str, float]:
    """Return a range of seconds."""
    return {name: round(value, 3) for name, value in attrs.asdict(seconds).items()}


def _counts(count: Tally) -> dict[str, int]:
    return {"gestures": count.gestures, **attrs.asdict(count)}


def _gestures(way: Way | None) -> int | None:
    return None if way is None else tally(way).gestures
