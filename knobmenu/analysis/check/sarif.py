"""Findings as SARIF 2.1.0, the format in which code hosts accept results of static analysis.

Source: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, with its JSON schema.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import quote

from knobmenu.analysis.check.findings import RULES, Finding, Report

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def build_sarif_log(report: Report, file: str, line_of: Callable[[str], int], version: str) -> dict[str, Any]:
    """Return a report as a SARIF log.

    Args:
        report: What was found.
        file: The design file, relative to the root of its repository.
        line_of: Returns the line of a path inside the design, or 0.
        version: The version of knobmenu.
    """
    places = {key: number for number, key in enumerate(RULES)}
    return {
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "knobmenu",
                        "version": version,
                        "rules": [
                            {
                                "id": rule.key,
                                "shortDescription": {"text": _make_sentence(rule.title)},
                                "fullDescription": {"text": rule.why},
                                "defaultConfiguration": {"level": rule.severity.value},
                            }
                            for rule in RULES.values()
                        ],
                    }
                },
                "columnKind": "unicodeCodePoints",
                "results": [
                    _build_result(item, places[item.rule], file, line_of(item.place)) for item in report.findings
                ],
            }
        ],
    }


def _make_sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _build_result(finding: Finding, rule: int, file: str, line: int) -> dict[str, Any]:
    physical: dict[str, Any] = {"artifactLocation": {"uri": quote(file.replace("\\", "/"))}}
    if line:
        physical["region"] = {"startLine": line}
    result: dict[str, Any] = {
        "ruleId": finding.rule,
        "ruleIndex": rule,
        "level": finding.severity.value,
        "message": {"text": f"{finding.message} {finding.advice}"},
        "locations": [
            {"physicalLocation": physical, "logicalLocations": [{"fullyQualifiedName": finding.place}]},
        ],
        "partialFingerprints": {"place/v1": f"{finding.rule}:{finding.place}"},
    }
    if finding.trace:
        result["properties"] = {"trace": finding.trace}
    if finding.accepted:
        result["suppressions"] = [{"kind": "inSource", "justification": finding.accepted}]
    return result
