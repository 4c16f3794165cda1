"""What the bench's screen shows, without a terminal library."""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path

import attrs
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.corners import make_nominal
from knobmenu.bench.excerpt import choose_view, find_slips
from knobmenu.bench.filter import Filter
from knobmenu.bench.firmware import Counting
from knobmenu.bench.live import FIRST_TRY
from knobmenu.bench.motion import Motion
from knobmenu.bench.parameters import list_parameters
from knobmenu.bench.presses import judge_presses
from knobmenu.bench.reader import Reader
from knobmenu.bench.run import Run, run
from knobmenu.bench.scope import View
from knobmenu.bench.signal import Signal
from knobmenu.bench.trial import Found, Trial, choose, pan, turn, zoom
from knobmenu.bench.verdict import Reached, Verdict
from knobmenu.bench.waveforms import LABELS, choose_step, draw_waveform_rows
from knobmenu.picture.palettes import PALETTES
from knobmenu.picture.runs import Drawing, extract_text
from knobmenu.terminal.bench.help import make_bench_help
from knobmenu.terminal.bench.keys import BENCH_KEYS
from knobmenu.terminal.bench.layout import LEAST, make_bench_plan
from knobmenu.terminal.bench.showing import draw_bench, draw_bench_keys
from knobmenu.terminal.bench.views import draw_advice, draw_knob_list, draw_table, find_line, list_lines
from tests.bench.trials import CLEAN, ROWS, found_plan, judged_trial
from tests.terminal.stage import text_on_screen

FOLDER = Path(__file__).parent / "bench_snapshots"
SCENES = {
    "filtered": lambda: judged_trial(),
    "unfiltered": lambda: choose(judged_trial(attrs.evolve(CLEAN, filter=Filter())), 6),
    "turned": lambda: turn(choose(judged_trial(), 9), 1),
}


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (200, 55)], ids=str)
def test_a_scene_looks_as_it_was_agreed(name: str, columns: int, rows: int) -> None:
    """Run with KNOBMENU_UPDATE=1 written down again; then read what changed."""
    file = FOLDER / f"{name}-{columns}x{rows}.txt"
    shown = text_on_screen(draw_bench(SCENES[name](), "", columns, rows), columns, rows)
    if os.environ.get("KNOBMENU_UPDATE") == "1":
        file.parent.mkdir(exist_ok=True)
        file.write_text(shown, encoding="utf-8")
    assert shown == file.read_text(encoding="utf-8"), f"if this is meant: KNOBMENU_UPDATE=1, then read {file.name}"


@given(st.integers(LEAST.columns, 260), st.integers(LEAST.rows, 80), st.sampled_from((CLEAN, FIRST_TRY, Chain())))
def test_at_every_size_everything_has_its_place_and_stays_in_it(columns: int, rows: int, chain: Chain) -> None:
    plan = make_bench_plan(columns, rows)
    assert plan is not None
    taken = np.zeros((rows, columns), dtype=int)
    for box in plan.values():
        assert box.rows > 0
        assert box.columns > 0
        taken[box.y : box.y + box.rows, box.x : box.x + box.columns] += 1
    assert taken.max() == 1
    text_on_screen(draw_bench(judged_trial(chain), "trying 2 turns/s", columns, rows), columns, rows)


@given(st.integers(1, 100), st.integers(1, 40))
def test_a_terminal_that_is_too_small_is_told_what_is_needed(columns: int, rows: int) -> None:
    assume(columns < LEAST.columns or rows < LEAST.rows)
    shown = draw_bench(judged_trial(), "", columns, rows)
    words = " ".join("".join(part.text for part in row) for row in shown["small"][1])

    assert f"{columns} by {rows}" in words
    assert "80 by 22" in words
    assert "knobmenu bench judge" in words


def test_every_ink_is_in_every_look() -> None:
    for chain in (CLEAN, FIRST_TRY):
        for _, drawing in draw_bench(judged_trial(chain), "trying", 120, 40).values():
            for row in drawing:
                for part in row:
                    for palette in PALETTES:
                        assert {part.ink, part.ground} <= set(palette.colours)


# Waveforms.


def dots(drawing: Drawing, row: int) -> str:
    return extract_text(drawing).split("\n")[row][LABELS:]


def row_of(drawing: Drawing, label: str) -> str:
    return next(line for line in extract_text(drawing).split("\n") if line.startswith(label))


