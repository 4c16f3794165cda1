"""Better orders as text, data and a page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from knobmenu.analysis.cost.report import Report
from knobmenu.analysis.order.menus import MenuOrder
from knobmenu.analysis.page import write_heading, write_page, write_table

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def list_entry_names(design: Design, order: MenuOrder) -> list[str]:
    """Name the entries of a menu by their targets, in the better order."""
    entries = design.index.menus[order.menu].entries
    return [entries[place].target for place in order.solution.order]


def describe_certainty(order: MenuOrder) -> str:
    """State whether an order is optimal."""
    solution = order.solution
    if solution.proved:
        return "the best there is"
    return f"the best found; none costs less than {solution.bound:.2f}"


def write_verdict(orders: tuple[MenuOrder, ...], before: Report, after: Report) -> list[str]:
    """Describe what the better orders change, in sentences."""
    better = [order for order in orders if order.changes]
    if not better:
        return ["Every menu is already in an order of least cost."]
    saved = sum(order.present - order.solution.cost for order in better)
    return [
        f"{len(better)} of {len(orders)} menus can be in a better order: {saved:.2f} detents less for each use.",
        f"A use takes {after.expected:.2f} gestures instead of {before.expected:.2f}, with its value and the way back.",
    ]


def orders_to_plain(
    design: Design, orders: tuple[MenuOrder, ...], before: Report | None, after: Report | None
) -> dict[str, Any]:
    """Return the orders in JSON's own types."""
    return {
        "format": 1,
        "design": design.name,
        "expected_gestures_before": None if before is None else round(before.expected, 3),
        "expected_gestures_after": None if after is None else round(after.expected, 3),
        "menus": [
            {
                "menu": order.menu,
                "present_detents": round(order.present, 4),
                "least_detents": round(order.solution.cost, 4),
                "lower_bound": round(order.solution.bound, 4),
                "method": order.solution.method,
                "proved": order.solution.proved,
                "changes": order.changes,
                "order": list_entry_names(design, order),
            }
            for order in orders
        ],
    }


def write_order_page(design: Design, orders: tuple[MenuOrder, ...], before: Report, after: Report) -> str:
    """Write the orders as one HTML file."""
    parts = [write_heading("Menus", "Detents in this list for each use of the device, whatever it is of.")]
    parts.append(
        write_table(
            ("menu", "now", "better", "how sure", "by"),
            [
                (
                    design.index.menus[order.menu].label,
                    f"{order.present:.2f}",
                    f"{order.solution.cost:.2f}" if order.changes else "",
                    describe_certainty(order),
                    order.solution.method,
                )
                for order in orders
            ],
            numeric=(1, 2),
        )
    )
    for order in orders:
        if order.changes:
            now = [entry.target for entry in design.index.menus[order.menu].entries]
            parts.append(write_heading(design.index.menus[order.menu].label))
            rows = zip(range(1, len(now) + 1), now, list_entry_names(design, order), strict=True)
            parts.append(write_table(("", "now", "better"), rows, numeric=(0,)))
    return write_page(f"{design.name}: order of entries", write_verdict(orders, before, after), parts)
