"""`serve` refuses what it cannot serve, before it opens a port."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from knobmenu.cli.main import main

RADIO = str(Path(__file__).parents[2] / "demos" / "radio.toml")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--host", "0.0.0.0"], "expected one address, got '0.0.0.0'"),
        (["--port", "0"], "expected a whole number from 1 to 65535, got '0'"),
        (["--port", "99999999999999999999"], "expected a whole number from 1 to 65535"),
        (["--links", "many"], "expected a whole number from 1 to 100, got 'many'"),
    ],
)
def test_an_option_out_of_range_is_refused_with_the_range(
    words: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as refused:
        main(["serve", RADIO, *words])
    assert refused.value.code == 2
    assert message in capsys.readouterr().err


def test_a_port_that_is_in_use_is_reported_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert main(["serve", RADIO, "--port", str(port), "--recordings", str(tmp_path / "sessions")]) == 1
    complaint = capsys.readouterr().err
    assert str(port) in complaint
    assert complaint.count("\n") == 1
    assert "Traceback" not in complaint


def test_what_is_not_a_design_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", str(tmp_path / "nothing.toml")]) == 1
    assert "nothing.toml" in capsys.readouterr().err
