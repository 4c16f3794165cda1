"""The README tells the truth: its Python runs, and its commands are commands."""

import re
from pathlib import Path

import pytest

from knobmenu.cli.main import COMMANDS

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, flags=re.DOTALL)


@pytest.mark.parametrize("code", blocks("python"))
def test_its_python_runs(code: str, capsys: pytest.CaptureFixture[str]) -> None:
    exec(compile(code, "README.md", "exec"), {})

    assert "Lamp" in capsys.readouterr().out


def test_its_commands_exist() -> None:
    named = set(re.findall(r"\bknobmenu (\w+)", "\n".join(blocks("sh"))))

    assert named
    assert named <= set(COMMANDS)


def test_its_files_exist() -> None:
    links = re.findall(r"\]\(([^)#]+)\)", README)

    assert [link for link in links if not (Path(__file__).parent.parent / link).exists()] == []
