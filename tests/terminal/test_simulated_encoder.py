"""A simulated encoder in the app: devices get what the firmware would have counted, and the person sees how many."""

import io
import re
import sys
from pathlib import Path

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.chain_file import loads as loads_chain
from knobmenu.bench.chain_file import write_toml
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.reader import Reader
from knobmenu.bench.simulated import NamedChain, SimulatedEncoder, make_first_try, read_chain, send_through
from knobmenu.bench.tally import Tally, format_stroke, format_tally
from knobmenu.cli.main import main
from knobmenu.design.hardware import Knob
from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, LongPress, Press, Turn, Wait
from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads
from knobmenu.line_mode import converse
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from knobmenu.session.writing import compose_trace
from knobmenu.trace import parse_trace
from tests.terminal.desk import Hand, at_desk

GOOD = NamedChain(Chain(contact=PRESETS["clean"], reader=Reader(kind="interrupt")), "good")
DEAF = NamedChain(Chain(reader=Reader(blocked_for_ms=1000.0, blocked_every_ms=1000.0, period_ms=5.0)), "deaf")
LATE = NamedChain(
    Chain(
        turning=Turning(turns_per_s=0.02), contact=PRESETS["clean"], reader=Reader(kind="interrupt", latency_ms=500.0)
    ),
    "late",
)


def simulated(design: Design, chain: NamedChain) -> Session:
    trial = Session(Timeline([design]), real_ms=10_000)
    trial.take_source(SimulatedEncoder(chain, 10_000), 10_000)
    return trial


def encoder_of(trial: Session) -> SimulatedEncoder:
    assert isinstance(trial.source, SimulatedEncoder)
    return trial.source


def settle(trial: Session, from_ms: int, for_ms: int = 3000) -> None:
    """Let time pass as the desk does: whenever something is due."""
    end_ms = from_ms + for_ms
    while (due_ms := trial.find_due_ms()) is not None and due_ms <= end_ms:
        trial.pass_time(due_ms)
    trial.pass_time(end_ms)


def detents(trial: Session) -> list[int]:
    return [event.detents for event in trial.list_events() if isinstance(event, Turn)]


def test_a_good_chain_gives_every_detent_a_little_later(kiln: Design) -> None:
    trial = simulated(kiln, GOOD)
    trial.turn(1, 10_250)
    assert detents(trial) == []
    settle(trial, 10_250, 200)
    trial.turn(-1, 10_600)
    settle(trial, 10_600, 200)
    turns = [event for event in trial.list_events() if isinstance(event, Turn)]
    assert [turn.detents for turn in turns] == [1, -1]
    # 50 ms a detent at one turn in a second of 20 detents; the last edge is at seven eighths of that.
    assert [turn.at_ms for turn in turns] == [250 + 44, 600 + 44]


def test_the_hand_s_angle_is_shown_and_not_the_counted_one(kiln: Design) -> None:
    trial = simulated(kiln, DEAF)
    trial.spin(3, 10_250)
    settle(trial, 10_250)
    assert trial.turned == 3
    assert detents(trial) == []
    assert encoder_of(trial).tally == Tally(turned=3, lost=3, strokes=1)


def test_a_firmware_that_is_late_tells_the_device_late(kiln: Design) -> None:
    trial = simulated(kiln, LATE)
    trial.turn(1, 10_000)
    settle(trial, 10_000)
    # A detent takes 2.5 s, and its last edge comes at seven eighths of that.
    assert [event.at_ms for event in trial.list_events() if isinstance(event, Turn)] == [2188 + 500]
    assert encoder_of(trial).last.late_ms == 188


def test_the_trace_holds_what_was_counted(kiln: Design) -> None:
    trial = simulated(kiln, make_first_try(kiln.knob))
    for number in range(40):
        trial.turn(1, 11_000 + number * 211)
        settle(trial, 11_000 + number * 211, 200)
    tally = encoder_of(trial).tally
    assert tally.turned == 40
    assert tally.counted == sum(abs(number) for number in detents(trial)) != 40
    played = Session(Timeline([kiln]), real_ms=0)
    played.play(parse_trace(compose_trace(trial.timeline)), "played", 0)
    assert played.parts[0].state.values == trial.parts[0].state.values


