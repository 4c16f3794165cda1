"""Pictures of costs as SVG text: the menu with what each entry costs, and the values of a setting.

Both are legible in grey: what a colour says is written beside it, too.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

import attrs

from knobmenu.analysis.cost.gestures import Tally, count_gestures
from knobmenu.analysis.cost.report import Cost, Report
from knobmenu.analysis.cost.values import ValueCosts
from knobmenu.design.whole import Design, Kind
from knobmenu.screen.values import describe_value

INK, FAINT, LINE, PAPER = "#1d2433", "#5c6577", "#dfe3ea", "#ffffff"
FONT = "font-family=\"'DejaVu Sans', 'Liberation Sans', Arial, sans-serif\""

_ROW, _TOP, _WIDTH, _BAR, _BAR_WIDTH = 22, 74, 960, 372, 250


@attrs.frozen
class _Row:
    depth: int
    label: str
    cost: Cost | None
    """None for a menu and for what costs nothing of its own, such as a readout."""
    heading: bool = False


def _walk_rows(report: Report) -> Iterator[_Row]:
    """Walk home and the menus below it, with their depth."""
    design = report.design
    costs = {cost.key: cost for cost in report.costs}
    home = design.home
    words = {
        "turn": "turn at home", "held_turn": "turn while held at home", "press": "press at home",
        "long_press": "hold at home", "double_press": "double press at home",
    }  # fmt: skip
    opened: list[str] = []
    for field, word in words.items():
        target = home.targets[field]
        if target in costs:
            yield _Row(0, f"{costs[target].label} ({word})", costs[target])
        elif target:
            opened.append(target)
    seen: set[str] = set()
    for menu in (*opened, *design.index.menus):
        if menu not in seen:
            yield from _walk_menu_rows(report, costs, menu, 0, seen)


def _walk_menu_rows(report: Report, costs: dict[str, Cost], key: str, depth: int, seen: set[str]) -> Iterator[_Row]:
    design = report.design
    menu = design.index.menus[key]
    yield _Row(depth, menu.label, None, heading=True)
    if key in seen:
        return
    seen.add(key)
    for entry in menu.entries:
        if design.index.kinds[entry.target] is Kind.MENU:
            yield from _walk_menu_rows(report, costs, entry.target, depth + 1, seen)
        elif entry.target in costs:
            cost = costs[entry.target]
            yield _Row(depth + 1, entry.label or cost.label, cost)


def draw_heat_picture(report: Report) -> str:
    """Draw the menu with the gestures from home to every entry.

    Returns:
        A whole SVG document.
    """
    rows = list(_walk_rows(report))
    most = max((cost.home.tally.gestures for cost in report.costs if cost.home is not None), default=0) or 1
    drawn = []
    for number, row in enumerate(rows):
        y = _TOP + number * _ROW
        weight = 600 if row.heading else 400
        label = f"{row.label} *" if row.cost is not None and _needs_more(row.cost) else row.label
        drawn.append(_draw_text(14 + 16 * row.depth, y + 15, _cut(label, 42 - 2 * row.depth), weight=weight))
        if row.cost is None:
            if row.heading:
                drawn.append(f'<line x1="14" y1="{y}" x2="{_WIDTH - 14}" y2="{y}" stroke="{LINE}"/>')
            continue
        route = row.cost.home
        if route is None:
            drawn.append(_draw_text(_BAR, y + 15, "cannot be reached by hand", fill=FAINT))
            continue
        count = route.tally.gestures
        shade = _choose_shade(count / most)
        wide = max(_BAR_WIDTH * count / most, 1)
        drawn.append(
            f'<rect x="{_BAR}" y="{y + 4}" width="{wide:.1f}" height="{_ROW - 8}" fill="{shade}" stroke="{FAINT}"'
            ' stroke-width="0.5"/>'
        )
        drawn.append(_draw_text(_BAR - 8, y + 15, str(count), anchor="end", weight=600))
        drawn.append(_draw_text(_BAR + _BAR_WIDTH + 12, y + 15, describe_tally(route.tally), fill=FAINT, size=11))
    remark = "gestures from home; * once something else is set or reported"
    return draw_document(report.design.name, remark, _TOP + len(rows) * _ROW + 20, drawn, _WIDTH)


def _needs_more(cost: Cost) -> bool:
    return bool(cost.power_on and cost.home and cost.power_on.way != cost.home.way)


def describe_tally(count: Tally) -> str:
    """Describe the numbers of gestures briefly."""
    parts = (
        (count.detents, "turn", "turns"),
        (count.held_detents, "held turn", "held turns"),
        (count.presses, "press", "presses"),
        (count.holds, "hold", "holds"),
        (count.doubles, "double press", "double presses"),
        (count.waits, "wait", "waits"),
        (count.reports, "report", "reports"),
    )
    return " + ".join(f"{number} {one if number == 1 else many}" for number, one, many in parts if number) or "nothing"


def draw_value_picture(design: Design, key: str, values: ValueCosts) -> str:
    """Draw what each value of a setting costs: plain turning, turning while held, and fast turning.

    Returns:
        A whole SVG document.
    """
    wide, high, left, top = 560, 130, 40, 14
    numbers = [item.value for item in values.listed if isinstance(item.value, int)]
    if len(numbers) < 2:
        return ""
    lines = (("plain", INK, ""), ("held", FAINT, "6 3"), ("fast", INK, "1.5 3"))
    ways = {
        "plain": [item.plain for item in values.listed],
        "held": [item.held for item in values.listed],
        "fast": [item.fast for item in values.listed],
    }
    series = {
        name: [(index, count_gestures(way).gestures) for index, way in enumerate(found) if way is not None]
        for name, found in ways.items()
    }
    lowest, highest = describe_value(design, key, numbers[0]), describe_value(design, key, numbers[-1])
    most = max((count for points in series.values() for _, count in points), default=0) or 1
    drawn = [
        f'<line x1="{left}" y1="{top + high}" x2="{left + wide}" y2="{top + high}" stroke="{FAINT}"/>',
        f'<line x1="{left}" y1="{top}" x2="{left + wide}" y2="{top}" stroke="{LINE}"/>',
        _draw_text(left - 6, top + 5, str(most), anchor="end", size=11, fill=FAINT),
        _draw_text(left - 6, top + high + 4, "0", anchor="end", size=11, fill=FAINT),
        _draw_text(left, top + high + 18, lowest, size=11, fill=FAINT),
        _draw_text(left + wide, top + high + 18, highest, size=11, fill=FAINT, anchor="end"),
    ]
    beside = left + wide + 14
    row = top + 12
    for name, colour, dash in lines:
        if not series[name]:
            continue
        points = " ".join(
            f"{left + wide * index / (len(values.listed) - 1):.1f},{top + high * (1 - count / most):.1f}"
            for index, count in series[name]
        )
        style = f' stroke-dasharray="{dash}"' if dash else ""
        drawn.append(f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="1.4"{style}/>')
        drawn.append(
            f'<line x1="{beside}" y1="{row - 4}" x2="{beside + 26}" y2="{row - 4}" stroke="{colour}"'
            f' stroke-width="1.4"{style}/>'
        )
        drawn.append(_draw_text(beside + 32, row, name, size=11))
        row += 18
    return draw_document("", "", top + high + 26, drawn, left + wide + 100)


def _choose_shade(part: float) -> str:
    """Return a colour from nearly white to dark blue; in greyscale, too, it runs from light to dark."""
    light, dark = (236, 242, 250), (28, 62, 116)
    mixed = (round(one + (two - one) * min(max(part, 0), 1)) for one, two in zip(light, dark, strict=True))
    return "#{:02x}{:02x}{:02x}".format(*mixed)


def _cut(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"


def _draw_text(
    x: float, y: float, words: str, *, anchor: str = "start", fill: str = INK, size: int = 12, weight: int = 400
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{fill}" font-size="{size}"'
        f' font-weight="{weight}">{escape(words)}</text>'
    )


def draw_document(title: str, remark: str, height: float, drawn: list[str], width: float) -> str:
    """Assemble drawn parts into an SVG document on a white background, under a title if there is one."""
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}"'
            f' viewBox="0 0 {width:.0f} {height:.0f}" {FONT}>',
            f'<rect width="{width:.0f}" height="{height:.0f}" fill="{PAPER}"/>',
            *(
                [_draw_text(14, 28, title, size=17, weight=600), _draw_text(14, 50, remark, fill=FAINT)]
                if title
                else []
            ),
            *drawn,
            "</svg>",
            "",
        ]
    )
