"""``knobmenu report`` on files: what it writes, and what it says of recordings that it cannot use."""

from __future__ import annotations

import html
import json
import re
import shlex
import shutil
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from knobmenu.cli.main import main
from knobmenu.files.sittings import append_note, get_notes_path
from knobmenu.session.playback import format_clock
from tests.review.participants import sit_on_disk
from tests.review.planted import write_study
from tests.review.readers import exact, hesitant


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a study of the design with a hidden long press, with two sittings."""
    study = write_study(tmp_path_factory.mktemp("study"), "hidden")
    sit_on_disk(study, exact, 0)
    sit_on_disk(study, hesitant, 1)
    return study


@pytest.fixture
def study(whole: Path, tmp_path: Path) -> Path:
    """Return a copy that a test may damage."""
    shutil.copytree(whole.parent, tmp_path / "copy")
    return tmp_path / "copy" / whole.name


def sitting(study: Path, code: str) -> Path:
    return study.with_suffix(".sittings") / f"{code}.jsonl"


def test_the_verdict_comes_first(whole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(whole)]) == 0

    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "2 people, 1 variant, 3 tasks: 6 attempts."
    assert lines[1] == 'Task "contrast": 0 of 2 succeeded (95 %: 0 % to 71 %).'
    assert lines[2] == "There, 2 of 2 never found the long press at home."
    assert "tasks" in lines


def test_the_same_recordings_give_the_same_report(whole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["report", str(whole)])
    first = capsys.readouterr().out
    main(["report", str(whole)])

    assert capsys.readouterr().out == first


def test_the_measures_are_written_as_a_table(whole: Path, tmp_path: Path) -> None:
    target = tmp_path / "measures.csv"
    assert main(["report", str(whole), "--csv", str(target)]) == 0

    assert target.read_text(encoding="utf-8").startswith("participant,order,variant,task,outcome,")


@pytest.fixture(scope="module")
def pages(whole: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the report as HTML and Markdown."""
    folder = tmp_path_factory.mktemp("pages")
    assert main(["report", str(whole), "--html", str(folder / "r.html"), "--markdown", str(folder / "r.md")]) == 0
    return folder


def test_the_page_loads_nothing_from_anywhere(pages: Path) -> None:
    text = (pages / "r.html").read_text(encoding="utf-8")

    sources = re.findall(r'(?:src|href)="([^"]{0,40})', text)
    assert {source.partition(":")[0] for source in sources if not source.startswith("#")} == {"data"}
    assert "default-src 'none'" in text
    assert "<script" not in text


def test_the_page_is_well_formed_with_the_verdict_first(pages: Path) -> None:
    text = (pages / "r.html").read_text(encoding="utf-8")
    checker = _Checker()
    checker.feed(text)
    checker.close()

    assert checker.open_elements == []
    assert text.index("never found the long press at home") < text.index("<h2>")
    twice = [one for one, count in Counter(checker.ids).items() if count > 1]
    assert twice == [], "every picture has ids of its own"


class _Checker(HTMLParser):
    """Notes the elements that are open and the ids."""

    VOID = frozenset({"meta", "img", "br"})

    def __init__(self) -> None:
        super().__init__()
        self.open_elements: list[str] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.ids += [value for name, value in attrs if name == "id" and value]
        if tag not in self.VOID:
            self.open_elements.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.ids += [value for name, value in attrs if name == "id" and value]

    def handle_endtag(self, tag: str) -> None:
        assert self.open_elements.pop() == tag


def test_the_pages_are_the_same_bytes_each_time(whole: Path, pages: Path, tmp_path: Path) -> None:
    main(["report", str(whole), "--html", str(tmp_path / "r.html"), "--markdown", str(tmp_path / "r.md")])

    for path in (path for path in pages.rglob("*") if path.is_file()):
        assert (tmp_path / path.relative_to(pages)).read_bytes() == path.read_bytes()


