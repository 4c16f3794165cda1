"""The costs of a design as text, and as one HTML file with pictures."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from knobmenu.analysis.cost.operators import Seconds
from knobmenu.analysis.cost.picture import describe_tally, draw_heat_picture, draw_value_picture
from knobmenu.analysis.cost.report import Cost, Report
from knobmenu.analysis.page import write_heading, write_page, write_table


def write_verdict(report: Report) -> list[str]:
    """Summarize what matters most, in sentences."""
    said = []
    worst = report.worst
    if report.costs:
        said.append(
            f"A use takes {report.expected:.1f} gestures on average, with its value and the way back:"
            f" about {report.expected_seconds.typical:.0f} s ({format_seconds(report.expected_seconds)})."
        )
    if worst is not None and worst.home is not None:
        said.append(
            f"Farthest from home: {worst.label}, {worst.home.tally.gestures} gestures"
            f" ({describe_tally(worst.home.tally)})."
        )
    needing = sum(bool(list_needs(cost)) for cost in report.costs)
    if needing:
        said.append(f"{needing} of {len(report.costs)} need something else to be set or reported first.")
    lost = [cost.label for cost in report.costs if cost.power_on is None and not cost.undecided]
    if lost:
        said.append(f"Cannot be reached by hand: {', '.join(lost)}.")
    undecided = [cost.label for cost in report.costs if cost.undecided]
    if undecided:
        said.append(f"Not decided, too many states: {', '.join(undecided)}.")
    return said


def list_needs(cost: Cost) -> list[str]:
    """Name what a part needs before it can be reached: settings changed, and reports of the device."""
    route = cost.power_on
    if route is None:
        return []
    return [
        *(key for key in route.changed if key != cost.key),
        *(f"{key} reported" for key in route.reported),
    ]


def format_seconds(seconds: Seconds) -> str:
    """Write a range of seconds."""
    return f"{seconds.low:.1f} to {seconds.high:.1f} s"


def write_cost_page(report: Report) -> str:
    """Write the costs of a design as one HTML file."""
    parts = [
        write_heading("The menu", "Gestures from home to each entry, once what it needs is set. Darker is farther."),
        draw_heat_picture(report),
        write_heading(
            "Settings and actions", "From home and from power-on; values from there on; a use with its way back."
        ),
        write_table(
            ("part", "menus", "home", "power-on", "needs first", "seconds to reach", "value mean", "worst", "use"),
            [_make_row(cost) for cost in report.costs],
            numeric=(2, 3, 5, 6, 7, 8),
        ),
        write_heading("Values", "Gestures to each value, from the present one. Fast turning needs a practised hand."),
        *_walk_values(report),
        write_heading("Traces", "From power-on. Play one with: knobmenu play DESIGN TRACE"),
        *(
            f"<details><summary>{escape(cost.label)}</summary><code>{escape(' '.join(cost.power_on.trace.split()))}"
            "</code></details>"
            for cost in report.costs
            if cost.power_on is not None
        ),
        write_heading("Operators of the keystroke-level model", "Seconds. A hold is the long press of the design."),
        write_table(
            ("operator", "meaning", "low", "typical", "high", "source"),
            [
                (item.name, item.meaning, item.seconds.low, item.seconds.typical, item.seconds.high, item.source)
                for item in report.operators.by_name.values()
            ],
            numeric=(2, 3, 4),
        ),
    ]
    return write_page(f"{report.design.name}: what it costs to use", write_verdict(report), parts)


def _make_row(cost: Cost) -> tuple[object, ...]:
    home, power_on, values = cost.home, cost.power_on, cost.values
    return (
        cost.label,
        " > ".join(cost.menus) or "home",
        home.tally.gestures if home else "–",
        power_on.tally.gestures if power_on else "–",
        ", ".join(list_needs(cost)),
        format_seconds(home.seconds) if home else "–",
        f"{values.mean:.1f}" if values else (f"{cost.keystrokes.per_character:.1f}/char" if cost.keystrokes else ""),
        values.worst.fewest.gestures if values and values.worst and values.worst.fewest else "",
        f"{cost.expected:.1f}" if cost.expected is not None else "–",
    )


def _walk_values(report: Report) -> Iterator[str]:
    for cost in report.costs:
        values = cost.values
        if values is None or len(values.listed) < 3:
            continue
        drawn = draw_value_picture(report.design, cost.key, values)
        count = f"{values.count} values" + ("" if values.whole else f", {len(values.listed)} of them counted")
        yield f"<details><summary>{escape(cost.label)}: {count}</summary>{drawn}</details>"
