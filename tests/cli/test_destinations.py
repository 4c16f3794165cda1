"""Every option that names a file to write, against whatever stands where the file should go.

A refusal is one line, the status is 1, inputs and what was there stay as they were, and no part of a file is left.
"""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from knobmenu.files import write_starter
from tests.demos.playing import DEMOS
from tests.disks import fill, mount_small_disk
from tests.privileges import without_privileges
from tests.review.participants import sit_on_disk
from tests.review.planted import write_study
from tests.review.readers import exact
from tests.sampling import WHOLE

pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs the files of a Unix")

WRITING: dict[str, tuple[str, ...]] = {
    "new": ("new", "{}.toml"),
    "cost-html": ("cost", "lamp.toml", "--html", "{}.html"),
    "cost-plot": ("cost", "lamp.toml", "--plot", "{}.svg"),
    "order-html": ("order", "lamp.toml", "--html", "{}.html"),
    "order": ("order", "lamp.toml", "-o", "{}.toml"),
    "compare-html": ("compare", "lamp.toml", "lamp.toml", "--html", "{}.html"),
    "export-spec": ("export", "lamp.toml", "--to", "spec", "-o", "{}.json"),
    "export-design": ("export", "lamp.toml", "--to", "design", "-o", "{}.toml"),
    "bench-plot": ("bench", "chain.toml", "--plot", "{}.svg"),
    "bench-vcd": ("bench", "chain.toml", "--vcd", "{}.vcd"),
    "bench-apply": ("bench", "poor.toml", "--apply", "1", "--output", "{}.toml"),
    "sweep-plot": (
        "bench",
        "sweep",
        "chain.toml",
        "reader.period_ms=1,2",
        "turning.turns_per_s=1,2",
        "--plot",
        "{}.svg",
    ),
    "capture-plot": ("bench", "capture", "knob.vcd", "--plot", "{}.svg"),
    "try-record": ("try", "lamp.toml", "--plain", "--record", "{}.jsonl"),
    "replay-asciicast": ("replay", "session.jsonl", "--to", "asciicast", "-o", "{}.cast"),
    "replay-svg": ("replay", "session.jsonl", "--to", "svg", "-o", "{}.svg"),
    "report-csv": ("report", "study.toml", "--csv", "{}.csv"),
    "report-html": ("report", "study.toml", "--html", "{}.html"),
    "report-markdown": ("report", "study.toml", "--markdown", "{}.md"),
}
"""Every option that names a file to write; {} is its name without the ending."""


def missing(name: str) -> str:
    """A folder that is not there"""
    return f"nowhere/{name}"


def too_long(name: str) -> str:
    """A name that no file can have"""
    stem, dot, ending = name.rpartition(".")
    return f"{stem}{'n' * 300}{dot}{ending}"


def existing(name: str) -> str:
    """A file that is there"""
    Path(name).write_text("kept")
    return name


def folder(name: str) -> str:
    """A folder of that name"""
    Path(name).mkdir()
    return name


def pipe(name: str) -> str:
    """A pipe that nobody reads"""
    os.mkfifo(name)
    return name


def dangling_link(name: str) -> str:
    """A link that leads nowhere"""
    Path(name).symlink_to("nothing")
    return name


def looping_link(name: str) -> str:
    """A link that leads to itself"""
    Path(name).symlink_to(name)
    return name


def full_disk(name: str) -> str:
    """A disk that has no room left"""
    return f"disk/{name}"


KINDS: tuple[Callable[[str], str], ...] = (
    missing, too_long, existing, folder, pipe, dangling_link, looping_link, full_disk,
)  # fmt: skip
PAIRS = [(option, kind) for option in WRITING for kind in KINDS]
SAMPLED = PAIRS if WHOLE else PAIRS[::3]
"""Three of the eight kinds for each option, and over the options each kind: eight is not a multiple of three."""


@pytest.fixture(scope="module")
def inputs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with every input."""
    made = tmp_path_factory.mktemp("inputs")
    write_starter(made / "lamp.toml")
    (made / "chain.toml").write_text("[judging]\nseeds = 6\n")
    poor = (DEMOS / "chains" / "waiting-loop.toml").read_text(encoding="utf-8")
    (made / "poor.toml").write_text(poor + "\n[judging]\nseeds = 6\n")
    shutil.copy(DEMOS / "captures" / "knob.vcd", made)
    study = write_study(made, "hidden")
    sit_on_disk(study, exact, 0)
    (recording,) = study.with_suffix(".sittings").glob("*.jsonl")
    shutil.copy(recording, made / "session.jsonl")
    return made


@pytest.fixture
def work(inputs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of it, which is the working folder."""
    place = tmp_path / "work"
    shutil.copytree(inputs, place)
    monkeypatch.chdir(place)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    (tmp_path / "typed").write_text("press\n")
    with open(tmp_path / "typed", encoding="utf-8") as typed:
        monkeypatch.setattr("sys.stdin", typed)
        yield place


@pytest.fixture
def disk(work: Path) -> Iterator[None]:
    """A disk in the working folder that is full."""
    with mount_small_disk(work / "disk", kib=64) as small:
        fill(small)
        yield


def words_for(option: str, name: str) -> list[str]:
    *before, last = WRITING[option]
    return [*before, name + last.removeprefix("{}")]


