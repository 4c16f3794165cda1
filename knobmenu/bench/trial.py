"""A chain on trial: its history, the selected parameter, and the answers about it.

All of it is frozen: each action is a function from one trial to the next.
"""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.excerpt import Slip, choose_view, find_slips
from knobmenu.bench.judging import Answer
from knobmenu.bench.parameters import Parameter, list_parameters, turn_parameter
from knobmenu.bench.plan import Plan
from knobmenu.bench.presses import PressVerdict
from knobmenu.bench.run import Run
from knobmenu.bench.scope import View
from knobmenu.bench.verdict import Row, Verdict, list_speeds

MOST = 1000
"""Most chains that are kept to go back to. [chains]"""

_ZOOM = 2.0
_PAN = 0.25
_SHORTEST_S = 1e-5
"""The shortest stretch that is looked at. [s]"""


@attrs.frozen(eq=False)
class Found:
    """The answers found so far."""

    run: Run | None = None
    """A run of `chain`."""
    chain: Chain | None = None
    """The chain that `run` is of."""
    slips: tuple[Slip, ...] = ()
    """The errors of `run`."""
    view: View | None = None
    """The part of `run` with its first error; its first detents where it has none."""
    rows: tuple[Row, ...] = ()
    """The table, from slow to fast."""
    fresh: int = 0
    """So many rows belong to the chain as it is."""
    verdict: Verdict | None = None
    """The last whole verdict; of the chain as it is where its chain is that one."""
    plan: Plan | None = None
    """What helps, likewise."""
    presses: PressVerdict | None = None
    """The last verdict on presses, likewise."""
    fault: str = ""
    """Why it cannot be judged."""


