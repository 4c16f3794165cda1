"""Line mode, the same device in lines of text: for screen readers, simple terminals and pipes.

A line of input is a piece of a trace, such as ``3 press -2``, or one command. Changes are printed in plain sentences:
the changed row, the new value, the lamp that was switched on. Device time stops between lines; the events of a trace
are 100 ms apart, as everywhere.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import attrs

from knobmenu import trace
from knobmenu.bench.tally import format_stroke
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, KnobmenuError, TraceError, nearest, quote_value
from knobmenu.events import Event, Turn
from knobmenu.files import output
from knobmenu.files.disk import load
from knobmenu.files.opening import read_text
from knobmenu.files.running import RunningRecording
from knobmenu.files.watching import get_stamp
from knobmenu.machine.state import get_value
from knobmenu.screen.values import describe_value
from knobmenu.session.cost import format_lasted, list_counts
from knobmenu.session.narration import describe_event
from knobmenu.session.part import Part
from knobmenu.session.sentences import (
    describe_changed_lamps,
    describe_changed_rows,
    describe_effects,
    describe_place,
    describe_rows,
)
from knobmenu.session.writing import compose_test, compose_trace

if TYPE_CHECKING:
    from knobmenu.bench.simulated import NamedChain
    from knobmenu.files.sessions import Unfinished

Say = Callable[[str], None]

_STILL_MS = 0
"""Real time, which is constant in line mode. [ms]"""

HELP = """\
Turn and press the knob, one or more on a line:
  3 or -2         turn by 3 detents up or 2 down
  press           press
  hold            long press
  double          double press
  held 3          turn while held
  wait 500        let 500 ms pass
  report KEY 12   report a value of a readout
