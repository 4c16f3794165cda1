"""What the demos and their README say that one can try, can be tried."""

import re

import pytest

from knobmenu.cli.main import main
from tests.demos.playing import DEMOS, demo, every_entry

SOURCES = [DEMOS / "README.md", *sorted(DEMOS.glob("*.toml"))]
TRIES = [
    (path, trace)
    for source in SOURCES
    for path, trace in re.findall(r'knobmenu play demos/(\S+) "([^"]+)"', source.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize(("path", "trace"), TRIES)
def test_its_walks_can_be_walked(path: str, trace: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["play", str(DEMOS / path), trace]) == 0

    assert capsys.readouterr().out.count("┌") > len(trace.split()) / 3, "a screen for each event"


def test_the_readme_tells_of_every_demo() -> None:
    readme = (DEMOS / "README.md").read_text(encoding="utf-8")
    links = {name for name in re.findall(r"\]\(([^)]+)\)", readme) if not name.startswith("..")}

    assert links - {"chains/README.md", "study/study.toml"} == {
        path.name for path in DEMOS.iterdir() if path.suffix in (".toml", ".py")
    }
    assert {"chains/README.md", "study/study.toml"} <= links


def test_the_deep_menu_is_deep() -> None:
    assert len(every_entry(demo("instrument"))) > 100
