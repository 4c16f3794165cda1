"""Files that a prompt names."""

from pathlib import Path

from knobmenu.files.prompted import find_free_path


def test_a_free_name_is_one_that_no_file_has(tmp_path: Path) -> None:
    assert find_free_path("kiln", ".trace", tmp_path).name == "kiln.trace"
    (tmp_path / "kiln.trace").touch()
    (tmp_path / "kiln-2.trace").touch()
    assert find_free_path("kiln", ".trace", tmp_path).name == "kiln-3.trace"
