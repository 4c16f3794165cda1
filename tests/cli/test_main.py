"""The command line, used as a person uses it."""

import json
import subprocess
import sys
from keyword import iskeyword
from pathlib import Path

import pytest

from docs import command_line
from knobmenu.cli.main import COMMANDS, build_parser, main
from knobmenu.files import write_starter

RADIO = """\
format = 1
name = "Radio"
home = { turn = "volume", press = "main" }
[settings.volume]
kind = "number"
label = "Volume"
low = 0
high = 30
initial = 10
[menus.main]
label = "Menu"
entries = ["volume", "back"]
"""


@pytest.fixture
def radio(tmp_path: Path) -> str:
    path = tmp_path / "radio.toml"
    path.write_text(RADIO, encoding="utf-8")
    return str(path)


def knobmenu(*words: str, told: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "knobmenu", *words], input=told, capture_output=True, text=True, check=False, timeout=60
    )


def test_play_prints_what_happened_what_is_to_be_done_and_what_is_shown(
    radio: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["play", radio, "3 press"]) == 0

    assert capsys.readouterr().out == (
        "       0 ms  power-on\n"
        "             ┌────────────────┐\n"
        "             │Radio           │\n"
        "             │Volume        10│\n"
        "             └────────────────┘\n"
        "     100 ms  turn +3\n"
        "             volume is 13\n"
        "             volume kept at 13\n"
        "             ┌────────────────┐\n"
        "             │Radio           │\n"
        "             │Volume        13│\n"
        "             └────────────────┘\n"
        "     200 ms  press\n"
        "             screen browsing main\n"
        "             ┌────────────────┐\n"
        "             │>Volume       13│\n"
        "             │ Back           │\n"
        "             └────────────────┘\n"
    )


def test_play_prints_a_json_object_a_line(radio: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["play", radio, "3", "--json"]) == 0

    power_on, turned = map(json.loads, capsys.readouterr().out.splitlines())
    assert power_on["event"] is None
    assert turned["event"] == {"event": "turn", "detents": 3, "times": 1}
    assert turned["effects"][0] == {"effect": "changed", "key": "volume", "value": 13}
    assert turned["screen"][1] == "Volume        13"


def test_a_trace_comes_from_a_file_or_from_standard_input_too(radio: str, tmp_path: Path) -> None:
    (tmp_path / "walk.trace").write_text("3 # up\n", encoding="utf-8")

    from_file = knobmenu("play", radio, "--file", str(tmp_path / "walk.trace"))
    from_input = knobmenu("play", radio, "-", told="3")

    assert from_file.returncode == from_input.returncode == 0
    assert from_file.stdout == from_input.stdout == knobmenu("play", radio, "3").stdout


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("play", "RADIO", "3 pres"), "trace, line 1, column 3: expected a whole number of detents"),
        (("play", "RADIO"), "expected one of TRACE and --file, got neither TRACE nor --file"),
        (("play", "RADIO", "3", "--file", "x"), "expected one of TRACE and --file, got both TRACE and --file"),
        (("play", "RADIO", "--file", "no.trace"), "no.trace: expected the name of a trace, got no file of this name"),
        (("play", "RADIO", "report heat 3"), 'unknown readout "heat"'),
        (("play", "no-such.toml", "3"), "no-such.toml"),
        (("new", "RADIO"), "radio.toml"),
    ],
)
def test_wrong_input_is_said_on_standard_error_without_a_traceback(
    radio: str, words: tuple[str, ...], message: str
) -> None:
    done = knobmenu(*(radio if word == "RADIO" else word for word in words))

    assert done.returncode == 1
    assert message in done.stderr
    assert "Traceback" not in done.stderr


def test_new_writes_a_design_that_plays_and_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"

    assert knobmenu("new", str(path)).returncode == 0
    before = path.read_bytes()
    assert knobmenu("play", str(path), "1 press 1 press").returncode == 0
    assert knobmenu("new", str(path)).returncode == 1
    assert path.read_bytes() == before


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_has_help_with_an_example(command: str) -> None:
    done = knobmenu(command, "--help")

    assert done.returncode == 0
    assert f"knobmenu {command}" in done.stdout.split("example", 1)[1]


@pytest.mark.parametrize("words", [("--nonsense",), ("nonsense",), ()])
def test_a_wrong_command_line_ends_with_2(words: tuple[str, ...]) -> None:
    assert knobmenu(*words).returncode == 2


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_completion_knows_the_commands(shell: str) -> None:
    done = knobmenu("--completion", shell)

    assert done.returncode == 0
    assert all(command in done.stdout for command in COMMANDS)


def test_a_reader_that_leaves_is_no_traceback(radio: str) -> None:
    long_trace = "1 -1 " * 3000
    with subprocess.Popen(
        [sys.executable, "-m", "knobmenu", "play", radio, "-"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as player:
        assert player.stdin is not None
        assert player.stdout is not None
        assert player.stderr is not None
        player.stdin.write(long_trace)
        player.stdin.close()
        player.stdout.readline()
        player.stdout.close()
        assert player.stderr.read() == ""


def test_help_imports_nothing_heavier_than_attrs() -> None:
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "knobmenu", "--help"], capture_output=True, text=True, check=True
    )
    imported = {line.rsplit("|", 1)[1].strip().split(".")[0] for line in done.stderr.splitlines() if "|" in line}

    assert imported.isdisjoint({"numpy", "textual", "rich", "watchfiles", "shtab", "pytest"})


