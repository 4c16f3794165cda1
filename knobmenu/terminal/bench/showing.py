"""Everything that the bench's screen shows, made from what is so: one function, no state."""

from __future__ import annotations

from knobmenu.bench.trial import Trial
from knobmenu.bench.waveforms import draw_waveform_rows
from knobmenu.picture.fitting import draw_pane
from knobmenu.picture.runs import Box, Drawing, Pictures, Run
from knobmenu.terminal.bench.keys import BENCH_KEYS
from knobmenu.terminal.bench.layout import LEAST, make_bench_plan
from knobmenu.terminal.bench.views import draw_about, draw_advice, draw_bench_header, draw_knob_list, draw_table
from knobmenu.terminal.drawing.frame import draw_needed_keys, draw_too_small


def draw_bench(trial: Trial, doing: str, columns: int, rows: int) -> Pictures:
    """Draw everything that has a place.

    Args:
        trial: What is tried.
        doing: What is being found out just now; nothing when all is done.
        columns: Width of the terminal. [terminal cells]
        rows: Height of it. [terminal cells]
    """
    plan = make_bench_plan(columns, rows)
    if plan is None:
        return draw_too_small(columns, rows, LEAST, "Make it larger, or leave with q and use knobmenu bench judge.")
    return {name: (box, _draw_picture(trial, doing, name, box)) for name, box in plan.items()}


def _draw_picture(trial: Trial, doing: str, name: str, box: Box) -> Drawing:
    found, chain = trial.found, trial.chain
    match name:
        case "head":
            return draw_bench_header(trial.name, bool(trial.changed), *trial.message, box.columns)
        case "knobs":
            return draw_knob_list(chain, trial.parameters, trial.number, trial.changed, box.columns, box.rows)
        case "waves":
            if found.run is None or found.chain is None or trial.seen is None:
                return draw_pane("waveforms", [(Run(found.fault, "wrong"),)], box.columns, box.rows)
            return draw_waveform_rows(found.run, found.slips, trial.seen, _run_words(trial), box.columns, box.rows)
        case "table":
            return draw_table(found.rows, found.fresh, chain.judging.tolerated_error_rate, box.columns, box.rows)
        case "advice":
            return draw_advice(
                chain, found.verdict, found.plan, found.presses, doing or found.fault, box.columns, box.rows
            )
        case "about":
            return draw_about(chain, trial.parameters[trial.number], box.columns)
    return draw_bench_keys(box.columns)


def _run_words(trial: Trial) -> str:
    """Write which run is shown, and its first error."""
    found = trial.found
    if found.chain is not trial.chain:
        return "waveforms, before the change"
    return f"run {trial.seed}: {found.slips[0].words}" if found.slips else f"waveforms, run {trial.seed}: no error"


_FIRST = ("draw", "back", "save_chain", "help", "leave", "closer", "wider", "on")
"""The keys in the footer, the most important first; choosing and turning precede them all."""


def draw_bench_keys(columns: int) -> Drawing:
    """Write the keys that are needed most.

    Args:
        columns: Width. [terminal cells]
    """
    return draw_needed_keys((("↑ ↓", "choose"), ("← →", "turn")), BENCH_KEYS, _FIRST, columns, gap=1)
