"""Check a whole design: proofs of reachability, hazards, texts that do not fit, and usability."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import attrs

from knobmenu.analysis.abstraction import TooLargeError
from knobmenu.analysis.check.findings import Finding, Report
from knobmenu.analysis.check.fit import check_fit
from knobmenu.analysis.check.habit import check_habits
from knobmenu.analysis.check.hazards import check_hazards
from knobmenu.analysis.check.proofs import check_entries, check_lamps, check_lists, check_parts, report_undecided
from knobmenu.analysis.check.subject import Subject
from knobmenu.analysis.check.surroundings import check_surroundings
from knobmenu.analysis.check.values import check_values
from knobmenu.design.whole import Design

Progress = Callable[[int, int], None]
"""Called with the number of parts of a check that are done, and the number of all."""

PARTS: tuple[Callable[[Subject], Iterator[Finding]], ...] = (
    check_parts,
    check_entries,
    check_lists,
    check_values,
    check_lamps,
    check_hazards,
    check_fit,
    check_habits,
    check_surroundings,
)
"""The parts of a check, in the order in which findings are listed."""


def check_design(design: Design, progress: Progress | None = None) -> Report:
    """Check a whole design.

    Args:
        design: What to check.
        progress: Called before each part, and once at the end.

    Returns:
        All findings, including accepted ones.
    """
    language = design.index.settings.get(design.language)
    cuts = {design.language: tuple(range(1, len(design.languages)))} if language is not None else {}
    subject = Subject(design, cuts)
    findings: list[Finding] = []
    for done, part in enumerate(PARTS):
        if progress is not None:
            progress(done, len(PARTS))
        try:
            findings += part(subject)
        except TooLargeError as error:  # the menus themselves are too many to walk through
            findings.append(report_undecided("menus", error))
            break
    if progress is not None:
        progress(len(PARTS), len(PARTS))
    return Report(tuple(_accept(design, findings)), subject.states)


def _accept(design: Design, findings: Iterable[Finding]) -> Iterator[Finding]:
    """Mark the findings that the designer accepts; report acceptances without a finding."""
    used: set[int] = set()
    for finding in findings:
        fitting = [
            number
            for number, item in enumerate(design.accepted)
            if item.finding == finding.rule and item.place in ("", finding.place)
        ]
        used.update(fitting)
        yield attrs.evolve(finding, accepted=design.accepted[fitting[0]].reason) if fitting else finding
    for number, item in enumerate(design.accepted):
        if number not in used:
            where = f' at "{item.place}"' if item.place else ""
            message = f'"{item.finding}"{where} is accepted, and not found.'
            yield Finding("unused-acceptance", f"accepted[{number}]", message, "Remove it, or correct its place.")
