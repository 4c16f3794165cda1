"""``knobmenu export``, as the command line runs it."""

from __future__ import annotations

from pathlib import Path

import pytest

from docs.draw import EXAMPLE, example, example_spec
from knobmenu.cli import export
from knobmenu.cli.parsing import Parser
from knobmenu.errors import DesignError, FileError
from knobmenu.files.disk import load, save


@pytest.fixture
def box(tmp_path: Path) -> str:
    path = tmp_path / "box.toml"
    save(example(), path)
    return str(path)


def run(*words: str) -> int:
    parser = Parser()
    export.add_options(parser)
    return export.run(parser.parse_args(words))


def test_a_design_is_written_as_a_spec(box: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(box, "--to", "spec") == 0
    assert capsys.readouterr().out == example_spec()


def test_a_spec_is_written_to_a_file_and_its_cautions_are_counted(
    box: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    output = tmp_path / "box.json"
    assert run(box, "--to", "spec", "-o", str(output)) == 0
    assert output.read_text(encoding="utf-8") == example_spec()
    assert capsys.readouterr().err == f"Wrote {output}.\nIt contains 2 cautions.\n"


def test_a_spec_gives_its_design_back(tmp_path: Path) -> None:
    output = tmp_path / "box.toml"
    assert run(str(EXAMPLE), "--to", "design", "--output", str(output)) == 0
    assert load(output) == example()


def test_a_spec_in_another_order_of_fields_is_a_spec_still(tmp_path: Path) -> None:
    turned = tmp_path / "turned.json"
    turned.write_text(EXAMPLE.read_text("utf-8").replace('"format": "knobmenu-spec",', "", 1), encoding="utf-8")
    text = turned.read_text("utf-8").rstrip().removesuffix("}")
    turned.write_text(text + ', "format": "knobmenu-spec"}', encoding="utf-8")
    assert run(str(turned), "--to", "spec", "-o", str(tmp_path / "again.json")) == 0
    assert (tmp_path / "again.json").read_text("utf-8") == example_spec()


def test_a_design_is_never_overwritten_by_its_own_export(box: str) -> None:
    before = Path(box).read_bytes()
    with pytest.raises(FileError, match="expected a file that is not an input of this command"):
        run(box, "--to", "spec", "-o", box)
    assert Path(box).read_bytes() == before


def test_a_spec_that_contradicts_itself_is_refused_with_the_places(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.json"
    wrong.write_text(example_spec().replace('"idle_after_ms": 5000', '"idle_after_ms": 6000'), encoding="utf-8")
    with pytest.raises(
        DesignError,
        match=r"wrong.json: timing.idle_after_ms: expected 5000, .* got 6000",
    ):
        run(str(wrong), "--to", "spec")


def test_a_missing_file_is_said_as_for_any_design(tmp_path: Path) -> None:
    with pytest.raises(DesignError, match="no file of this name"):
        run(str(tmp_path / "none.toml"), "--to", "spec")
