"""The bench's screen: keys and mouse turn the knobs of a chain, and a task beside them finds out what that does."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import attrs
from textual import events

from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import load, write_toml
from knobmenu.bench.errors import BenchError
from knobmenu.bench.judging import Stale, judge_chain, simulate
from knobmenu.bench.simulated import NamedChain
from knobmenu.bench.trial import Trial, apply_remedy, choose, go, learn, pan, replace, rerun, turn, zoom
from knobmenu.files import prompted
from knobmenu.files.kept import KeptText
from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Pictures
from knobmenu.picture.svg import draw_svg
from knobmenu.terminal.backend.canvas import CanvasScreen
from knobmenu.terminal.backend.workers import describe_failure
from knobmenu.terminal.bench.help import make_bench_help
from knobmenu.terminal.bench.keys import BENCH_BY_KEY, BENCH_KEYS
from knobmenu.terminal.bench.showing import draw_bench
from knobmenu.terminal.bench.views import find_line
from knobmenu.terminal.input.keymap import Key
from knobmenu.terminal.prompts.help import Help
from knobmenu.terminal.prompts.prompt import ask_where_to_save

MUCH = 5
"""Steps of a large turn."""

DOING_S = 0.25
"""The interval at which the title is updated with the present trial. [s]"""


def keep_chain(chain: Chain, files: Sequence[str]) -> KeptText:
    """Prepare to keep a chain as it changes until it is saved.

    Args:
        chain: As it was opened.
        files: What it is kept for: its own file or the design's, in full; empty for what is built in.
    """
    return KeptText("chains", files, ".toml", write_toml(chain))


class BenchResult(NamedTuple):
    """The result of the bench when it closes."""

    named: NamedChain
    """The chain as it is now."""
    changed: bool
    """Whether it differs from the opened one."""
    palette: Palette
    """The look."""


class BenchScreen(CanvasScreen[BenchResult]):
    """A chain whose knobs are turned."""

    KEYS: tuple[Key, ...] = BENCH_KEYS
    """The keys, whose commands can be searched."""

    def __init__(self, named: NamedChain, palette: Palette, kept: KeptText | None = None) -> None:
        """Lay a chain on the bench.

        Args:
            named: The chain.
            palette: The look to begin with.
            kept: Keeps the chain as it changes. None: nothing does.
        """
        super().__init__(palette)
        self.trial = Trial(named.name, (named.chain,), message=("turn a knob of the chain; ? shows the keys", "dim"))
        self.kept = kept
        self._doing = ""
        self._asked: object = None
        self._news = asyncio.Event()

    def on_mount(self) -> None:
        """Begin to judge."""
        self.run_worker(self._judge(), group="judge", exit_on_error=False)
        self.set_interval(DOING_S, self.changed)
        self._ask()
        if self.kept is not None and (earlier := self.kept.find_earlier()) is not None:
            self.say(f"g loads the chain of {earlier.moment}, which was not saved", "caution")

    def on_unmount(self) -> None:
        """Cancel the computation that is running."""
        self._asked = None

    # Showing.

    def on_resize(self) -> None:
        """Lay everything out again."""
        self.paint()

    def pictures(self) -> Pictures:
        """Draw everything that is shown."""
        return draw_bench(self.trial, self._doing, *self.size)

    def say(self, text: str, ink: str = "dim") -> None:
        """Show a message in the header until another replaces it."""
        self.trial = attrs.evolve(self.trial, message=(text, ink))
        self.changed()

    # Finding out.

    def take(self, trial: Trial) -> None:
        """Go on with a trial; what it does is found out anew where it is another chain, or another draw."""
        before, self.trial = self.trial, trial
        is_changed = trial.chain is not before.chain
        if is_changed and self.kept is not None and (reason := self.kept.take(write_toml(trial.chain))):
            self.say(f"not kept: {reason}; {self.trial.message[0]}", "caution")
        if is_changed or trial.seed != before.seed:
            self._ask()
        self.changed()

    def _ask(self) -> None:
        self._asked = object()
        self._news.set()

    async def _judge(self) -> None:
        """Compute the results for the newest chain one after the other, in a thread; outdated ones are dropped."""
        while True:
            await self._news.wait()
            self._news.clear()
            asked = self._asked
            trial = self.trial
            try:
                if trial.is_judged:
                    steps = simulate(trial.chain, trial.seed)
                else:
                    steps = judge_chain(trial.chain, trial.seed, self._make_reporter(asked))
                while (step := await asyncio.to_thread(next, steps, None)) is not None and self._asked is asked:
                    self.trial = learn(self.trial, step)
                    self.changed()
            except Stale:
                continue
            except BenchError as error:
                self._tell_fault(asked, str(error))
            except Exception as error:
                # Whatever it is, it is reported, and the next chain is judged.
                self._tell_fault(asked, describe_failure(error))
            if self._asked is asked:
                self._doing = ""
                self.changed()

    def _tell_fault(self, asked: object, fault: str) -> None:
        # The fault of a chain that was changed since is not one of the chain that is there now.
        if self._asked is asked:
            self.trial = attrs.evolve(self.trial, found=attrs.evolve(self.trial.found, fault=fault))

    def _make_reporter(self, asked: object) -> Callable[[str], None]:
        def report(words: str) -> None:
            if self._asked is not asked:
                raise Stale
            self._doing = words

        return report

    # Keys and mouse.

    def on_key(self, event: events.Key) -> None:
        """Run a key's command."""
        key = BENCH_BY_KEY.get(event.key) or BENCH_BY_KEY.get((event.character or "").lower())
        if key is not None:
            event.stop()
            event.prevent_default()
            self.run(key.does)

    def run(self, does: str) -> None:
        """Run a command by its name."""
        _DOES[does](self)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Turn the chosen knob up."""
        event.stop()
        self.take(turn(self.trial, 1))

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Turn the chosen knob down."""
        event.stop()
        self.take(turn(self.trial, -1))

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Choose the knob under the mouse."""
        place = event.screen_offset
        found = self._canvas.box_at(place.x, place.y)
        if found is not None and found[0] == "knobs":
            box = found[1]
            number = find_line(self.trial.parameters, self.trial.number, box.rows, place.y - box.y)
            if number is not None:
                self.take(choose(self.trial, number))

    # Files and the app.

    def save_chain(self) -> None:
        """Save the chain as a file."""
        chain = self.trial.chain

        def keep(name: str) -> str:
            refusal = prompted.keep(name, lambda _: write_toml(chain))
            if not refusal:
                self.trial = attrs.evolve(self.trial, name=Path(name.strip()).name, kept=chain)
                if self.kept is not None:
                    self.kept.save(write_toml(chain))
            return refusal

        ask_where_to_save(self, "chain", self._stem, ".toml", keep)

    def resume(self) -> None:
        """Load the earlier, unsaved chain as a change of the present one."""
        earlier = None if self.kept is None else self.kept.find_earlier()
        if earlier is None:
            self.say("every earlier chain is saved")
            return
        try:
            chain = load(earlier.path)
        except BenchError as error:
            self.say(f"cannot be read: {error.problems[0]}", "wrong")
            return
        self.take(replace(self.trial, chain, f"the chain of {earlier.moment}; , undoes it"))
        earlier.delete()

    def save_picture(self) -> None:
        """Save a picture of the screen."""
        drawn = draw_svg(self.palette, self._canvas.pictures, *self.size, self.trial.name)
        ask_where_to_save(self, "picture", self._stem, ".svg", lambda name: prompted.keep_picture(name, drawn))

    @property
    def _stem(self) -> str:
        return Path(self.trial.name).stem.replace(" ", "-") or "chain"

    def leave(self) -> None:
        """Leave the bench, with the chain as it is now."""
        trial = self.trial
        changed = trial.chain != trial.chains[0]
        self.dismiss(BenchResult(NamedChain(trial.chain, trial.name), changed, self.palette))


_DOES: dict[str, Callable[[BenchScreen], object]] = {
    "choose_before": lambda bench: bench.take(choose(bench.trial, bench.trial.number - 1)),
    "choose_after": lambda bench: bench.take(choose(bench.trial, bench.trial.number + 1)),
    "more": lambda bench: bench.take(turn(bench.trial, 1)),
    "less": lambda bench: bench.take(turn(bench.trial, -1)),
    "much_more": lambda bench: bench.take(turn(bench.trial, MUCH)),
    "much_less": lambda bench: bench.take(turn(bench.trial, -MUCH)),
    "apply_remedy": lambda bench: bench.take(apply_remedy(bench.trial)),
    "back": lambda bench: bench.take(go(bench.trial, -1)),
    "on": lambda bench: bench.take(go(bench.trial, 1)),
    "closer": lambda bench: bench.take(zoom(bench.trial, closer=True)),
    "wider": lambda bench: bench.take(zoom(bench.trial, closer=False)),
    "earlier": lambda bench: bench.take(pan(bench.trial, later=False)),
    "later": lambda bench: bench.take(pan(bench.trial, later=True)),
    "first": lambda bench: bench.take(attrs.evolve(bench.trial, view=None)),
    "draw": lambda bench: bench.take(rerun(bench.trial)),
    "save_chain": BenchScreen.save_chain,
    "resume": BenchScreen.resume,
    "picture": BenchScreen.save_picture,
    "look": BenchScreen.next_look,
    "commands": lambda bench: bench.app.action_command_palette(),
    "help": lambda bench: bench.app.push_screen(Help(make_bench_help())),
    "leave": lambda bench: bench.leave(),
}
"""The actions that `knobmenu.terminal.input.keymap.Key.does` names on the bench."""