Commands, one on a line:
  screen          print the whole screen
  where           print the current place in the menu
  values          print every value
  cost            print the detents, presses and time since home
  back, back 3    go back by events; forward, forward 3: go forward again
  start           go back to power-on
  branch          go to the end of the next branch of the history
  note TEXT       write a note; notes: print all notes
  save FILE       write the session as a trace; load FILE: play a trace from power-on
  test FILE       write the session as a test
  resume          resume the previous, unsaved session
  again           play the same events from power-on
  help            print this list
  quit            quit; the end of the input also quits"""


class _QuitError(Exception):
    """The user quits."""


@attrs.frozen
class _Source:
    """The source of a variant."""

    name: str
    """Its name in sentences if there are several variants; otherwise empty."""
    path: str | None
    """Its file, which may change; None: not from a file."""


def converse(
    designs: Sequence[Design],
    paths: Sequence[str | None],
    lines: Iterable[str],
    say: Say,
    prompt: Say | None = None,
    chain: NamedChain | None = None,
    recording: RunningRecording | None = None,
    resumable: Sequence[Unfinished] = (),
) -> bool:
    """Try designs line by line, until the input ends.

    Args:
        designs: The variants, at least one; one knob turns all of them.
        paths: The file of each variant, which is read again when it changes; None: not from a file.
        lines: The lines of input.
        say: Prints a line.
        prompt: Prints a prompt; None for a pipe.
        chain: The signal chain that turns pass through; None: every detent counts.
        recording: Records the session; None: it is not recorded.
        resumable: Earlier sessions that can be resumed.

    Returns:
        Whether every line succeeded.
    """
    talk = _Talk(designs, paths, say, chain, recording or RunningRecording(), resumable)
    talk.greet()
    return talk.process(lines, prompt)


class _Talk:
    """A session, and its reports in sentences."""

    def __init__(
        self,
        designs: Sequence[Design],
        paths: Sequence[str | None],
        say: Say,
        chain: NamedChain | None,
        recording: RunningRecording,
        resumable: Sequence[Unfinished],
    ) -> None:
        self.recording = recording
        self.resumable = list(resumable)
        self.session, self.dropped = recording.begin(designs, _STILL_MS)
        self.say = say
        several = len(designs) > 1
        self.sources = [
            _Source((Path(path).name if path else design.name) if several else "", path)
            for design, path in zip(designs, paths, strict=True)
        ]
        self.stamps = [None if path is None else get_stamp(path) for path in paths]
        self.chain = chain
        self.simulated_lines = 0

    def greet(self) -> None:
        """Print the introduction."""
        for part in self.session.parts:
            self.say(f"{part.design.name}. {part.design.about}".strip())
        if self.chain is not None:
            self.say(f"Turns pass through a simulated encoder, {self.chain.name}.")
        for sentence in self.dropped:
            self.say(f"  {sentence}")
        if self.resumable:
            first = self.resumable[0]
            lost = f"{first.format_start()} is not saved, {first.unsaved.description}"
            self.say(f"The session of {lost}. Write resume to resume it.")
        self.say("Write 1 or -1 to turn, press to press, help for all commands.")
        self.screen("")

    def process(self, lines: Iterable[str], prompt: Say | None) -> bool:
        """Execute each line; return whether all succeeded."""
        fine = True
        for line in _ask(lines, prompt):
            fine = self.reload_changed() and fine
            try:
                self.do(line)
            except _QuitError:
                break
            except KnobmenuError as error:
                fine = False
                self.say(f"Cannot: {error}")
            if (news := self.recording.report_change()) is not None:
                self.say(f"The session is {news[0]}.")
        return fine

    def do(self, line: str) -> None:
        """Execute one line."""
        word, _, rest = line.strip().partition(" ")
        command = _COMMANDS.get(word)
        if command is not None:
            command(self, rest.strip())
            return
        if word.isalpha() and word not in trace.WORDS:
            advice = nearest(word, (*_COMMANDS, *trace.WORDS))
            raise TraceError(
                f"expected a word of a trace or a command, got {quote_value(word)}."
                f" {advice or 'Write help for a list.'}"
            )
        events = self.count_through_chain(trace.parse_trace(line))
        began = self.session.at_ms
        for event in events:
            before = self.session.parts
            at_ms = began + event.at_ms - self.session.at_ms
            self.session.tell((attrs.evolve(event, at_ms=at_ms),), _STILL_MS)
            self.say(describe_event(self.session.designs[0], event).capitalize() + ".")
            self.report_changes(before)

    def count_through_chain(self, events: Sequence[Event]) -> Sequence[Event]:
        """Return the events that the firmware counts of a line; the chain settles before the next line."""
        if self.chain is None or not any(isinstance(event, Turn) for event in events):
            return events
        # Late: importing the bench is slow.
        from knobmenu.bench.simulated import send_through

        self.simulated_lines += 1
        counted, tally = send_through(self.chain.chain, events, self.simulated_lines)
        self.say(f"Simulated encoder: {format_stroke(tally)}.")
        return counted

    def report_changes(self, before: Sequence[Part]) -> None:
        """Print what changed."""
        for source, old, new in zip(self.sources, before, self.session.parts, strict=True):
            sentences = [*describe_effects(new), *describe_changed_rows(old, new), *describe_changed_lamps(old, new)]
            for sentence in sentences or ["Nothing changes."]:
                self.say(f"  {source.name + ': ' if source.name else ''}{sentence}")

    def reload_changed(self) -> bool:
        """Reload changed files; return whether all of them are valid."""
        fine = True
        for variant, source in enumerate(self.sources):
            if source.path is None or (now := get_stamp(source.path)) == self.stamps[variant]:
                continue
            self.stamps[variant] = now
            try:
                design = load(source.path)
            except DesignError as error:
                fine = False
                self.say(f"The changed file cannot be used. The last good design stays:\n{error}")
                continue
            before = self.session.parts
            dropped = self.session.timeline.redesign(variant, design, _STILL_MS)
            self.say("The design changed; place and values are kept.")
            for sentence in dropped:
                self.say(f"  {sentence}")
            self.report_changes(before)
        return fine

    # Commands.

    def screen(self, _: str) -> None:
        """Print the whole screen."""
        for source, part in zip(self.sources, self.session.parts, strict=True):
            if source.name:
                self.say(f"{source.name}:")
            for number, row in enumerate(describe_rows(part.screen), 1):
                self.say(f"  Row {number}: {row}")

    def where(self, _: str) -> None:
        """Print the current place in the menu."""
        for source, part in zip(self.sources, self.session.parts, strict=True):
            self.say(f"  {source.name + ': ' if source.name else ''}{describe_place(part)}")

    def values(self, _: str) -> None:
        """Print every value."""
        for source, part in zip(self.sources, self.session.parts, strict=True):
            for thing in (*part.design.settings, *part.design.readouts):
                words = describe_value(part.design, thing.key, get_value(part.design, part.state, thing.key))
                self.say(f"  {source.name + ': ' if source.name else ''}{thing.key} is {words}.")

    def cost(self, _: str) -> None:
        """Print the detents, presses and time since home."""
        for source, part in zip(self.sources, self.session.parts, strict=True):
            counts = ", ".join(f"{number} {unit}" for number, unit in list_counts(part.cost))
            self.say(f"  {source.name + ': ' if source.name else ''}since home {counts}, {format_lasted(part.cost)}.")

    def back(self, rest: str) -> None:
        """Go back by events."""
        self._go(self.session.history.place - _count(rest))

    def forward(self, rest: str) -> None:
        """Go forward again."""
        self._go(self.session.history.place + _count(rest))

    def start(self, _: str) -> None:
        """Go back to power-on."""
        self._go(0)

    def branch(self, _: str) -> None:
        """Go to the end of the next branch."""
        self.session.go_to_next_branch(_STILL_MS)
        self._report_place()

    def _go(self, place: int) -> None:
        self.session.go(place, _STILL_MS)
        self._report_place()

    def _report_place(self) -> None:
        history = self.session.history
        self.say(f"Event {history.place} of {history.last}, at {self.session.at_ms} ms.")
        self.screen("")

    def note(self, rest: str) -> None:
        """Write a note."""
        if not rest:
            raise TraceError("note: expected a text, got nothing")
        self.session.timeline.note(rest, _STILL_MS)
        self.say("Noted.")

    def notes(self, _: str) -> None:
        """Print all notes."""
        for note in self.session.notes:
            self.say(f"  At event {note.number}: {note.text}")
        if not self.session.notes:
            self.say("No notes.")

    def save(self, rest: str) -> None:
        """Write the session as a trace, with notes as comments."""
        self._write("save", rest, compose_trace(self.session.timeline))

    def test(self, rest: str) -> None:
        """Write the session as a test."""
        path = self.sources[0].path
        if path is None:
            raise TraceError("test: expected a design from a file, got one that is not in a file")
        self._write("test", rest, compose_test(self.session.timeline, Path(path), Path(rest)))

    def _write(self, word: str, name: str, text: str) -> None:
        if not name:
            raise TraceError(f"{word}: expected the name of a file, got nothing")
        output.create(output.expand(name), text)
        if self.session.timeline.recorder is not None:
            self.session.timeline.recorder.save(name, _STILL_MS)
        self.say(f"Written to {name}.")

    def resume(self, _: str) -> None:
        """Resume an earlier, unsaved session."""
        if not self.resumable:
            raise TraceError("resume: expected a session that was not saved, got none")
        self.session, dropped = self.recording.continue_with(self.resumable[0].path, self.session.designs, _STILL_MS)
        self.resumable = self.resumable[1:]
        for sentence in dropped:
            self.say(f"  {sentence}")
        self._report_place()

    def load(self, rest: str) -> None:
        """Play a trace from power-on."""
        if not rest:
            raise TraceError("load: expected the name of a file, got nothing")
        text = read_text(output.expand(rest), "a trace")
        self.session.play(trace.parse_trace(text), f"played {rest}", _STILL_MS)
        self._report_place()

    def again(self, _: str) -> None:
        """Play the same events from power-on."""
        self.session.play_again(_STILL_MS)
        self._report_place()

    def help(self, _: str) -> None:
        """Print all commands."""
        self.say(HELP)

    def quit(self, _: str) -> NoReturn:
        """Quit."""
        raise _QuitError


_COMMANDS: Mapping[str, Callable[[_Talk, str], None]] = {
    command.__name__: command
    for command in (
        _Talk.screen, _Talk.where, _Talk.values, _Talk.cost, _Talk.back, _Talk.forward, _Talk.start, _Talk.branch,
        _Talk.note, _Talk.notes, _Talk.save, _Talk.test, _Talk.resume, _Talk.load, _Talk.again, _Talk.help, _Talk.quit,
    )
}  # fmt: skip


def _ask(lines: Iterable[str], prompt: Say | None) -> Iterator[str]:
    """Walk the lines that are not blank, with a prompt before each."""
    each = iter(lines)
    while True:
        if prompt is not None:
            prompt("> ")
        line = next(each, None)
        if line is None:
            return
        if line.strip():
            yield line


def _count(rest: str) -> int:
    """Parse a number of events; the default is 1."""
    if not rest:
        return 1
    if not re.fullmatch("[0-9]{1,9}", rest):
        raise TraceError(f"expected a whole number of events, got {quote_value(rest)}")
    return int(rest)
