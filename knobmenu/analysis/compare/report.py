"""A comparison of two designs as text, data and a page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import attrs

from knobmenu.analysis.check.text import format_count
from knobmenu.analysis.compare.changes import ABOUT, Change, FindingChanges, compare_findings, list_changes
from knobmenu.analysis.cost.profile import Profile
from knobmenu.analysis.cost.report import Report, report_costs
from knobmenu.analysis.page import write_heading, write_page, write_table

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


@attrs.frozen
class CostChange:
    """The costs of one setting or action in both designs."""

    key: str
    label: str
    home: tuple[int | None, int | None]
    """Gestures from home; None: it does not exist, or cannot be reached."""
    use: tuple[float | None, float | None]
    """Average gestures of a use, from home to a value and home again."""


@attrs.frozen
class Comparison:
    """All differences between two designs."""

    old: Design = attrs.field(repr=False)
    new: Design = attrs.field(repr=False)
    changes: tuple[Change, ...]
    costs: tuple[CostChange, ...]
    """The costs of the parts whose costs differ."""
    expected: tuple[float, float]
    """Average gestures of a use, over all uses."""
    findings: FindingChanges


def compare_designs(old: Design, new: Design, profile: Profile | None = None) -> Comparison:
    """Compare two designs.

    Args:
        old: The earlier design.
        new: The later design.
        profile: How both are used; by default, everything equally often.
    """
    before = report_costs(old, profile=None if profile is None else _restrict(profile, old))
    after = report_costs(new, profile=None if profile is None else _restrict(profile, new))
    return Comparison(
        old,
        new,
        list_changes(old, new),
        _list_cost_changes(before, after),
        (before.expected, after.expected),
        compare_findings(old, new),
    )


def _restrict(profile: Profile, design: Design) -> Profile:
    """Restrict a profile to the parts of a design."""
    index = design.index
    use = {key: often for key, often in profile.use.items() if key in index.settings or key in index.actions}
    values = {key: often for key, often in profile.values.items() if key in index.settings}
    return attrs.evolve(profile, use=use, values=values)


def _list_cost_changes(before: Report, after: Report) -> tuple[CostChange, ...]:
    one, other = {cost.key: cost for cost in before.costs}, {cost.key: cost for cost in after.costs}
    found = []
    for key in dict.fromkeys((*one, *other)):
        costs = (one.get(key), other.get(key))
        home = tuple(None if cost is None or cost.home is None else cost.home.tally.gestures for cost in costs)
        use = tuple(None if cost is None or cost.expected is None else round(cost.expected, 6) for cost in costs)
        label = (other.get(key) or one[key]).label
        if home[0] != home[1] or use[0] != use[1]:
            found.append(CostChange(key, label, (home[0], home[1]), (use[0], use[1])))
    return tuple(found)


def write_verdict(found: Comparison) -> list[str]:
    """State the most important results in sentences."""
    if found.old == found.new:
        return ["Both designs are the same."]
    counts = [
        f"{number} in {about}" for about in ABOUT if (number := sum(item.about == about for item in found.changes))
    ]
    said = [
        f"{format_count(len(found.changes), 'change')}: {', '.join(counts)}."
        if counts
        else "No change that users meet."
    ]
    before, after = found.expected
    if abs(before - after) > 1e-9:
        word = "less" if after < before else "more"
        said.append(f"A use takes {after:.2f} gestures instead of {before:.2f}: {abs(after - before):.2f} {word}.")
    added, gone = len(found.findings.added), len(found.findings.gone)
    said.append(f"Findings: {added} new, {gone} gone.")
    return said


def comparison_to_plain(found: Comparison) -> dict[str, Any]:
    """Return a comparison in JSON's own types."""
    return {
        "format": 1,
        "old": found.old.name,
        "new": found.new.name,
        "expected_gestures": [round(number, 3) for number in found.expected],
        "changes": [attrs.asdict(change) for change in found.changes],
        "costs": [{"key": item.key, "from_home": list(item.home), "use": list(item.use)} for item in found.costs],
        "findings": {
            "added": [attrs.asdict(finding) for finding in found.findings.added],
            "gone": [attrs.asdict(finding) for finding in found.findings.gone],
        },
    }


def _format_number(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f}" if isinstance(value, float) else str(value)


def list_cost_rows(found: Comparison) -> list[tuple[str, ...]]:
    """List the costs that differ: part, from home before and after, a use before and after."""
    return [
        (item.key, *(_format_number(value) for value in item.home), *(_format_number(value) for value in item.use))
        for item in found.costs
    ]


def write_comparison_page(found: Comparison) -> str:
    """Write a comparison as one HTML file."""
    parts = []
    for about in ABOUT:
        rows = [(change.place, change.what) for change in found.changes if change.about == about]
        if rows:
            parts += [write_heading(about.capitalize()), write_table(("where", "what"), rows)]
    if found.costs:
        remark = "Gestures from home, and of a use on average with its value and the way back."
        columns = ("part", "home before", "home after", "use before", "use after")
        parts += [write_heading("Costs", remark), write_table(columns, list_cost_rows(found), numeric=(1, 2, 3, 4))]
    for word, findings in (("New findings", found.findings.added), ("Findings gone", found.findings.gone)):
        if findings:
            rows = [(f"{finding.rule} at {finding.place}", finding.message) for finding in findings]
            parts += [write_heading(word), write_table(("finding", "what"), rows)]
    return write_page(f"{found.old.name}: what changed", write_verdict(found), parts)
