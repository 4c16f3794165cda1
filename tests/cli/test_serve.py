"""`serve` refuses what it cannot serve, before it opens a port."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from knobmenu.web.server import ReviewServer

RADIO = str(Path(__file__).parents[2] / "demos" / "radio.toml")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        *[
            (["--host", host], f"expected one address, got {host!r}")
            for host in (
                "",
                "0.0.0.0",
                "::",
                "0:0::0",
                "*",
                "127.1",
                "224.0.0.1",
                "fe80::1%lo",
                "a b",
                "a/b",
                "a.example:80",
            )
        ],
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
    format_complaint = capsys.readouterr().err
    assert str(port) in format_complaint
    assert format_complaint.count("\n") == 1
    assert "Traceback" not in format_complaint


@pytest.mark.parametrize(
    ("host", "message"),
    [
        (
            "no-such-name.invalid",
            "--host: expected an address of this machine, got no-such-name.invalid, which is not known",
        ),
        ("192.0.2.7", "--host: expected an address of this machine, got 192.0.2.7"),
    ],
)
def test_a_host_that_is_not_of_this_machine_is_reported_after_the_warning(
    host: str, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """IETF, RFC 6761, 6.4: no name below `invalid` exists. RFC 5737: 192.0.2.0/24 is for documentation."""
    assert main(["serve", RADIO, "--host", host, "--recordings", str(tmp_path)]) == 1
    warning, format_complaint = capsys.readouterr().err.splitlines()
    assert warning.startswith(f"Serving at {host}, not to this machine only, and not encrypted")
    assert message in format_complaint


@pytest.mark.parametrize(
    ("host", "authority"),
    [
        ("127.0.0.2", "127.0.0.2:8000"),
        ("0:0::1", "[::1]:8000"),
        ("LocalHost", "localhost:8000"),
    ],
)
def test_an_address_of_this_machine_only_is_served_without_a_warning_as_browsers_write_it(
    host: str,
    authority: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def serve(server: ReviewServer, *_: object) -> int:
        assert server.site.authority == authority
        return 0

    monkeypatch.setattr("knobmenu.web.server.serve", serve)
    assert main(["serve", RADIO, "--host", host, "--recordings", str(tmp_path)]) == 0
    assert capsys.readouterr().err == ""


def test_what_is_not_a_design_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", str(tmp_path / "nothing.toml")]) == 1
    assert "nothing.toml" in capsys.readouterr().err
