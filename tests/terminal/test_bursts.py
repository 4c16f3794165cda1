"""What comes all at once, in a real pseudo-terminal: pasted text, and bytes that are not text."""

from __future__ import annotations

import json
import os
import random
import select
import signal
import time
from pathlib import Path

import pytest
from textual import events
from textual.message import Message

from knobmenu.terminal.backend.bursts import Typed, drop_binary, join_typed
from knobmenu.terminal.backend.parser import HoldParser
from tests.sampling import sampled
from tests.terminal.pty_harness import KNOBMENU, Terminal

LONG = "".join(random.Random(9).choices("abcdefghijklmnopqrstuvwxyz ABC 0123456789 äß語", k=20_000)).strip()
"""What is pasted: 20,000 characters, some of several bytes and some twice as wide."""


def trying(design_file: Path) -> Terminal:
    recording = design_file.parent / "session.jsonl"
    # There: what is typed may name a file to be saved.
    terminal = Terminal((*KNOBMENU, "try", str(design_file), "--record", str(recording)), directory=design_file.parent)
    terminal.wait_for("? shows the keys")
    terminal.settle()
    return terminal


def notes(design_file: Path) -> list[str]:
    """Read the notes of the recorded session."""
    lines = (design_file.parent / "session.jsonl").read_text(encoding="utf-8").splitlines()
    return [record["text"] for record in map(json.loads, lines) if record.get("kind") == "note"]


