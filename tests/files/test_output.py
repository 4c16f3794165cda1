"""What a command writes is there whole or not at all, and what must stay stays."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from knobmenu.errors import FileError
from knobmenu.files.output import create, expand, replace
from tests.disks import mount_small_disk
from tests.privileges import without_privileges

ROOT_ONLY = pytest.mark.skipif(os.geteuid() != 0, reason="needs to mount a small disk")

Write = Callable[[Path, str], None]
WRITES = pytest.mark.parametrize("write", [create, replace])


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 KiB."""
    with mount_small_disk(tmp_path / "disk", 64) as disk:
        yield disk


@WRITES
def test_a_new_file_has_the_permissions_that_the_umask_gives(tmp_path: Path, write: Write) -> None:
    before = os.umask(0o027)
    try:
        write(tmp_path / "a.txt", "é")
    finally:
        os.umask(before)

    assert (tmp_path / "a.txt").read_bytes() == "é".encode()
    assert stat.S_IMODE((tmp_path / "a.txt").stat().st_mode) == 0o640
    assert os.listdir(tmp_path) == ["a.txt"]


def test_a_new_file_never_takes_the_name_of_another(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("kept")
    (tmp_path / "link").symlink_to("nothing")
    (tmp_path / "sub").mkdir()

    for name, kind in (("a.txt", "file"), ("link", "file"), ("sub", "folder")):
        with pytest.raises(FileError, match=f"{name}: expected the name of a new file, got an existing {kind}"):
            create(tmp_path / name, "new")
    assert (tmp_path / "a.txt").read_text() == "kept"
    assert sorted(os.listdir(tmp_path)) == ["a.txt", "link", "sub"]


def test_a_replaced_file_keeps_its_permissions(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    path.chmod(0o600)

    replace(path, "new")

    assert path.read_text() == "new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_link_stays_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    (tmp_path / "real.txt").write_text("old")
    (tmp_path / "link").symlink_to("real.txt")

    replace(tmp_path / "link", "new")

    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real.txt").read_text() == "new"


def test_an_input_is_never_written_over_whatever_it_is_called(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("design")
    (tmp_path / "link").symlink_to("a.txt")
    os.link(tmp_path / "a.txt", tmp_path / "twin")

    for name in ("a.txt", "link", "twin"):
        with pytest.raises(FileError, match="expected a file that is not an input of this command"):
            replace(tmp_path / name, "output", inputs=[tmp_path / "a.txt"])
    assert (tmp_path / "a.txt").read_text() == "design"


@pytest.mark.parametrize("kind", ["folder", "pipe", "device"])
def test_what_is_not_a_file_is_never_replaced(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "special"
    if kind == "folder":
        path.mkdir()
    elif kind == "pipe":
        os.mkfifo(path)
    else:
        path = Path("/dev/null")

    with pytest.raises(FileError, match=f"expected a file, got a {kind}"):
        replace(path, "new")
    assert not path.is_file()


@ROOT_ONLY
@WRITES
def test_a_full_disk_leaves_no_file(small_disk: Path, write: Write) -> None:
    with pytest.raises(FileError, match=r"no space left on device\. Make room on the disk, or write elsewhere"):
        write(small_disk / "a.txt", "x" * 200_000)

    assert os.listdir(small_disk) == []


@ROOT_ONLY
def test_a_full_disk_leaves_the_file_that_was_there(small_disk: Path) -> None:
    (small_disk / "a.txt").write_text("kept")

    with pytest.raises(FileError, match="no space left"):
        replace(small_disk / "a.txt", "x" * 200_000)

    assert (small_disk / "a.txt").read_text() == "kept"


@WRITES
@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("x" * 300, "file name too long. Choose a shorter name"),
        ("nowhere/a.txt", "a folder that does not exist. Make the folder first"),
        ("a\0b", "embedded null"),
        ("a.txt/b", "a file where its folder should be"),
        ("loop/a.txt", "too many levels of symbolic links"),
    ],
)
def test_a_name_that_cannot_be_is_refused_with_its_reason(tmp_path: Path, write: Write, name: str, found: str) -> None:
    (tmp_path / "a.txt").write_text("kept")
    (tmp_path / "loop").symlink_to("loop")

    with pytest.raises(FileError, match=found):
        write(tmp_path / name, "new")
    assert sorted(os.listdir(tmp_path)) == ["a.txt", "loop"]


@WRITES
def test_a_folder_that_may_not_be_entered_is_refused_with_its_reason(tmp_path: Path, write: Write) -> None:
    program = f"from knobmenu.files.output import {write.__name__} as write; write('locked/a.txt', 'new')"
    (tmp_path / "locked").mkdir(mode=0)
    done = subprocess.run(
        without_privileges([sys.executable, "-c", program]),
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )

    assert "FileError: locked/a.txt: expected a file that can be written, got permission denied." in done.stderr
    assert list((tmp_path / "locked").iterdir()) == []


@WRITES
def test_a_deleted_working_folder_is_refused_with_its_reason(
    tmp_path: Path, write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()

    with pytest.raises(FileError, match="a folder that does not exist"):
        write(Path("a.txt"), "new")
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(("typed", "found"), [("~nosuchuser/x", '"~nosuchuser"'), ("  ", "nothing"), ("a\0", "NUL")])
def test_a_typed_name_that_cannot_be_is_refused_with_its_reason(typed: str, found: str) -> None:
    with pytest.raises(FileError, match=found):
        expand(typed)


def test_a_typed_name_may_begin_with_the_home_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/somewhere")

    assert expand("~/a.txt") == Path("/somewhere/a.txt")