def test_counts_stand_where_they_came_and_under_the_detents_that_they_are_of() -> None:
    done = run(CLEAN, 1)
    drawing = draw_waveform_rows(done, (), View(0.2, 0.5), "", 110, 14)
    turned_at = [row_of(drawing, "turned").index(f"•{number}") for number in range(1, 6)]
    counted_at = [row_of(drawing, "counted").index(f"▲{number}") for number in range(1, 6)]
    # The last edge of a detent is passed an eighth of it before its rest; the filter delays by some ms.
    assert all(0 <= turned - counted <= 2 for turned, counted in zip(turned_at, counted_at, strict=True))
    # 50 ms a detent in 100 columns of 5 ms.
    assert [after - before for before, after in pairwise(turned_at)] == [10, 10, 10, 10]


def test_a_backward_run_counts_down() -> None:
    back = attrs.evolve(CLEAN, turning=attrs.evolve(CLEAN.turning, detents=-8))
    drawing = draw_waveform_rows(run(back, 1), (), View(0.2, 0.5), "", 110, 14)
    assert "▼-1" in row_of(drawing, "counted")
    assert "•-1" in row_of(drawing, "turned")


def test_up_is_an_open_contact_and_a_high_pin() -> None:
    still = Motion(np.array([0.0, 1.0]), np.array([0.0, 0.0]), ((0.0, 1.0, 0),))
    closed_late = Signal(0, np.array([0.5]))
    nothing = np.array([], dtype=np.float64)
    done = Run(
        CLEAN,
        1,
        make_nominal(CLEAN.filter),
        1.0,
        still,
        (closed_late, closed_late),
        (closed_late, closed_late),
        Counting(nothing, np.array([], dtype=np.uint8), nothing, np.array([], dtype=np.int64)),
    )
    drawing = draw_waveform_rows(done, (), View(0.0, 1.0), "", LABELS + 20, 9)
    for label in ("contact A", "pin B"):
        trace = row_of(drawing, label)[LABELS:]
        assert trace[:9] == "⠒" * 9
        assert trace[11:] == "⣀" * 9


BLOCKED = Chain(
    turning=Turning(turns_per_s=2.0), reader=Reader(period_ms=0.5, blocked_for_ms=12.0, blocked_every_ms=60.0)
)
MASKED = attrs.evolve(BLOCKED, reader=Reader(kind="timer", period_ms=0.5, masked_for_ms=12.0, masked_every_ms=60.0))


@pytest.mark.parametrize(("chain", "label", "sign"), [(BLOCKED, "blocked", "░"), (MASKED, "masked", "▒")])
def test_time_in_which_nothing_is_sampled_has_a_row_and_another_ground(chain: Chain, label: str, sign: str) -> None:
    done = run(chain, 1)
    slips = find_slips(done)
    drawing = draw_waveform_rows(done, slips, choose_view(done, slips), "", LABELS + 60, 14)
    line = row_of(drawing, label)
    samples = row_of(drawing, "samples")
    shaded = [place for place, character in enumerate(line) if character == sign]
    contact = next(row for row in drawing if row[0].text.startswith("contact A"))
    grounds = [run.ground for run in contact for _ in run.text]

    assert shaded
    assert [place for place, ground in enumerate(grounds) if ground == "raised"] == shaded
    # Between its first and its last column a stretch has no sample.
    inner = [place for place in shaded if place - 1 in shaded and place + 1 in shaded]
    assert inner
    assert {samples[place] for place in inner} == {" "}


def test_a_chain_that_nothing_holds_up_has_no_row_for_it() -> None:
    drawing = extract_text(draw_waveform_rows(run(CLEAN, 1), (), View(0.2, 0.5), "", 110, 14))
    assert "blocked" not in drawing
    assert "masked" not in drawing


def test_lost_detents_and_wrong_counts_are_hollow_and_the_first_error_is_the_title() -> None:
    trial = judged_trial(BLOCKED)
    found = trial.found
    assert found.run is not None
    assert found.slips[0].kind == "lost"
    shown = extract_text(draw_bench(trial, "", 80, 24)["waves"][1])
    assert shown.startswith(f"run 1: {found.slips[0].words} ─")
    assert f"○{found.slips[0].detent}" in shown
    hasty = attrs.evolve(BLOCKED, reader=Reader(period_ms=0.02), decoder="one-edge")
    done = run(hasty, 1)
    slips = find_slips(done)
    counted = row_of(draw_waveform_rows(done, slips, choose_view(done, slips), "", 150, 14), "counted")
    assert "△" in counted
    assert "▲" in counted