def test_a_switch_that_bounces_is_one_press_where_the_device_debounces_and_more_where_it_does_not(
    kiln: Design,
) -> None:
    pressed = {}
    for debounce_ms in (0, 20):
        design = attrs.evolve(kiln, knob=attrs.evolve(kiln.knob, debounce_ms=debounce_ms))
        trial = simulated(design, GOOD)
        for number in range(10):
            trial.click(11_000 + number * 1000)
            settle(trial, 11_000 + number * 1000, 900)
        pressed[debounce_ms] = sum(isinstance(event, Press) for event in trial.list_events())
    assert pressed[20] == 10
    assert pressed[0] > 10


def test_a_long_press_and_a_double_press_come_through(kiln: Design) -> None:
    knob = Knob(double_press_ms=300, debounce_ms=10)
    trial = simulated(attrs.evolve(kiln, knob=knob), GOOD)
    trial.long_press(11_000)
    settle(trial, 11_000)
    trial.double_press(15_000)
    settle(trial, 15_000)
    told = [type(event) for event in trial.list_events() if not isinstance(event, Wait)]
    assert told == [LongPress, DoublePress]


def test_going_to_another_step_forgets_what_was_under_way(kiln: Design) -> None:
    trial = simulated(kiln, LATE)
    trial.turn(1, 10_000)
    settle(trial, 10_000)
    trial.turn(1, 14_000)
    trial.go_back(14_100)
    settle(trial, 14_100)
    assert trial.history.place == trial.history.last - 1
    assert encoder_of(trial).tally == Tally()


def test_a_turn_in_the_past_goes_on_from_there(kiln: Design) -> None:
    trial = simulated(kiln, GOOD)
    trial.turn(1, 10_000)
    settle(trial, 10_000, 500)
    trial.go_back(14_000)
    trial.turn(-1, 15_000)
    settle(trial, 15_000, 500)
    assert trial.history.branches == 2
    assert detents(trial) == [-1]


def test_while_device_time_is_frozen_the_hand_works_the_device_directly(kiln: Design) -> None:
    trial = simulated(kiln, DEAF)
    trial.freeze(10_500)
    trial.turn(1, 10_600)
    trial.click(10_700)
    assert detents(trial) == [1]
    assert any(isinstance(event, Press) for event in trial.list_events())


@given(st.lists(st.tuples(st.integers(0, 500), st.sampled_from("+-ch")), max_size=20))
def test_whatever_is_done_every_detent_is_counted_where_the_chain_is_good(doing: list[tuple[int, str]]) -> None:
    trial = simulated(loads(read_starter()), GOOD)
    at_ms, wanted = 11_000, 0
    for gap_ms, what in doing:
        at_ms += gap_ms
        settle(trial, at_ms - gap_ms, gap_ms)
        if what in "+-":
            wanted += 1 if what == "+" else -1
            trial.turn(1 if what == "+" else -1, at_ms)
        elif what == "c":
            trial.click(at_ms)
        else:
            trial.long_press(at_ms)
    settle(trial, at_ms, 5000)
    assert encoder_of(trial).settled
    assert sum(event.detents for event in trial.list_events() if isinstance(event, Turn)) == wanted


def test_the_words_say_how_many_were_lost_and_how_late() -> None:
    assert format_tally(Tally(turned=12, counted=9, lost=3)) == ("turned 12, counted 9", "lost 3, extra 0")
    assert format_tally(Tally(turned=1, counted=2, extra=1, reversed=1, lost=1))[1] == "lost 1, extra 2"
    assert format_stroke(Tally(turned=3, counted=3)) == "turned 3, counted 3, in time"
    stroke = Tally(turned=3, counted=2, lost=2, extra=0, reversed=1, late_ms=320)
    assert format_stroke(stroke) == "turned 3, counted 2: 2 lost, 1 the wrong way, the last 320 ms late"


async def until_settled(hand: Hand) -> None:
    for _ in range(100):
        encoder = hand.desk.simulated
        if encoder is None or encoder.settled:
            break
        await hand.pilot.pause(0.02)
    await hand.settle()