def test_every_replay_command_plays_the_attempt(pages: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = html.unescape((pages / "r.html").read_text(encoding="utf-8"))
    commands = re.findall(r"<code>knobmenu (replay [^<]+--from [^<]+)</code>", text)

    assert commands
    for command in commands:
        assert main(shlex.split(command)) == 0
        said = capsys.readouterr().out
        assert said.startswith("   0:00.0  mark: begin hidden ")
        assert said.count("mark: ") == 2, "it ends with the attempt"
        assert "mark: end " in said.splitlines()[-1]


def test_the_pictures_of_the_markdown_are_beside_it(pages: Path) -> None:
    text = (pages / "r.md").read_text(encoding="utf-8")
    names = re.findall(r"!\[[^]]*\]\(<([^>]+)>\)", text)

    assert len(names) >= 6
    assert {pages / name for name in names} == set((pages / "r.pictures").iterdir())
    for name in names:
        ElementTree.parse(pages / name)


def test_answers_of_participants_are_text_and_nothing_else(study: Path, tmp_path: Path) -> None:
    with study.open("a", encoding="utf-8") as stream:
        stream.write('[questions.liked]\nkind = "text"\ntext = "What did you <like>?"\n')
    path = sitting(study, "p02")
    answer = json.dumps(["hidden", "liked", "<script>alert(1)</script> | `x`"])
    mark = {"kind": "mark", "real_ms": 10**7, "number": 0, "name": f"answer {answer}"}
    path.write_text(path.read_text(encoding="utf-8") + json.dumps(mark) + "\n", encoding="utf-8")
    main(["report", str(study), "--html", str(tmp_path / "r.html"), "--markdown", str(tmp_path / "r.md")])

    page = (tmp_path / "r.html").read_text(encoding="utf-8")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script" not in page
    assert "\\<script\\>alert(1)" in (tmp_path / "r.md").read_text(encoding="utf-8")


def test_the_notes_of_the_moderator_are_in_the_pages(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sitting(study, "p01")
    marks = {mark["name"]: mark["real_ms"] for mark in map(json.loads, path.read_text().splitlines()) if "name" in mark}
    begun_ms = next(real_ms for name, real_ms in marks.items() if name.startswith("begin hidden contrast"))
    append_note(path, begun_ms + 2300, "looks for <b>it</b> | \x1b[2J\u202e in `vain`")
    with get_notes_path(path).open("ab") as stream:
        stream.write(b"garbage \x1b[2J <i>\n\n")
    page, text = tmp_path / "r.html", tmp_path / "r.md"

    assert main(["report", str(study), "--html", str(page), "--markdown", str(text)]) == 0

    damaged = f'{get_notes_path(path)}:2: expected a note with real_ms and text, got "garbage \\x1b[2J <i>".'
    assert capsys.readouterr().err.startswith(damaged)
    cells = ["p01", format_clock(begun_ms + 2300), "contrast", "0:02.3"]
    note = "looks for <b>it</b> | \\x1b[2J\\x202e in `vain`"
    classes = ["", " class=n", "", " class=n", ""]
    row = [f"<td{kind}>{html.escape(cell)}</td>" for kind, cell in zip(classes, [*cells, note], strict=True)]
    assert "".join(row) in page.read_text(encoding="utf-8")
    assert f"Not read: {html.escape(damaged)}" in page.read_text(encoding="utf-8")
    written = text.read_text(encoding="utf-8")
    assert "| " + " | ".join(cells) + " | looks for \\<b\\>it\\</b\\> \\| " in written
    assert "Not read: " in written
    assert not set("\x1b\u202e") & set(written + page.read_text(encoding="utf-8"))


def test_notes_are_not_written_over(study: Path) -> None:
    path = sitting(study, "p01")
    append_note(path, 1, "mine")
    before = get_notes_path(path).read_bytes()

    assert main(["report", str(study), "--csv", str(get_notes_path(path)), "--overwrite"]) == 1
    assert get_notes_path(path).read_bytes() == before


@pytest.mark.parametrize("option", ["--csv", "--html", "--markdown"])
def test_inputs_and_files_that_exist_are_not_written_over(
    option: str, study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there = study.parent / "there"
    there.write_text("mine", encoding="utf-8")

    for name in (study, sitting(study, "p01"), there):
        before = name.read_bytes()
        assert main(["report", str(study), option, str(name)]) == 1
        assert name.read_bytes() == before
        assert str(name) in capsys.readouterr().err
    assert main(["report", str(study), option, str(study), "--overwrite"]) == 1


def test_a_study_without_sittings_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = write_study(tmp_path, "none")

    assert main(["report", str(study)]) == 1
    said = capsys.readouterr().err
    assert f"{study.with_suffix('.sittings')}: expected at least one sitting, got none." in said


def test_a_recording_that_was_cut_off_is_used_as_far_as_it_goes(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sitting(study, "p02")
    path.write_bytes(path.read_bytes()[:-2000])

    assert main(["report", str(study)]) == 0
    assert "1 sitting not finished. See Recordings." in capsys.readouterr().out


def test_a_sitting_that_was_cut_off_and_continued_counts_each_task_once(
    study: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sitting(study, "p02")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    sit_on_disk(study, hesitant, 1)

    assert main(["report", str(study), "--csv", str(tmp_path / "measures.csv")]) == 0
    assert capsys.readouterr().out.startswith("2 people, 1 variant, 3 tasks: 6 attempts.\nTask")
    rows = (tmp_path / "measures.csv").read_text(encoding="utf-8").splitlines()
    assert len({tuple(row.split(",")[:4]) for row in rows[1:]}) == 6


@pytest.mark.parametrize("damage", ["newer", "garbage", "empty", "folder"])
def test_a_recording_that_cannot_be_read_is_left_out_and_counted(
    damage: str, study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sitting(study, "p02")
    match damage:
        case "newer":
            first, *rest = path.read_text(encoding="utf-8").splitlines(keepends=True)
            path.write_text("".join([json.dumps(json.loads(first) | {"format": 99}) + "\n", *rest]), encoding="utf-8")
        case "garbage":
            path.write_bytes(bytes(range(256)) * 10 + b"\n")
        case "empty":
            path.write_bytes(b"")
        case _:
            path.unlink()
            path.mkdir()

    assert main(["report", str(study)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("1 person, 1 variant, 3 tasks: 3 attempts.\n1 recording excluded:")


def test_recordings_of_another_version_alone_are_refused(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    design = study.parent / "hidden.toml"
    design.write_text(design.read_text(encoding="utf-8").replace('"Key clicks"', '"Clicks"'), encoding="utf-8")

    assert main(["report", str(study)]) == 1
    said = capsys.readouterr().err
    assert "expected a sitting with a finished task of this study, got none:" in said
    assert "p01.jsonl: recorded with another version of the design" in said


@pytest.mark.parametrize(
    ("missing", "options", "extra"),
    [("scipy", (), "review"), ("matplotlib", ("--html", "r.html"), "report")],
)
def test_a_missing_library_is_named(
    missing: str,
    options: tuple[str, ...],
    extra: str,
    whole: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == missing else object())

    assert main(["report", str(whole), *options]) == 1
    said = f"{missing} is not installed, and the report needs it. Install knobmenu[{extra}]."
    assert said in capsys.readouterr().err
