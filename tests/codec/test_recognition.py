"""Each document is recognised, and a wrong command is answered with the right one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given

from docs.draw import example_spec
from knobmenu.bench.chain import SECTIONS
from knobmenu.bench.chain_file import write_toml
from knobmenu.bench.simulated import make_first_try
from knobmenu.cli.main import main
from knobmenu.codec import to_plain
from knobmenu.codec.recognition import CHAIN_SECTIONS, Document, recognize
from knobmenu.design.hardware import Knob
from knobmenu.design.whole import Design
from knobmenu.files.starter import read_starter
from tests.strategies import designs

RECORDING = '{"kind": "header", "format": 1, "started": "", "designs": []}\n{"kind": "power-on", "real_ms": 0}\n'
USE = "format = 1\n[use]\nvolume = 10\n"


def documents() -> dict[Document, str]:
    return {
        Document.CHAIN: write_toml(make_first_try(Knob()).chain),
        Document.SPEC: example_spec(),
        Document.RECORDING: RECORDING,
        Document.USE_PROFILE: USE,
    }


@given(designs())
def test_every_design_is_recognised_as_one(design: Design) -> None:
    assert recognize(to_plain(design)) is Document.DESIGN


def test_the_sections_of_a_chain_are_those_of_the_bench() -> None:
    assert set(CHAIN_SECTIONS) == set(SECTIONS)


@pytest.mark.parametrize("data", [{}, [], None, "text", 5, {"format": 1}, {"nothing": {}, "known": 1}])
def test_what_is_like_no_document_is_none(data: object) -> None:
    assert recognize(data) is None


@pytest.mark.parametrize("document", documents(), ids=lambda document: document.name)
@pytest.mark.parametrize("suffix", [".toml", ".json"])
@pytest.mark.parametrize("command", [["try", "--plain"], ["check"], ["cost"], ["export", "--to", "spec"]])
def test_a_document_that_is_no_design_leads_to_the_command_that_takes_it(
    command: list[str], suffix: str, document: Document, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = documents()[document]
    if suffix == ".json" and not text.startswith("{"):
        import tomllib

        text = json.dumps(tomllib.loads(text))
    if document is Document.RECORDING and suffix == ".json":
        text = text.splitlines()[0]
    path = tmp_path / f"thing{suffix}"
    path.write_text(text, encoding="utf-8")
    if command[0] == "export" and document is Document.SPEC:
        pytest.skip("it takes a spec")
    arguments = [command[0], str(path), *command[1:]]

    assert main(arguments) == 1

    assert capsys.readouterr().err == f"{path}: expected a design, got {document.noun}. {document.advice}.\n"


@pytest.mark.parametrize("document", [Document.DESIGN, Document.SPEC, Document.RECORDING, Document.USE_PROFILE])
@pytest.mark.parametrize("suffix", [".toml", ".json"])
def test_the_bench_says_what_takes_a_document_that_is_no_chain(
    suffix: str, document: Document, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / f"thing{suffix}"
    path.write_text({**documents(), Document.DESIGN: read_starter()}[document], encoding="utf-8")

    assert main(["bench", "judge", str(path)]) == 1

    assert f"expected a signal chain, got {document.noun}. {document.advice}." in capsys.readouterr().err
