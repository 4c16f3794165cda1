"""Findings as text for people, and as plain data for JSON."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator
from typing import Any

import attrs

from knobmenu.analysis.check.findings import RULES, Finding, Report, Severity
from knobmenu.errors import printable


def write_report(report: Report, file: str, line_of: Callable[[str], int]) -> str:
    """Write a report as lines: each finding in the format of a compiler message, and a summary."""
    lines: list[str] = []
    for finding in report.findings:
        lines += _write_finding(finding, file, line_of(finding.place))
    return "\n".join([*lines, summarize(report)])


def _write_finding(finding: Finding, file: str, line: int) -> Iterator[str]:
    where = f"{file}:{line}" if line else file
    severity = f"{finding.severity.value}, accepted" if finding.accepted else finding.severity.value
    yield printable(f"{where}: {severity}: {finding.place}: {finding.message} [{finding.rule}]")
    if finding.accepted:
        yield printable(f"    Accepted: {finding.accepted}")
        return
    yield printable(f"    {finding.advice}")
    if finding.trace:
        yield printable(f"    To see it: knobmenu play {shlex.quote(file)} {shlex.quote(finding.trace)}")


def summarize(report: Report) -> str:
    """Count the findings of each severity, in words."""
    counts = [format_count(len(report.list_open(severity)), severity.value) for severity in Severity]
    accepted = sum(bool(finding.accepted) for finding in report.findings)
    rest = f"; {accepted} accepted" if accepted else ""
    return f"{', '.join(counts)}{rest}. {format_count(report.states, 'state')} looked at."


def format_count(number: int, name: str) -> str:
    """Format a count with its noun, in the plural unless it is 1."""
    return f"{number:,} {name}" if number == 1 else f"{number:,} {name}s"


def report_to_plain(report: Report, file: str, line_of: Callable[[str], int]) -> dict[str, Any]:
    """Return a report as plain data."""
    return {
        "file": file,
        "counts": {severity.value: len(report.list_open(severity)) for severity in Severity},
        "states": report.states,
        "findings": [
            {
                **attrs.asdict(finding),
                "severity": finding.severity.value,
                "title": RULES[finding.rule].title,
                "line": line_of(finding.place),
            }
            for finding in report.findings
        ],
    }


def describe_rules() -> str:
    """Describe the kinds of finding, one after the other."""
    return "\n".join(
        f"{rule.key:22} {rule.severity.value:8} {rule.title}\n{'':31} {rule.why}" for rule in RULES.values()
    )