def processor_s(terminal: Terminal) -> float:
    """Return the processor time that the program has used. [s]"""
    fields = Path(f"/proc/{terminal.process.pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def idle(terminal: Terminal, quiet_s: float = 0.4, timeout_s: float = 30.0) -> None:
    """Wait until the program has ended or does nothing any more."""
    until_s, before = time.monotonic() + timeout_s, processor_s(terminal)
    while time.monotonic() < until_s:
        paused_s = time.monotonic() + quiet_s
        while time.monotonic() < paused_s:
            terminal.pump(0.05)
        if terminal.process.poll() is not None:
            return
        now = processor_s(terminal)
        if now - before <= 0.05:
            return
        before = now
    raise AssertionError(f"the program is still at work; its screen shows\n{terminal.text}")


@pytest.mark.parametrize(("before", "after"), [("", ""), ("\x1b[200~", "\x1b[201~")], ids=["raw", "bracketed"])
def test_a_long_text_pasted_into_a_prompt_is_kept_whole_and_quickly(design_file: Path, before: str, after: str) -> None:
    with trying(design_file) as terminal:
        terminal.type_and_wait("n", "Esc: cancel")
        terminal.settle()
        began_s = processor_s(terminal)
        terminal.type(before + LONG + after)
        idle(terminal)
        took_s = processor_s(terminal) - began_s
        terminal.type_and_wait("\r", "event 0 of 0")
        terminal.settle()
        terminal.process.send_signal(signal.SIGTERM)
        terminal.wait()

    assert notes(design_file) == [LONG]
    assert took_s < 1.0


def test_keys_of_one_burst_keep_their_order_when_one_of_them_opens_a_prompt(design_file: Path) -> None:
    with trying(design_file) as terminal:
        terminal.type_and_wait("nfirst note, " + "written at once " * 40 + "\r", "noted")
        terminal.type_and_wait("n", "Esc: cancel")
        terminal.type_and_wait("secondd\x7f note\r", "noted")
        idle(terminal)
        terminal.process.send_signal(signal.SIGTERM)
        terminal.wait()

    assert notes(design_file) == ["first note, " + "written at once " * 39 + "written at once", "second note"]


@pytest.mark.parametrize("number", range(sampled(20, 3)))
def test_a_burst_through_prompts_help_palette_and_bench_arrives_as_typed(design_file: Path, number: int) -> None:
    up = "\x1b[A"
    with trying(design_file) as terminal:
        terminal.type(f"nfirst\r{up * 3}nsecondd\x7f\r{up}?q:note on\rthird\r{up}elq{up}")
        idle(terminal)
        terminal.process.send_signal(signal.SIGTERM)
        terminal.wait()

    assert happened(design_file) == ["first", 1, 1, 1, "second", 1, "third", 1, 1]


def happened(design_file: Path) -> list[str | int]:
    """Read the notes and the turns of the recorded session, in order."""
    lines = (design_file.parent / "session.jsonl").read_text(encoding="utf-8").splitlines()
    found: list[str | int] = []
    for record in map(json.loads, lines):
        if record.get("kind") == "note":
            found.append(record["text"])
        elif record.get("kind") == "event" and "detents" in record["events"][0]:
            found.append(record["events"][0]["detents"])
    return found


def test_keys_behind_the_end_of_a_prompt_do_not_end_the_app(design_file: Path) -> None:
    """They once ended the app: they looked for the line of a prompt that had been answered."""
    for _ in range(5):
        with trying(design_file) as terminal:
            terminal.type("nfirst\rnsecond\rn" + "\x1b[A" * 3)
            idle(terminal)
            terminal.process.send_signal(signal.SIGTERM)

            assert terminal.wait() == 128 + signal.SIGTERM
        assert notes(design_file)[:1] == ["first"]
        (design_file.parent / "session.jsonl").unlink()


@pytest.mark.parametrize("seed", range(sampled(20, 3)))
def test_random_bytes_end_it_properly_or_leave_it_at_rest(design_file: Path, seed: int) -> None:
    """Without 0x1a (Ctrl-Z), which suspends: no shell is here to bring it back."""
    garbage = random.Random(seed).randbytes(300_000).replace(b"\x1a", b"")
    with trying(design_file) as terminal:
        began_s = processor_s(terminal)
        offer(terminal, garbage)
        idle(terminal)

        if terminal.process.poll() is None:
            assert processor_s(terminal) - began_s < 2.0
            terminal.type("\x1b")
            terminal.settle()
            terminal.process.send_signal(signal.SIGTERM)
            assert terminal.wait() == 128 + signal.SIGTERM
        else:
            assert terminal.process.returncode == 0
        assert {what for what, true in terminal.left.items() if true} == set()
        assert b"Traceback" not in terminal.output


def offer(terminal: Terminal, data: bytes) -> None:
    """Type for as long as the program is there."""
    os.set_blocking(terminal._master, False)
    while data and terminal.process.poll() is None:
        if select.select([], [terminal._master], [], 0.01)[1]:
            data = data[os.write(terminal._master, data[:2048]) :]
        terminal.pump(0)


def test_what_is_typed_while_it_leaves_is_not_left_to_the_shell(design_file: Path) -> None:
    """0x03 and 0x1c, as the shell's terminal reads them, are SIGINT and SIGQUIT."""
    with trying(design_file) as terminal:
        terminal.process.send_signal(signal.SIGTERM)
        offer(terminal, b"\x03\x1cexit\r" * 20_000)

        assert terminal.wait() == 128 + signal.SIGTERM
        assert {what for what, true in terminal.left.items() if true} == set()


def messages(text: str) -> list[Message]:
    return list(HoldParser().feed(text))


def test_characters_that_follow_each_other_are_joined_and_all_else_keeps_its_place() -> None:
    shown = [
        event.text if isinstance(event, Typed) else event.key
        for event in join_typed(messages("a\x1b[Bhe+o\x1b[A\x1b[Cx\r語語"))
        if isinstance(event, Typed | events.Key)
    ]

    assert shown == ["a", "down", "he+o", "up", "right", "x", "enter", "語語"]


def test_no_key_is_lost_or_moved_when_characters_are_joined() -> None:
    chance = random.Random(4)
    for _ in range(200):
        text = "".join(chance.choices(("a", "B", " ", "\r", "\x1b[A", "\x7f", "\x10", "é", "\x1b[97;3u"), k=30))
        joined: list[str] = []
        for event in join_typed(messages(text)):
            joined += [key.key for key in (event.keys if isinstance(event, Typed) else (event,))]  # type: ignore[attr-defined]

        assert joined == [event.key for event in messages(text)]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("data", "kept"),
    [
        (b"q\xff", True),
        ("Grüße, so breit wie lang. ".encode("latin-1") * 40, False),
        (b"x" * 400 + "Größe".encode("latin-1"), True),
        (LONG.encode(), True),
        (bytes(range(256)) * 4, False),
    ],
    ids=["a-key", "latin-1", "a-word-of-latin-1", "text", "binary"],
)
def test_what_is_not_text_is_dropped(data: bytes, kept: bool) -> None:
    text = data.decode("utf-8", "replace")

    assert drop_binary(text) == (text if kept else "")


def test_the_end_of_a_paste_is_seen_whatever_stands_before_it() -> None:
    assert drop_binary("\ufffd" * 300 + "\x1b[201~" + "\ufffd") == "\x1b[201~"