def test_a_command_loads_no_other_command() -> None:
    code = (
        "import sys\n"
        "from knobmenu.cli.main import main\n"
        "try: main(['play', '--help'])\n"
        "except SystemExit: print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stderr.split())

    assert loaded & {f"knobmenu.cli.{f'{name}_' if iskeyword(name) else name}" for name in COMMANDS} == {
        "knobmenu.cli.play"
    }


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_has_the_same_help_in_a_parser_of_its_own(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    helps = []
    for one in (build_parser(), build_parser((name,))):
        with pytest.raises(SystemExit):
            one.parse_args([name, "--help"])
        helps.append(capsys.readouterr().out)

    assert helps[0] == helps[1]
    assert f"knobmenu {name}" in helps[0]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["chek", "lamp.toml"], 'error: expected a command, got "chek". Did you mean "check"?'),
        (["lamp.toml"], 'error: expected a command, got "lamp.toml". To try a design: knobmenu try lamp.toml.'),
        (["frob"], 'error: expected a command, got "frob". The commands are try, new, play, check, cost,'),
    ],
)
def test_a_word_that_is_not_a_command_leads_to_one(
    working_folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    (working_folder / "lamp.toml").touch()
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    assert message in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["replay", "lamp.toml"], "lamp.toml: expected a recording of a session, got a design. Give it to"),
        (["watch", "lamp.toml", "--once"], "lamp.toml: expected a recording of a session, got a design. Give it to"),
        (["watch", "chain.toml", "--once"], "expected a recording of a session, got a signal chain. Give it to"),
        (["replay", "walk.trace"], "walk.trace:1: expected the header of a recording, got"),
        (
            ["try", "--plain", "--resume", "lamp.toml"],
            "got a design. Give it to knobmenu try, play, check, cost or export. Name the design before --resume.",
        ),
        (["play", "lamp.toml", "--file", "chain.toml"], "chain.toml: expected a trace, got a signal chain. Give it to"),
        (["play", "lamp.toml", "--file", "walk.trace"], "walk.trace: trace, line 1, column 1: expected a whole number"),
        (["bench", "capture", "chain.toml"], "chain.toml: expected a capture, got a signal chain. Give it to"),
        (["bench", "capture", "session.jsonl"], "session.jsonl: expected a capture, got a recording of a session."),
        (["bench", "./lamp.toml"], "./lamp.toml:1: expected a signal chain, got a design. Give it to"),
        (
            ["cost", "lamp.toml", "--profile", "session.jsonl"],
            "session.jsonl: expected a use profile, got a recording of a session. Give it to",
        ),
        (["cost", "lamp.toml", "--operators", "session.jsonl"], "expected a file of operators, got a recording of a"),
        (["check", "operators.toml"], "got a file of operators. Give it to knobmenu cost with --operators."),
        (
            ["study", "session.jsonl", "--list"],
            "session.jsonl: expected a study, got a recording of a session. Give it to",
        ),
        (["check", "session.jsonl"], "session.jsonl: expected a design, got a recording of a session. Give it to"),
        (
            ["cost", "lamp.toml", "--profile", "lamp.toml"],
            "lamp.toml: expected a use profile, got a design. Give it to",
        ),
        (["cost", "lamp.toml", "--operators", "lamp.toml"], "lamp.toml: expected a file of operators, got a design."),
        (
            ["serve", "lamp.toml", "--recordings", "lamp.toml"],
            "lamp.toml: expected a folder, or the name of a new one,",
        ),
    ],
)
def test_a_file_of_another_kind_leads_to_the_command_that_takes_it(
    working_folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    write_starter("lamp.toml")
    (working_folder / "session.jsonl").write_text('{"kind":"header","format":1,"designs":[]}\n', encoding="utf-8")
    (working_folder / "chain.toml").write_text("[reader]\nperiod_ms = 2\n", encoding="utf-8")
    (working_folder / "operators.toml").write_text("format = 1\n[operators]\n", encoding="utf-8")
    (working_folder / "walk.trace").write_text("wibble\n", encoding="utf-8")
    assert main(words) == 1
    (line,) = capsys.readouterr().err.splitlines()
    assert message in line


@pytest.mark.parametrize("words", command_line.commands())
def test_every_command_begins_its_help_with_what_it_does(words: str) -> None:
    description = command_line.commands()[words].description or ""

    assert description[:1].isupper()
    assert description.endswith(".")


def test_the_reference_of_the_command_line_hides_what_help_hides() -> None:
    drawn = command_line.reference()

    assert "SUPPRESS" not in drawn
    assert "--served" not in drawn
    assert "| `--pins A B` |" in drawn
    assert "| `--resume [FILE]` |" in drawn