async def test_k_switches_between_the_simulated_and_the_ideal_encoder(kiln: Design) -> None:
    async with at_desk([kiln]) as hand:
        await hand.key("k")
        assert "simulated (k)" in hand.shows("header")
        assert "turned 0, counted 0" in hand.shows("knob")
        await hand.key(*["right"] * 30)
        await until_settled(hand)
        assert "turned 30, counted" in hand.shows("knob")
        assert "lost" in hand.shows("knob")
        # The header tells of the last stroke; on a busy machine the thirty detents are several.
        assert re.search(r"turned \d+, counted", hand.shows("header"))
        await hand.key("k")
        assert "simulated (k)" not in hand.shows("header")
        assert "detent 6 of 24" in hand.shows("knob")
        before = detents(hand.desk.session)
        await hand.key("right")
        assert detents(hand.desk.session) == [*before, 1]


async def test_the_app_begins_with_the_chain_that_it_is_given(kiln: Design, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('[contact]\npreset = "clean"\n[reader]\nkind = "interrupt"\n', encoding="utf-8")
    async with at_desk([kiln], chain=read_chain(path)) as hand:
        assert "mine.toml: 20 detents a turn, the design" in hand.shows("header")
        await hand.key("right", "right")
        await until_settled(hand)
        assert detents(hand.desk.session) == [1, 1]
        assert "lost 0, extra 0" in hand.shows("knob")


@pytest.mark.parametrize("per_period", [1, 2, 4])
def test_the_first_try_has_the_encoder_of_the_design_and_can_be_kept(kiln: Design, per_period: int) -> None:
    knob = attrs.evolve(kiln.knob, pulses_per_turn=12, detents_per_period=per_period, detents_per_turn=12 * per_period)
    chain = make_first_try(knob).chain
    assert chain.encoder.detents_per_turn == knob.detents_per_turn
    fine = attrs.evolve(knob, pulses_per_turn=1000, detents_per_turn=1000 * per_period) if per_period == 1 else knob
    assert loads_chain(write_toml(make_first_try(fine).chain)) == make_first_try(fine).chain


def test_the_app_loads_no_bench_until_an_encoder_is_simulated() -> None:
    from tests.test_floors import loaded_by

    assert "numpy" not in loaded_by("import knobmenu.terminal.app")


def test_lines_go_through_the_chain_too(kiln: Design) -> None:
    said: list[str] = []
    assert converse([kiln], [None], ["1", "3 press", "values"], said.append, chain=DEAF)
    assert "Simulated encoder: turned 1, counted 0: 1 lost." in said
    assert "Turn by 1." not in said
    assert "  warm is 40 %." in said
    said.clear()
    assert converse([kiln], [None], ["1", "2 press", "values"], said.append, chain=GOOD)
    assert "Simulated encoder: turned 2, counted 2, in time." in said
    assert "  warm is 43 %." in said


@given(st.lists(st.sampled_from(["1", "-2", "press", "hold", "wait 50", "wait 700"]), max_size=12), st.integers(0, 9))
def test_a_trace_through_a_good_chain_turns_as_far_and_keeps_all_else(words: list[str], seed: int) -> None:
    events = parse_trace(" ".join(words))
    told, tally = send_through(GOOD.chain, events, seed)
    assert sum(event.detents for event in told if isinstance(event, Turn)) == sum(
        event.detents for event in events if isinstance(event, Turn)
    )
    assert [event for event in told if not isinstance(event, Turn)] == [
        event for event in events if not isinstance(event, Turn)
    ]
    assert [event.at_ms for event in told] == sorted(event.at_ms for event in told)
    assert tally.errors == 0


def test_a_walk_is_piped_through_the_chain_of_a_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('[contact]\npreset = "clean"\n[reader]\nkind = "interrupt"\n', encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"2 -1\n")))
    assert main(["try", "--plain", "--chain", str(path)]) == 0
    told = capsys.readouterr().out
    assert "Turns pass through a simulated encoder, mine.toml." in told
    assert "Simulated encoder: turned 3, counted 3, in time." in told


@pytest.mark.parametrize("words", [["--chain", "absent.toml"], ["--simulated", "--chain", "absent.toml"]])
def test_a_chain_that_cannot_be_is_said_before_the_app_begins(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        code: object = main(["try", *words])
    except SystemExit as left:
        code = left.code
    assert code in (1, 2)
    told = capsys.readouterr().err
    assert "absent.toml" in told or "not allowed with" in told
