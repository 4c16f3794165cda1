"""The bench in words: the knobs of the chain, the table of speeds, and what to change first."""

from __future__ import annotations

from collections.abc import Sequence

from knobmenu.bench import wording
from knobmenu.bench.chain import Chain
from knobmenu.bench.figures import format_number
from knobmenu.bench.parameters import Parameter
from knobmenu.bench.plan import Plan
from knobmenu.bench.presses import PressVerdict
from knobmenu.bench.verdict import Row as Tried
from knobmenu.bench.verdict import Verdict
from knobmenu.picture.fitting import cut, draw_pane, find_first_shown, fit, wrap
from knobmenu.picture.runs import Drawing, Row, Run, merge
from knobmenu.terminal.drawing.frame import draw_top

_GROUPS = {
    "turning": "the hand",
    "encoder": "the encoder",
    "contact": "its contacts",
    "pressing": "its contacts",
    "filter": "the filter",
    "reader": "the firmware",
    "decoder": "the firmware",
    "judging": "the verdict",
}
"""The titles of a chain's sections, shown if there is room."""


def draw_knob_list(
    chain: Chain, parameters: Sequence[Parameter], chosen: int, changed: frozenset[str], columns: int, height: int
) -> Drawing:
    """List the knobs of a chain with their values; the chosen one is marked, and where there are more.

    Args:
        chain: The chain.
        parameters: Its knobs.
        chosen: Which one is chosen.
        changed: The paths of those that are not as the chain was to begin with.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    room = max(height - 1, 1)
    lines = list_lines(parameters, height)
    start = find_first_shown(lines.index(chosen), len(lines), room)
    rows: list[Row] = []
    for line in lines[start : start + room]:
        if line is None:
            rows.append(())
        elif isinstance(line, str):
            rows.append((Run(line, "dim"),))
        else:
            parameter = parameters[line]
            rows.append(_draw_knob(parameter, chain, line == chosen, parameter.path in changed, columns))
    more = (" ↑" if start else "") + (" ↓" if start + room < len(lines) else "")
    return draw_pane(f"the chain{more}", rows, columns, height)


def list_lines(parameters: Sequence[Parameter], height: int) -> list[int | str | None]:
    """Return what the lines of the list are: knobs by number, titles of groups, and empty ones where there is room."""
    groups = [_GROUPS[parameter.section] for parameter in parameters]
    titles = len(dict.fromkeys(groups))
    room = height - 1
    lines: list[int | str | None] = []
    for number, group in enumerate(groups):
        begins = number == 0 or group != groups[number - 1]
        if begins and number and room >= len(groups) + 2 * titles:
            lines.append(None)
        if begins and room >= len(groups) + titles:
            lines.append(group)
        lines.append(number)
    return lines


def find_line(parameters: Sequence[Parameter], chosen: int, height: int, row: int) -> int | None:
    """Return which knob stands in a row of the list, counted from its title; None where there is none."""
    room = max(height - 1, 1)
    lines = list_lines(parameters, height)
    start = find_first_shown(lines.index(chosen), len(lines), room)
    place = start + row - 1
    line = lines[place] if row >= 1 and place < len(lines) else None
    return line if isinstance(line, int) else None


def _draw_knob(parameter: Parameter, chain: Chain, chosen: bool, changed: bool, columns: int) -> Row:
    words = parameter.describe(chain)
    label = cut(parameter.label, max(columns - len(words) - 6, 4))
    gap = " " * max(columns - 2 - len(label) - len(words) - 2, 1)
    if not chosen:
        return merge([Run(f"  {label}{gap}", "text"), Run(words, "accent" if changed else "text"), Run("  ", "text")])
    return merge(
        [
            Run("→ ", "accent", "raised"),
            Run(f"{label}{gap}", "strong", "raised"),
            Run(words, "strong", "raised"),
            Run(" ↔", "accent", "raised"),
        ]
    )


def draw_table(rows: Sequence[Tried], fresh: int, limit: float, columns: int, height: int) -> Drawing:
    """Write what is counted at each speed; where not all fit, those around the first that errs too much.

    Args:
        rows: From slow to fast.
        fresh: So many of them, from the first, belong to the chain as it is; the others are dimmed and not judged.
        limit: Errors for each true detent that are tolerated.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    wide = columns >= sum(_WIDTHS) + 24
    heads = ["turns/s", "detents", "lost", "extra", "back", "error rate"]
    title = "".join(f"{head:>{width}}" for head, width in zip(heads, _WIDTHS, strict=True))
    room = max(height - 1, 1)
    failing = next((number for number, one in enumerate(rows) if one.error_rate > limit), len(rows))
    start = find_first_shown(failing, len(rows), room)
    shown = [
        fit(_draw_tried(one, start + number < fresh, limit, wide), columns)
        for number, one in enumerate(rows[start : start + room])
    ]
    return draw_pane(title, shown, columns, height)


