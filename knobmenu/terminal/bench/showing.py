"""Everything that the bench's screen shows, made from what is so: one function, no state."""

from __future__ import annotations

from knobmenu.bench.trial import Trial
from knobmenu.bench.waveforms import waveform_rows
from knobmenu.picture.fitting import draw_pane, fit, wrap
from knobmenu.picture.runs import Box, Drawing, Pictures, Run
from knobmenu.terminal.bench.keys import BENCH_KEYS
from knobmenu.terminal.bench.layout import LEAST, bench_plan
from knobmenu.terminal.bench.views import about_rows, advice_rows, bench_head_rows, knob_list_rows, table_rows


def bench_pictures(trial: Trial, doing: str, columns: int, rows: int) -> Pictures:
    """Draw everything that has a place.

    Args:
        trial: What is tried.
        doing: What is being found out just now; nothing when all is done.
        columns: Width of the terminal. [terminal cells]
        rows: Height of it. [terminal cells]
    """
    plan = bench_plan(columns, rows)
    if plan is None:
        return {"small": (Box(0, 0, columns, rows), _too_small(columns, rows))}
    return {name: (box, _picture(trial, doing, name, box)) for name, box in plan.items()}


def _too_small(columns: int, rows: int) -> Drawing:
    text = (
        f"This terminal is {columns} by {rows}; the bench needs {LEAST.columns} by {LEAST.rows}."
        " Make it larger, or leave with q and use knobmenu bench judge."
    )
    return tuple((Run(line, "text"),) for line in wrap(text, max(columns, 10)))


def _picture(trial: Trial, doing: str, name: str, box: Box) -> Drawing:
    found, chain = trial.found, trial.chain
    match name:
        case "head":
            return bench_head_rows(trial.name, bool(trial.changed), *trial.message, box.columns)
        case "knobs":
            return knob_list_rows(chain, trial.parameters, trial.number, trial.changed, box.columns, box.rows)
        case "waves":
            if found.run is None or found.chain is None or trial.seen is None:
                return draw_pane("waveforms", [(Run(found.fault, "wrong"),)], box.columns, box.rows)
            return waveform_rows(found.run, found.slips, trial.seen, _run_words(trial), box.columns, box.rows)
        case "table":
            return table_rows(found.rows, found.fresh, chain.judging.tolerated_error_rate, box.columns, box.rows)
        case "advice":
            return advice_rows(
                chain, found.verdict, found.plan, found.presses, doing or found.fault, box.columns, box.rows
            )
        case "about":
            return about_rows(chain, trial.parameters[trial.number], box.columns)
    return bench_keys_rows(box.columns)


def _run_words(trial: Trial) -> str:
    """Write which run is shown, and its first error."""
    found = trial.found
    if found.chain is not trial.chain:
        return "waveforms, before the change"
    return f"run {trial.seed}: {found.slips[0].words}" if found.slips else f"waveforms, run {trial.seed}: no error"


_FIRST = ("draw", "back", "save_chain", "help", "leave", "closer", "wider", "on")
"""What the bottom row shows, the most needed first; choosing and turning come before them all."""


def bench_keys_rows(columns: int) -> Drawing:
    """Write the keys that are needed most.

    Args:
        columns: Width. [terminal cells]
    """
    lead = [("↑ ↓", "choose"), ("← →", "turn")]
    room = columns - sum(len(shown) + len(short) + 4 for shown, short in lead)
    fitting = set()
    for does in _FIRST:
        key = next(key for key in BENCH_KEYS if key.does == does)
        room -= len(key.shown) + len(key.short) + 4
        if room < 0:
            break
        fitting.add(does)
    runs: list[Run] = []
    for shown, short in [*lead, *((key.shown, key.short) for key in BENCH_KEYS if key.does in fitting)]:
        runs += [Run(f" {shown} ", "strong", "raised"), Run(f" {short} ", "dim")]
    return (fit(runs, columns),)