@attrs.frozen(eq=False)
class Trial:
    """A chain on the bench."""

    name: str
    """What it is called."""
    chains: tuple[Chain, ...]
    """Every chain that it was."""
    place: int = 0
    """Which of them it is now."""
    kept: Chain | None = None
    """As it was last saved; None: not since the beginning."""
    chosen: str = ""
    """The path of the knob that is chosen; the first one, where that does nothing."""
    seed: int = 1
    """Of the run that is shown."""
    view: View | None = None
    """What part of the run is looked at; None: the one with its first error."""
    found: Found = attrs.field(factory=Found)
    """What was found out."""
    message: tuple[str, str] = ("", "dim")
    """The last message, and its ink."""

    @property
    def chain(self) -> Chain:
        """The present chain."""
        return self.chains[self.place]

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Its knobs."""
        return list_parameters(self.chain)

    @property
    def number(self) -> int:
        """The index of the chosen knob."""
        paths = [parameter.path for parameter in self.parameters]
        return paths.index(self.chosen) if self.chosen in paths else 0

    @property
    def changed(self) -> frozenset[str]:
        """The paths of the knobs that differ from when the chain was last saved, or from the start."""
        before = self.kept or self.chains[0]
        return frozenset(one.path for one in self.parameters if one.read(self.chain) != one.read(before))

    @property
    def is_judged(self) -> bool:
        """Whether all answers about the present chain are there."""
        presses, verdict = self.found.presses, self.found.verdict
        return (
            presses is not None and presses.chain is self.chain and verdict is not None and verdict.chain is self.chain
        )

    @property
    def seen(self) -> View | None:
        """The part of the run that is shown; None before anything has run."""
        return self.view or self.found.view


def choose(trial: Trial, number: int) -> Trial:
    """Choose a knob by its number; beyond the ends, the nearest one."""
    known = trial.parameters
    return attrs.evolve(trial, chosen=known[min(max(number, 0), len(known) - 1)].path, message=("", "dim"))


def turn(trial: Trial, steps: int) -> Trial:
    """Turn the chosen knob."""
    parameter = trial.parameters[trial.number]
    after = turn_parameter(trial.chain, parameter, steps)
    if after.refused:
        return attrs.evolve(trial, message=(after.remark, "caution"))
    kept = (*trial.chains[: trial.place + 1], after.chain)
    if len(kept) > MOST:
        # The first stays, since changes are found by comparing with it.
        kept = (kept[0], *kept[2:])
    remark = f"{parameter.label}: {parameter.describe(after.chain)}" + (f"; {after.remark}" if after.remark else "")
    chosen = attrs.evolve(trial, chains=kept, place=len(kept) - 1, chosen=parameter.path, message=(remark, "text"))
    return _outdate(chosen)


def go(trial: Trial, steps: int) -> Trial:
    """Go back or forward in the history of the chain."""
    place = min(max(trial.place + steps, 0), len(trial.chains) - 1)
    if place == trial.place:
        return attrs.evolve(trial, message=(f"nothing to {'undo' if steps < 0 else 'redo'}", "dim"))
    return _outdate(attrs.evolve(trial, place=place, message=(f"change {place} of {len(trial.chains) - 1}", "dim")))


def rerun(trial: Trial) -> Trial:
    """Start another random run."""
    return attrs.evolve(trial, seed=trial.seed + 1, message=("", "dim"))


def apply_remedy(trial: Trial) -> Trial:
    """Apply the first remedy of the plan."""
    found = trial.found.plan
    if found is None or found.chain is not trial.chain:
        return attrs.evolve(trial, message=("the plan is not ready yet", "caution"))
    if not found.proposals:
        return attrs.evolve(trial, message=("there is no remedy to apply", "dim"))
    first = found.proposals[0]
    return replace(trial, first.chain, f"applied: {first.remedies[0].words}")


def replace(trial: Trial, chain: Chain, words: str) -> Trial:
    """Replace the present chain by another, as a change that can be undone.

    Args:
        trial: What is on the bench.
        chain: The other chain.
        words: The message.
    """
    kept = (*trial.chains[: trial.place + 1], chain)
    return _outdate(attrs.evolve(trial, chains=kept, place=len(kept) - 1, message=(words, "text")))


def _outdate(trial: Trial) -> Trial:
    return attrs.evolve(trial, found=attrs.evolve(trial.found, fresh=0, fault=""))


def learn(trial: Trial, answer: Answer) -> Trial:
    """Add one answer about the present chain."""
    found = trial.found
    if isinstance(answer, Run):
        slips = find_slips(answer)
        shown = attrs.evolve(found, run=answer, chain=trial.chain, slips=slips, view=choose_view(answer, slips))
        return attrs.evolve(trial, found=shown)
    if isinstance(answer, Verdict):
        return attrs.evolve(trial, found=attrs.evolve(found, rows=answer.rows, fresh=len(answer.rows), verdict=answer))
    if isinstance(answer, Plan):
        return attrs.evolve(trial, found=attrs.evolve(found, plan=answer))
    if isinstance(answer, PressVerdict):
        return attrs.evolve(trial, found=attrs.evolve(found, presses=answer))
    tried = {row.turns_per_s: row for row in found.rows if row.turns_per_s in list_speeds(trial.chain)}
    tried[answer.turns_per_s] = answer
    rows = tuple(tried[speed] for speed in sorted(tried))
    return attrs.evolve(trial, found=attrs.evolve(found, rows=rows, fresh=rows.index(answer) + 1))


def zoom(trial: Trial, closer: bool) -> Trial:
    """Zoom in to the middle of what is shown, or out."""
    view, run = trial.seen, trial.found.run
    if view is None or run is None:
        return trial
    length = view.length_s / _ZOOM if closer else view.length_s * _ZOOM
    length = min(max(length, _SHORTEST_S), run.motion.end_s)
    return _look_at(trial, View(view.begin_s + (view.length_s - length) / 2, length))


def pan(trial: Trial, later: bool) -> Trial:
    """Scroll to what comes after what is shown, or before."""
    view = trial.seen
    if view is None:
        return trial
    moved = view.length_s * (_PAN if later else -_PAN)
    return _look_at(trial, View(view.begin_s + moved, view.length_s))


def _look_at(trial: Trial, view: View) -> Trial:
    """Show a part of the run, within its ends."""
    end_s = 0.0 if trial.found.run is None else trial.found.run.motion.end_s
    begin_s = max(min(view.begin_s, end_s - view.length_s), 0.0)
    return attrs.evolve(trial, view=View(begin_s, view.length_s))
