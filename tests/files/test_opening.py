"""A file that cannot be a design is refused in words, and a write happens whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from knobmenu.codec.tables import ORDER
from knobmenu.design.kinds import SETTINGS
from knobmenu.design.settings import Digits, TextSetting
from knobmenu.errors import DesignError, FileError
from knobmenu.files import load, save, toml, write_starter
from knobmenu.files.opening import LARGEST, decode_text
from knobmenu.files.starter import read_starter


def get_refusal(path: str | Path) -> str:
    with pytest.raises(DesignError) as refused:
        load(path)
    return str(refused.value).replace(str(Path(path).parent) + os.sep, "")


@pytest.fixture
def design_file(tmp_path: Path) -> Path:
    path = tmp_path / "lamp.toml"
    write_starter(path)
    return path


def test_a_missing_file_is_told_with_the_nearest_name_in_its_folder(design_file: Path) -> None:
    said = get_refusal(design_file.with_name("lmap.toml"))

    assert said == (
        'lmap.toml: expected the name of a design file, got no file of this name. Did you mean "lamp.toml"?'
    )


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    assert "There is no folder" in get_refusal(tmp_path / "nowhere" / "lamp.toml")


def test_a_folder_is_no_design(tmp_path: Path) -> None:
    assert "expected a design file, got a folder. Name a file in it." in get_refusal(tmp_path)


@pytest.mark.parametrize("name", ["a\0b.toml", "x" * 5000 + ".toml"])
def test_a_name_that_no_file_can_have_is_refused(name: str, tmp_path: Path) -> None:
    assert "cannot be read" in get_refusal(tmp_path / name)


def test_a_file_that_may_not_be_read_is_told(design_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def forbid(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", forbid)

    assert "got a file without read permission" in get_refusal(design_file)


def test_a_file_that_is_too_large_is_refused_before_it_is_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    with path.open("wb") as stream:
        stream.truncate(10 * 1024**3)  # ten gibibytes of nothing: a hole in the disk, but no room in memory

    assert get_refusal(path) == f"large.toml: expected at most {LARGEST} bytes, got a file of more than {LARGEST} bytes"


def test_a_byte_order_mark_and_lines_of_other_systems_do_no_harm() -> None:
    text = read_starter()
    content = b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()

    assert toml.loads(decode_text(content)) == toml.loads(text)


def test_a_name_with_control_signs_does_not_reach_the_terminal(tmp_path: Path) -> None:
    assert "\x1b" not in get_refusal(tmp_path / "\x1b[31m.toml")


@pytest.mark.parametrize("name", ["lamp.toml", "lamp.json", "LAMP.JSON"])
def test_a_saved_design_is_loaded_as_it_was(name: str, tmp_path: Path) -> None:
    design = toml.loads(read_starter())

    save(design, tmp_path / name)

    assert load(tmp_path / name) == design
    save(design, tmp_path / name)
    assert load(tmp_path / name) == design


def test_saving_keeps_the_text_where_nothing_changed(design_file: Path) -> None:
    before = design_file.read_bytes()

    save(load(design_file), design_file)

    assert design_file.read_bytes() == before


def test_saving_keeps_the_permissions_and_follows_a_link(design_file: Path) -> None:
    design_file.chmod(0o640)
    link = design_file.with_name("link.toml")
    link.symlink_to(design_file)

    save(load(link), link)

    assert link.is_symlink()
    assert stat.S_IMODE(design_file.stat().st_mode) == 0o640


def test_a_save_that_fails_leaves_the_old_file_and_nothing_else(
    design_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = design_file.read_bytes()
    design = load(design_file)

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(FileError, match="no space left on device"):
        save(design, design_file)

    assert design_file.read_bytes() == before
    assert os.listdir(design_file.parent) == [design_file.name]


def test_saving_over_a_file_that_holds_no_design_is_refused(design_file: Path) -> None:
    design = load(design_file)
    design_file.write_text("shopping list: eggs", encoding="utf-8")

    with pytest.raises(DesignError):
        save(design, design_file)

    assert design_file.read_text(encoding="utf-8") == "shopping list: eggs"


def test_the_starter_never_overwrites(design_file: Path) -> None:
    design_file.write_text("mine", encoding="utf-8")

    with pytest.raises(FileError, match="got an existing file"):
        write_starter(design_file)

    assert design_file.read_text(encoding="utf-8") == "mine"


def test_the_starter_shows_every_section() -> None:
    expected = [name for name in ORDER if name != "accepted"]

    assert list(toml.parse(read_starter())) == expected, "a new design has nothing to accept"


def test_the_starter_is_a_design_for_every_kind_of_setting_but_the_rarest() -> None:
    kinds = {type(setting) for setting in toml.loads(read_starter()).settings}

    assert set(SETTINGS) - kinds == {TextSetting, Digits}


def test_a_new_design_is_written_in_the_format_of_its_name(tmp_path: Path) -> None:
    for name in ("box.toml", "box.json", "BOX2.JSON"):
        write_starter(tmp_path / name)

        assert load(tmp_path / name) == toml.loads(read_starter())
    assert (tmp_path / "box.toml").read_text(encoding="utf-8") == read_starter()
    assert (tmp_path / "box.json").read_text(encoding="utf-8").startswith("{")


@pytest.mark.parametrize(
    ("name", "got"), [("box.txt", 'a name that ends in ".txt"'), ("box", "a name without an ending")]
)
def test_a_new_design_of_no_known_format_is_refused(name: str, got: str, tmp_path: Path) -> None:
    with pytest.raises(DesignError) as refused:
        write_starter(tmp_path / name)

    file = tmp_path / "box"
    assert str(refused.value) == (
        f"{tmp_path / name}: expected a name that ends in .toml or .json, got {got}. Write {file}.toml."
    )
    assert not (tmp_path / name).exists()
