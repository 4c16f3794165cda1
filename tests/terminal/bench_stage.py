"""The bench without a terminal library: a chain with everything that is found out about it, as pictures."""

from __future__ import annotations

from knobmenu.bench.chain import Chain
from knobmenu.bench.judging import judge_chain
from knobmenu.bench.trial import Trial, choose, learn, turn
from knobmenu.picture.palettes import DARK, Palette
from knobmenu.picture.runs import Pictures
from knobmenu.picture.svg import draw_svg
from knobmenu.terminal.bench.showing import draw_bench
from tests.terminal.stage import text_on_screen


class BenchStage:
    """A chain on the bench."""

    def __init__(self, name: str, chain: Chain) -> None:
        """Lay it there."""
        self.trial = Trial(name, (chain,))
        self.judge()

    def judge(self) -> BenchStage:
        """Find out everything about the chain as it is."""
        for step in judge_chain(self.trial.chain, self.trial.seed, lambda _: None):
            self.trial = learn(self.trial, step)
        return self

    def turn(self, path: str, steps: int) -> BenchStage:
        """Choose a knob by its path, and turn it."""
        paths = [parameter.path for parameter in self.trial.parameters]
        self.trial = turn(choose(self.trial, paths.index(path)), steps)
        return self

    def pictures(self, columns: int, rows: int, palette: Palette = DARK) -> Pictures:
        """Draw what is seen now; the same in every look."""
        assert palette
        return draw_bench(self.trial, "", columns, rows)

    def svg(self, columns: int, rows: int, palette: Palette = DARK) -> str:
        """Draw what is seen now as SVG."""
        return draw_svg(palette, self.pictures(columns, rows), columns, rows, f"the bench, {self.trial.name}")

    def text(self, columns: int, rows: int) -> str:
        """Write what is seen now as lines of text."""
        return text_on_screen(self.pictures(columns, rows), columns, rows)
