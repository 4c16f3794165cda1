"""Raw sequences of keys, as terminals write them and as they never should, through the parser.

Well-formed ones follow the kitty keyboard protocol (https://sw.kovidgoyal.net/kitty/keyboard-protocol/): "CSI code ;
modifiers : event type ; text u", event types 1 press, 2 repeat, 3 release; arrows as "CSI 1 ; modifiers : type A".
"""

from __future__ import annotations

import errno
import inspect
import io
import sys
from collections.abc import Sequence

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from textual import events
from textual.message import Message

from knobmenu.terminal.backend.driver import TerminalFile, choose_driver
from knobmenu.terminal.backend.parser import HoldParser, KeyUp, ReleasesReported, is_repeat


def heard(*pieces: str) -> list[Message]:
    """Feed pieces to a parser, then let its time run out, as it does when nothing more comes."""
    parser = HoldParser()
    # An empty piece would be the end of the input.
    messages = [message for piece in pieces if piece for message in parser.feed(piece)]
    messages += parser.feed("")
    return messages


def told(messages: Sequence[Message]) -> list[tuple[str, str]]:
    """Say what keys did: ``down``, ``repeat`` or ``up``."""
    said = []
    for message in messages:
        if isinstance(message, KeyUp):
            said.append((message.key, "up"))
        elif isinstance(message, events.Key):
            said.append((message.key, "repeat" if is_repeat(message) else "down"))
    return said


@pytest.mark.parametrize(
    ("sequence", "says"),
    [
        ("\x1b[32;1:1u", [("space", "down")]),
        ("\x1b[32;1:2u", [("space", "repeat")]),
        ("\x1b[32;1:3u", [("space", "up")]),
        ("\x1b[32u", [("space", "down")]),
        ("\x1b[32;;32u", [("space", "down")]),
        ("\x1b[32;1;32u", [("space", "down")]),
        ("\x1b[13;1:3u", [("enter", "up")]),
        ("\x1b[1;1:1A", [("up", "down")]),
        ("\x1b[1;1:2B", [("down", "repeat")]),
        ("\x1b[1;1:3C", [("right", "up")]),
        ("\x1b[5;1:3~", [("pageup", "up")]),
        ("\x1b[6;1:2~", [("pagedown", "repeat")]),
        ("\x1b[113;5:1u", [("ctrl+q", "down")]),
        ("\x1b[104:72;2:1;72u", [("H", "down")]),
        ("\x1b[32;1:u", [("space", "down")]),
        ("\x1b[A", [("up", "down")]),
        ("\x1b[H", [("home", "down")]),
        (" ", [("space", "down")]),
        ("l", [("l", "down")]),
        ("\r", [("enter", "down")]),
    ],
)
def test_a_key_is_heard_as_it_was_struck_held_and_let_go(sequence: str, says: list[tuple[str, str]]) -> None:
    assert told(heard(sequence)) == says


@pytest.mark.parametrize("kind", ["0", "4", "9", "99999", "2:3", "x"])
def test_a_report_of_a_type_that_the_protocol_does_not_know_is_no_press(kind: str) -> None:
    assert ("space", "down") not in told(heard(f"\x1b[32;1:{kind}u"))


@pytest.mark.parametrize(("answer", "reported"), [("\x1b[?27u", True), ("\x1b[?2u", True), ("\x1b[?25u", False)])
def test_a_terminal_says_whether_it_reports_releases(answer: str, reported: bool) -> None:
    """Answer to "CSI ? u", bit 2 of the flags: report event types (the protocol, "Progressive enhancement")."""
    (message,) = heard(answer)
    assert isinstance(message, ReleasesReported)
    assert message.reported is reported


def test_a_whole_hold_is_heard() -> None:
    hold = ["\x1b[32;1:1u", *["\x1b[32;1:2u"] * 20, "\x1b[32;1:3u"]
    assert told(heard(*hold)) == [("space", "down"), *[("space", "repeat")] * 20, ("space", "up")]
    assert told(heard("".join(hold))) == told(heard(*hold))


KEYS = st.sampled_from(
    ["\x1b[32;1:1u", "\x1b[32;1:2u", "\x1b[32;1:3u", "\x1b[1;1:1A", "\x1b[1;1:3B", "\x1b[?27u", "\x1b[A", "a", "é", " "]
)


