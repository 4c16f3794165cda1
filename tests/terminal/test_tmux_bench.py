"""The simulated encoder and the bench with real keys, in tmux and in a pty."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from knobmenu.bench.chain_file import load
from tests.terminal.pty_harness import KNOBMENU, Terminal, Tmux, environment

in_tmux = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed here; CI installs it")


@pytest.fixture
def chain_file(tmp_path: Path) -> Path:
    """A chain that is judged quickly, in a file."""
    path = tmp_path / "mine.toml"
    path.write_text(
        '[turning]\ndetents = 5\n[contact]\npreset = "clean"\n[reader]\nkind = "interrupt"\n[judging]\nseeds = 2\n',
        encoding="utf-8",
    )
    return path


@in_tmux
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (200, 50)])
def test_a_chain_is_turned_and_kept_in_tmux(chain_file: Path, columns: int, rows: int) -> None:
    kept = chain_file.with_name("kept.toml")
    with Tmux((*KNOBMENU, "bench", "live", str(chain_file)), columns, rows) as window:
        window.wait_for("→ motion")
        window.wait_for("yes: right up to")
        window.type("Down", "Right")
        window.wait_for("speed: 1.5 turns/s")
        window.type("s")
        window.wait_for("Save the chain as")
        window.type("C-u", str(kept), "Enter")
        window.wait_for("is written")
        window.type("q")
        window.wait_for(lambda text: "the chain" not in text)
    assert load(kept).turning.turns_per_s == 1.5


@in_tmux
def test_the_simulated_encoder_and_its_bench_in_tmux(chain_file: Path) -> None:
    with Tmux((*KNOBMENU, "try", "--chain", str(chain_file)), 80, 24) as window:
        window.wait_for("turned 0, counted 0")
        window.type("Right", "Right")
        window.wait_for("turned 2, counted 2")
        window.type("e")
        window.wait_for("read by")
        window.type("q")
        window.wait_for("turned 0, counted 0")
        window.type("k")
        window.wait_for("ideal encoder: every detent counts")


def test_the_bench_gives_the_terminal_back_while_it_is_still_judging() -> None:
    with Terminal((*KNOBMENU, "bench", "live"), 100, 30) as terminal:
        terminal.wait_for("→ motion")
        terminal.type("q")
        assert terminal.wait() == 0
        assert not any(terminal.left.values())


def test_the_bench_without_colour_sends_none(chain_file: Path) -> None:
    env = environment(NO_COLOR="1")
    with Terminal((*KNOBMENU, "bench", "live", str(chain_file)), 80, 24, env=env) as terminal:
        terminal.wait_for("yes: right up to")
        assert terminal.colour_codes == []
        terminal.type("q")
        assert terminal.wait() == 0