def state_of(place: Path) -> dict[str, object]:
    """Return everything that is in a folder: the content of files, where links lead, what else there is."""
    found: dict[str, object] = {}
    for path in sorted(place.rglob("*")):
        mode = path.lstat().st_mode
        if stat.S_ISREG(mode):
            found[str(path)] = path.read_bytes()
        else:
            found[str(path)] = os.readlink(path) if stat.S_ISLNK(mode) else stat.S_IFMT(mode)
    return found


def test_every_option_that_names_an_output_is_here() -> None:
    """Those of the parser that are called so; what else has a FILE is read."""
    from knobmenu.cli.main import build_parser

    outputs = ("--html", "--plot", "--vcd", "--record", "--csv", "--markdown", "--output")
    commands = build_parser()._commands.choices
    for name, one in commands.items():
        inner = one._commands.choices.values() if one._commands else (one,)
        for each in inner:
            for action in each._actions:
                for flag in set(action.option_strings) & set(outputs):
                    assert any(words[0] == name and flag in map(_in_full, words) for words in WRITING.values()), name


def _in_full(word: str) -> str:
    return "--output" if word == "-o" else word


@pytest.mark.usefixtures("disk")
@pytest.mark.parametrize(("option", "kind"), SAMPLED, ids=lambda part: getattr(part, "__name__", part))
def test_what_cannot_be_written_is_refused_in_a_line(
    work: Path, option: str, kind: Callable[[str], str], capfd: pytest.CaptureFixture[str]
) -> None:
    words = words_for(option, "result")
    words[-1] = kind(words[-1])
    before = state_of(work)

    status = main(words)

    err = capfd.readouterr().err.rstrip("\n")
    line = err.split("\n")[-1]
    assert status == 1, err
    assert line.isprintable()
    # The pictures of a report in Markdown are written before it, into a folder of the same name.
    named = [f"{words[-1]}: "]
    if option == "report-markdown":
        named.append(words[-1].removesuffix(".md") + ".pictures/")
    assert line.startswith(tuple(named))
    assert ": expected " in line
    assert ", got " in line
    assert state_of(work) == before


@pytest.mark.parametrize("option", [option for option, words in WRITING.items() if words[0] not in ("new", "try")])
def test_an_input_is_not_written_over_whether_asked_or_not(
    work: Path, option: str, capfd: pytest.CaptureFixture[str]
) -> None:
    """Under another name that leads to it, with the right ending."""
    words = words_for(option, "result")
    given = next(work / word for word in words[1:] if (work / word).is_file())
    os.link(given, words[-1])
    before = state_of(work)
    overwriting = [] if "--apply" in words else ["--overwrite"]

    for more in ([], overwriting):
        assert main([*words, *more]) == 1
        assert f"{words[-1]}: expected a file that is not an input of this command" in capfd.readouterr().err
    assert state_of(work) == before


def folder_is_a_file() -> str:
    """Put a file where the folder of the sittings should be; return what the refusal names."""
    shutil.rmtree("study.sittings")
    Path("study.sittings").write_text("kept")
    return "study.sittings"


def folder_is_a_dangling_link() -> str:
    shutil.rmtree("study.sittings")
    Path("study.sittings").symlink_to("nothing")
    return "study.sittings"


def sitting_is_a_folder() -> str:
    Path("study.sittings/p02.jsonl").mkdir()
    return "study.sittings/p02.jsonl"


def sitting_is_a_pipe() -> str:
    os.mkfifo("study.sittings/p02.jsonl")
    return "study.sittings/p02.jsonl"


def sitting_is_a_dangling_link() -> str:
    Path("study.sittings/p02.jsonl").symlink_to("nothing")
    return "study.sittings/p02.jsonl"


def sitting_is_a_looping_link() -> str:
    Path("study.sittings/p02.jsonl").symlink_to("p02.jsonl")
    return "study.sittings/p02.jsonl"


def sitting_is_something_else() -> str:
    Path("study.sittings/p02.jsonl").write_text("kept\n")
    return "study.sittings/p02.jsonl:1"


@pytest.mark.parametrize(
    "obstruct",
    [
        folder_is_a_file,
        folder_is_a_dangling_link,
        sitting_is_a_folder,
        sitting_is_a_pipe,
        sitting_is_a_dangling_link,
        sitting_is_a_looping_link,
        sitting_is_something_else,
    ],
)
def test_a_sitting_that_cannot_be_recorded_is_refused_in_a_line(
    work: Path, obstruct: Callable[[], str], capfd: pytest.CaptureFixture[str]
) -> None:
    named = obstruct()
    before = state_of(work)

    # Served ones need no terminal; the app would run if nothing were refused.
    assert main(["study", "study.toml", "--participant", "p02", "--served"]) == 1

    (line,) = capfd.readouterr().err.splitlines()
    assert line.startswith(f"{named}: ")
    assert ": expected " in line
    assert ", got " in line
    assert state_of(work) == before


@pytest.mark.parametrize("option", list(WRITING) if WHOLE else list(WRITING)[::4])
def test_a_folder_that_may_not_be_written_to_is_refused_in_a_line(work: Path, option: str) -> None:
    (work / "locked").mkdir(mode=0o500)
    before = state_of(work)
    command = without_privileges([sys.executable, "-m", "knobmenu", *words_for(option, "locked/result")])
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    done = subprocess.run(
        command, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False, timeout=60, env=environment
    )

    assert done.returncode == 1, done.stderr
    line = done.stderr.rstrip("\n").split("\n")[-1]
    assert line.startswith("locked/result")
    assert "permission denied" in line.lower()
    assert state_of(work) == before