@given(st.lists(KEYS, max_size=12), st.data())
def test_keys_are_the_same_however_the_line_cuts_them(keys: list[str], data: st.DataObject) -> None:
    text = "".join(keys)
    cuts = sorted(data.draw(st.sets(st.integers(0, len(text)))))
    pieces = [text[start:stop] for start, stop in zip([0, *cuts], [*cuts, len(text)], strict=True) if start < stop]
    whole = told(heard(text))
    assert told(heard(*pieces)) == whole
    assert len(whole) == sum(key != "\x1b[?27u" for key in keys)


numbers = st.one_of(st.just(""), st.integers(0, 2**70).map(str), st.sampled_from(["32", "1114112", "55296", "0"]))
reports = st.builds(
    lambda parts, end: "\x1b[" + parts + end,
    st.lists(st.tuples(st.sampled_from([";", ":", "", "?"]), numbers).map("".join), max_size=7).map("".join),
    st.sampled_from("u~ABCDEFHPQRSmMt"),
)


@given(
    st.lists(st.one_of(reports, st.text(max_size=8), st.sampled_from(["\x1b", "\x1b[", "\x1bO", "\x9b"])), max_size=6)
)
@example(["\x1b[99999999999999999999;1:1u"])
@example(["\x1b[97;1:1;1114112u"])
@example(["\x1b[55296;1:1u"])
@example(["\x1b[;;u"])
@example(["\x1b[97;1:2:3:4u"])
@example(["\x1b[?u", "\x1b[?9999999u"])
def test_no_sequence_stops_the_parser_and_the_next_key_is_heard(pieces: list[str]) -> None:
    parser = HoldParser()
    for piece in filter(None, pieces):
        list(parser.feed(piece))
    # Whatever was begun is over once nothing comes for a while; here, at the next whole report.
    list(parser.feed("\x1b\\\x07\x1b[201~"))
    for _ in range(3):
        list(parser.feed("\x1b[32;1:1u"))
    assert ("space", "down") in told(list(parser.feed("\x1b[32;1:1u")))


def test_a_mouse_after_a_report_of_no_size_at_all_is_where_it_says() -> None:
    """In-band sizes, "CSI 48 ; rows ; columns ; pixels ; pixels t" (mode 2048, from memory)."""
    for size in ("0;0;0;0", "24;80;0;0", "0;0;480;800"):
        moved = heard(f"\x1b[48;{size}t", "\x1b[<0;3;4M")[-1]
        assert isinstance(moved, events.MouseDown)
        assert (moved.x, moved.y) == (2, 3)


def test_where_there_is_no_such_terminal_the_stock_driver_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    from textual.drivers.headless_driver import HeadlessDriver

    assert choose_driver(HeadlessDriver) is HeadlessDriver
    if sys.platform == "win32":
        return
    from textual.drivers.linux_driver import LinuxDriver

    assert issubclass(choose_driver(LinuxDriver), LinuxDriver)
    assert choose_driver(LinuxDriver) is not LinuxDriver
    monkeypatch.setenv("TEXTUAL_DISABLE_KITTY_KEY", "1")
    assert choose_driver(LinuxDriver) is LinuxDriver
    monkeypatch.delenv("TEXTUAL_DISABLE_KITTY_KEY")
    monkeypatch.delattr(LinuxDriver, "run_input_thread")
    assert choose_driver(LinuxDriver) is LinuxDriver


def test_the_private_names_of_the_library_are_there_and_none_is_replaced() -> None:
    from textual import _xterm_parser
    from textual.drivers import linux_driver

    stock = dict(vars(linux_driver)), dict(vars(_xterm_parser)), dict(vars(linux_driver.LinuxDriver))
    made = choose_driver(linux_driver.LinuxDriver)
    assert issubclass(made, linux_driver.LinuxDriver)
    assert (vars(linux_driver), vars(_xterm_parser), dict(vars(linux_driver.LinuxDriver))) == stock
    assert inspect.signature(_xterm_parser.XTermParser._sequence_to_key_events).parameters.keys() == {
        "self",
        "sequence",
        "alt",
    }


class Broken(io.StringIO):
    """An output whose terminal is gone after so many writes."""

    def __init__(self, writes: int) -> None:
        super().__init__()
        self.left = writes

    def write(self, text: str) -> int:
        self.left -= 1
        if self.left < 0:
            raise OSError(errno.EIO, "Input/output error")
        return super().write(text)


def test_output_to_a_terminal_that_is_gone_is_dropped_and_reported_once() -> None:
    told: list[None] = []
    output = Broken(2)
    file = TerminalFile(output, lambda: told.append(None))
    for _ in range(5):
        file.write("x")
        file.flush()
    assert (output.getvalue(), told, file.gone) == ("xx", [None], True)