_WIDTHS = (7, 8, 6, 6, 5, 14)
"""Widths of the table's columns. [terminal cells]"""


def _draw_tried(one: Tried, fresh: bool, limit: float, wide: bool) -> list[Run]:
    lost, extra, back = (sum(getattr(count, name) for count in one.counts) for name in ("lost", "extra", "reversed"))
    bad = one.error_rate > limit
    numbers = (f"{one.turns_per_s:g}", str(one.true), str(lost), str(extra), str(back))
    ink = "text" if fresh else "dim"
    share = f"{format_number(one.error_rate * 100)} %"
    return [
        *(Run(f"{number:>{width}}", ink) for number, width in zip(numbers, _WIDTHS, strict=False)),
        Run(f"{share:>11} ", ("wrong" if bad else "good") if fresh else "dim"),
        Run(("✗" if bad else "✓") if fresh else "…", ("wrong" if bad else "good") if fresh else "dim"),
        Run(
            f"   95 %: {format_number(one.low * 100, 2)} to {format_number(one.high * 100, 2)} %" if wide else "", "dim"
        ),
    ]


def draw_advice(
    chain: Chain,
    found: Verdict | None,
    plan: Plan | None,
    presses: PressVerdict | None,
    doing: str,
    columns: int,
    height: int,
) -> Drawing:
    """Draw the speed up to which the chain counts correctly, what to change first, and more if there is room.

    More is what its filter does, and which debouncing its push switch needs.

    Args:
        chain: The chain as it is.
        found: The last whole verdict, of this chain or of one before it.
        plan: What helps, likewise.
        presses: The last verdict on its presses, likewise.
        doing: What is being tried now; nothing when all is done.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    fresh = found is not None and found.chain is chain
    title = "judging"
    if found is not None:
        title = wording.answer_briefly(found) if fresh else f"before: {wording.answer_briefly(found)}"
    if doing:
        title = f"{title} ({doing})"
    advised = plan is not None and plan.chain is chain
    lines: list[tuple[str, str]] = []
    if plan is not None:
        ink = "text" if advised else "dim"
        lines = [(line, ink) for line in wrap(wording.write_heading(plan), columns)]
        for number, one in enumerate(plan.proposals, 1):
            lines += [(line, ink) for line in wrap(f"{number} {wording.describe_proposal(one)}", columns)]
    # What a filter does follows from its parts alone, so it is always that of the chain as it is.
    more = [(f"The filter {wording.describe_filter(chain)}.", "text")] if chain.filter.capacitor_f else []
    if presses is not None:
        more.append((presses.advice, "text" if presses.chain is chain else "dim"))
    for words, ink in more:
        about = [(line, ink) for line in wrap(words, columns)]
        if len(lines) + len(about) <= height - 1:
            lines += about
    if len(lines) > height - 1:
        line, ink = lines[height - 2]
        lines = [*lines[: height - 2], (cut(f"{line} …", columns), ink)]
    return draw_pane(cut(title, columns - 1), [(Run(line, ink),) for line, ink in lines], columns, height)


def draw_about(chain: Chain, parameter: Parameter, columns: int) -> Drawing:
    """Draw the description of a parameter."""
    about = parameter.about
    if parameter.section == "filter" and parameter.key != "capacitor_f" and not chain.filter.capacitor_f:
        about = f"{about} Without a capacitor it changes nothing here."
    return (fit([Run(f"{parameter.label}: ", "dim"), Run(about, "text")], columns),)


def draw_bench_header(name: str, changed: bool, message: str, ink: str, columns: int) -> Drawing:
    """Write the head: the chain's name, and the latest message."""
    left = [
        Run(" ", "text", "raised"),
        Run(cut(name, max(columns // 3, 12)), "strong", "raised"),
        Run(" (changed)" if changed else "", "caution", "raised"),
        Run("   ", "text", "raised"),
        Run(message, ink, "raised"),
    ]
    return draw_top(left, "bench", columns)
