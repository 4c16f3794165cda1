"""Traces: what is written is read, and what cannot be read is said with its place."""

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.errors import KnobmenuError, TraceError
from knobmenu.events import DoublePress, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.trace import format_trace, parse_trace
from tests.strategies import Story, stories


def test_each_word_is_an_event_a_tenth_of_a_second_after_the_one_before() -> None:
    assert parse_trace("3 press -2 hold wait 500 double held -1 report heat 215") == (
        Turn(100, 3),
        Press(200),
        Turn(300, -2),
        LongPress(400),
        Wait(900),
        DoublePress(1000),
        HeldTurn(1100, -1),
        Report(1200, "heat", 215),
    )


def test_a_moment_can_be_given_and_remarks_are_passed_over() -> None:
    assert parse_trace("at 40 +1 # one detent\nat 60 1\n# the end") == (Turn(40, 1), Turn(60, 1))


@given(stories())
def test_what_is_written_is_read_back(story: Story) -> None:
    _, events = story
    plain = [attrs.evolve(event, times=1) if isinstance(event, Turn) else event for event in events]

    assert list(parse_trace(format_trace(events))) == plain


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3 pres", 'trace, line 1, column 3: expected a whole number of detents, or one of "press",'),
        ("3 pres", 'Did you mean "press"?'),
        ("\n 1 0", "line 2, column 4"),
        ("wait", "expected a whole number after wait, got nothing"),
        ("wait soon", 'column 6: expected a whole number after wait, got "soon"'),
        ("wait 99999999999999999", "column 6: expected a whole number of at most 16 digits after wait, got"),
        ("99999999999999999", "column 1: expected a whole number of at most 16 digits, got"),
        ("report", "expected a readout's key and a whole number after report, got nothing"),
        ("press at 50 press", "event at 50 ms is earlier than the last one (100 ms)"),
        ("at 9999999999999999 press", "expected a whole number from 0 to 9007199254740991, got 9999999999999999"),
        ("10001", "expected a whole number from -10000 to 10000, but not 0"),
        ("1.5", "expected a whole number of detents"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_place(text: str, message: str) -> None:
    with pytest.raises(TraceError) as error:
        parse_trace(text)

    assert message in str(error.value)


@given(
    st.text()
    | st.lists(st.sampled_from(["at", "wait", "1", "-1", "press", "report", "x", "held", "9" * 12])).map(" ".join)
)
def test_any_text_is_a_trace_or_is_refused(text: str) -> None:
    try:
        events = parse_trace(text)
    except KnobmenuError as refused:
        message = str(refused)
    else:
        message = "line"
        assert parse_trace(format_trace(events)) == events

    assert "line" in message