def test_marks_that_come_too_close_are_signs_alone_and_the_last_has_its_number() -> None:
    fast = attrs.evolve(CLEAN, filter=Filter(), turning=Turning(kind="steady", detents=8, turns_per_s=20.0))
    line = row_of(draw_waveform_rows(run(fast, 1), (), View(0.25, 0.2), "", 50, 9), "counted")
    assert line.count("▲") >= 4
    assert "▲8" in line


@pytest.mark.parametrize(
    ("length", "most", "step"), [(100.0, 10, 10.0), (95.0, 10, 10.0), (1.0, 3, 0.5), (3e-4, 4, 1e-4), (7.0, 1, 10.0)]
)
def test_times_step_by_one_two_or_five(length: float, most: int, step: float) -> None:
    assert choose_step(length, most) == pytest.approx(step)


# Looking about.


def test_looking_closer_keeps_the_middle_and_stays_in_the_run() -> None:
    trial = judged_trial()
    first = trial.seen
    assert first is not None
    closer = zoom(trial, closer=True).seen
    assert closer is not None
    assert closer.length_s == pytest.approx(first.length_s / 2)
    assert closer.begin_s + closer.length_s / 2 == pytest.approx(first.begin_s + first.length_s / 2)
    for _ in range(60):
        trial = zoom(trial, closer=False)
    assert trial.found.run is not None
    assert trial.seen == View(0.0, trial.found.run.motion.end_s)


@given(st.lists(st.sampled_from(["closer", "wider", "earlier", "later"]), max_size=60))
def test_wherever_one_looks_it_is_inside_the_run(looking: list[str]) -> None:
    trial = judged_trial()
    for word in looking:
        trial = zoom(trial, word == "closer") if word in ("closer", "wider") else pan(trial, word == "later")
        view, done = trial.seen, trial.found.run
        assert view is not None
        assert done is not None
        assert view.begin_s >= 0
        assert view.begin_s + view.length_s <= done.motion.end_s * (1 + 1e-9)
    assert "ms" in extract_text(draw_bench(trial, "", 80, 24)["waves"][1])


def test_before_anything_is_known_there_is_nothing_to_look_at() -> None:
    trial = Trial("mine.toml", (CLEAN,))
    assert zoom(trial, closer=True) is trial
    assert pan(trial, later=True) is trial
    assert "waveforms" in extract_text(draw_bench(trial, "", 80, 24)["waves"][1])


def test_a_hand_that_rocks_or_is_slow_is_shown_from_its_beginning() -> None:
    for kind in ("dither", "reversals", "flicks"):
        chain = attrs.evolve(CLEAN, turning=Turning(kind=kind, detents=4, turns_per_s=0.1))
        done = run(chain, 1)
        view = choose_view(done, find_slips(done))
        assert view.begin_s <= done.motion.strokes[0][0] < view.begin_s + view.length_s


# The list.


@given(st.sampled_from((CLEAN, FIRST_TRY)), st.integers(4, 60), st.data())
def test_the_chosen_knob_is_always_seen_and_a_click_on_a_row_finds_what_is_there(
    chain: Chain, height: int, data: st.DataObject
) -> None:
    known = list_parameters(chain)
    chosen = data.draw(st.integers(0, len(known) - 1))
    found = [find_line(known, chosen, height, row) for row in range(height)]
    assert chosen in found
    seen = [number for number in found if number is not None]
    assert seen == list(range(seen[0], seen[-1] + 1))
    assert find_line(known, chosen, height, 0) is None
    assert [line for line in list_lines(known, height) if isinstance(line, int)] == list(range(len(known)))


@pytest.mark.parametrize(("chosen", "height", "sign"), [(0, 9, "↓"), (10, 9, "↑ ↓"), (19, 9, "↑"), (0, 60, "─")])
def test_the_list_says_where_it_goes_on(chosen: int, height: int, sign: str) -> None:
    known = list_parameters(FIRST_TRY)
    chosen = min(chosen, len(known) - 1)
    shown = extract_text(draw_knob_list(FIRST_TRY, known, chosen, frozenset(), 29, height))
    assert shown.startswith(f"the chain {sign}")


# The table and the advice.


def test_where_not_all_speeds_fit_those_around_the_first_that_fails_are_shown() -> None:
    shown = extract_text(draw_table(ROWS, len(ROWS), 0.01, 47, 4))
    assert [line.split()[0] for line in shown.split("\n")[1:]] == ["1", "2", "3"]
    assert "0.5 % ✓" in shown
    assert "10 % ✗" in shown


def test_rows_of_another_chain_are_dimmed() -> None:
    drawing = draw_table(ROWS, 2, 0.01, 47, 12)
    assert [all(part.ink == "dim" for part in row) for row in drawing[1:]] == [False, False, True, True, True]
    assert [line[-1] for line in extract_text(drawing).split("\n")[1:]] == ["✓", "✓", "…", "…", "…"]


def found_verdict(chain: Chain = CLEAN) -> Verdict:
    verdict = judged_trial(chain).found.verdict
    assert verdict is not None
    return verdict


def test_advice_of_another_chain_is_said_to_be_so() -> None:
    verdict, plan = found_verdict(), found_plan()
    fresh = extract_text(draw_advice(CLEAN, verdict, plan, None, "", 78, 5))
    assert fresh.startswith("no: right only up to 1.2 turns/s; the target is 2 ─")
    assert "1 Make each capacitor 10 nF: right up to 3 turns/s." in fresh
    stale = extract_text(draw_advice(FIRST_TRY, verdict, plan, None, "trying 2 turns/s", 78, 5))
    assert stale.startswith("before: no: right only up to 1.2 turns/s; the target is 2 (trying 2 turns/s) ─")
    never = attrs.evolve(verdict, worst=Reached(turns_per_s=0.0, low=0.0, high=0.1, corner="nominal parts"))
    assert extract_text(draw_advice(CLEAN, never, plan, None, "", 78, 5)).startswith("no: right at no speed")
    always = attrs.evolve(verdict, worst=Reached(turns_per_s=5.0, low=5.0, high=9.0, corner=""))
    assert extract_text(draw_advice(CLEAN, always, plan, None, "", 78, 5)).startswith(
        "yes: right up to the target of 2 turns/s"
    )


def test_advice_that_is_too_long_says_that_it_goes_on() -> None:
    plan = found_plan()
    drawing = draw_advice(CLEAN, found_verdict(), attrs.evolve(plan, proposals=plan.proposals * 9), None, "", 78, 5)
    assert len(drawing) == 5
    assert extract_text(drawing).endswith("…")


def test_the_filter_is_said_in_numbers_at_once_while_the_verdict_is_still_the_old_one() -> None:
    """RC closed forms: 20 kΩ times 100 nF times ln(5 / 2.1), and 10 kΩ times 100 nF times ln(5 / 1.9)."""
    shown = extract_text(draw_advice(CLEAN, found_verdict(FIRST_TRY), None, None, "", 100, 7))
    assert "delays 1.7 ms opening, 0.97 ms closing" in shown
    assert "delays" not in extract_text(draw_advice(FIRST_TRY, found_verdict(), None, None, "", 100, 7))


def test_what_debouncing_the_switch_needs_is_said_where_there_is_room() -> None:
    presses = judge_presses(attrs.evolve(CLEAN, judging=attrs.evolve(CLEAN.judging, seeds=2)))
    assert presses.advice in extract_text(draw_advice(CLEAN, found_verdict(), None, presses, "", 300, 7))
    assert presses.advice not in extract_text(draw_advice(CLEAN, found_verdict(), None, presses, "", 300, 2))


def test_a_chain_that_cannot_be_judged_says_why() -> None:
    trial = attrs.evolve(Trial("mine.toml", (CLEAN,)), found=Found(fault="reader.period_ms: too many looks"))
    assert "too many looks" in extract_text(draw_bench(trial, "", 80, 24)["waves"][1])


# Keys.


@pytest.mark.parametrize("columns", [78, 80, 120, 250])
def test_the_bottom_row_names_the_keys_that_are_needed_most(columns: int) -> None:
    line = extract_text(draw_bench_keys(columns))
    assert len(line) <= columns
    for words in ("choose", "turn", "save", "help", "leave"):
        assert words in line


def test_every_key_is_on_the_page_of_keys_and_no_key_does_two_things() -> None:
    text = " ".join(make_bench_help().plain.split())
    names = [name for key in BENCH_KEYS for name in key.keys]
    assert len(names) == len(set(names))
    for key in BENCH_KEYS:
        assert " ".join(key.words.split()) in text
