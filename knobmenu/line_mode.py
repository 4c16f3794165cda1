"""Line mode, the same device in lines of text: for screen readers, plain terminals and pipes.

A line of input is words of a trace, such as ``3 press -2``, or one command. What changed is printed in plain sentences:
the row that shows something else, the new value, the lamp that went on. Device time stands still between lines; the
words of a trace happen 100 ms after each other, as everywhere.
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
"""Real time, which does not run here. [ms]"""

HELP = """\
Words that turn and press the knob, several in a line:
  3 or -2         turn by so many detents
  press           press
  hold            long press
  double          double press
  held 3          turn while held
  wait 500        let 500 ms pass
  report KEY 12   the device reports a readout's value
Commands, one in a line:
  screen          say the whole screen
  where           say which screen this is and what it is about
  values          say every value
  cost            say what was done since home
  back, back 3    go back by events; forward, forward 3: go forward again
  start           go back to power-on
  branch          go to the end of the next branch, where going back began one
  note TEXT       write a note; notes: say them all
  save FILE       write what was done as a trace; load FILE: play one from power-on
  test FILE       write what was done as a test
  resume          go on with the session of before that was not saved
  again           play the same from power-on
  help            these words
  quit            leave; the end of the input does too"""


class _Left(Exception):  # noqa: N818 - not an error: the user asked to leave
    """The user is done."""


@attrs.frozen
class _Source:
    """Where a variant comes from."""

    name: str
    """What it is called where there are several."""
    path: str | None
    """Its file, which may change; or nothing."""


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
        designs: The variants, at least one; one knob works them all.
        paths: For each its file, which is read again when it has changed; or None.
        lines: What the person writes.
        say: Prints a line.
        prompt: Prints what asks for the next line; nothing for a pipe.
        chain: What turns go through; nothing: every detent counts.
        recording: Records the session; nothing: nobody does.
        resumable: Sessions of before that can go on.

    Returns:
        Whether every line could be done.
    """
    talk = _Talk(designs, paths, say, chain, recording or RunningRecording(), resumable)
    talk.greet()
    return talk.hear(lines, prompt)


class _Talk:
    """A session, and how it is reported in sentences."""

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
        self.heard = 0

    def greet(self) -> None:
        """Say what this is."""
        for part in self.session.parts:
            self.say(f"{part.design.name}. {part.design.about}".strip())
        if self.chain is not None:
            self.say(f"Turns go through a simulated encoder, {self.chain.name}.")
        for sentence in self.dropped:
            self.say(f"  {sentence}")
        if self.resumable:
            first = self.resumable[0]
            lost = f"{first.format_start()} is not saved, {first.unsaved.description}"
            self.say(f"The session of {lost}. Write resume to resume it.")
        self.say("Write 1 or -1 to turn, press to press, help for all words.")
        self.screen("")

    def hear(self, lines: Iterable[str], prompt: Say | None) -> bool:
        """Do what each line says; tell whether all could be done."""
        fine = True
        for line in _ask(lines, prompt):
            fine = self.read_again() and fine
            try:
                self.do(line)
            except _Left:
                break
            except KnobmenuError as error:
                fine = False
                self.say(f"Cannot: {error}")
            if (news := self.recording.report_change()) is not None:
                self.say(f"The session is {news[0]}.")
        return fine

    def do(self, line: str) -> None:
        """Do what one line says."""
        word, _, rest = line.strip().partition(" ")
        command = _COMMANDS.get(word)
        if command is not None:
            command(self, rest.strip())
            return
        if word.isalpha() and word not in trace.WORDS:
            advice = nearest(word, (*_COMMANDS, *trace.WORDS))
            raise TraceError(
                f"expected a word of a trace or a command, got {quote_value(word)}."
                f" {advice or 'Write help for all of them.'}"
            )
        events = self.counted(trace.parse_trace(line))
        began = self.session.at_ms
        for event in events:
            before = self.session.parts
            at_ms = began + event.at_ms - self.session.at_ms
            self.session.tell((attrs.evolve(event, at_ms=at_ms),), _STILL_MS)
            self.say(describe_event(self.session.designs[0], event).capitalize() + ".")
            self.changes(before)

    def counted(self, events: Sequence[Event]) -> Sequence[Event]:
        """Return what the firmware makes of a line; it comes to rest before the next one."""
        if self.chain is None or not any(isinstance(event, Turn) for event in events):
            return events
        # Late: the bench takes a while to load.
        from knobmenu.bench.simulated import through

        self.heard += 1
        counted, tally = through(self.chain.chain, events, self.heard)
        self.say(f"Simulated encoder: {format_stroke(tally)}.")
        return counted

    def changes(self, before: Sequence[Part]) -> None:
        """Say what is different now."""
        for source, old, new in zip(self.sources, before, self.session.parts, strict=True):
            sentences = [*describe_effects(new), *describe_changed_rows(old, new), *describe_changed_lamps(old, new)]
            for sentence in sentences or ["Nothing changes."]:
                self.say(f"  {source.name + ': ' if source.name else ''}{sentence}")

    def read_again(self) -> bool:
        """Take changed files; tell whether none of them is broken."""
        fine = True
        for variant, source in enumerate(self.sources):
            if source.path is None or (now := get_stamp(source.path)) == self.stamps[variant]:
                continue
            self.stamps[variant] = now
            try:
                design = load(source.path)
            except DesignError as error:
                fine = False
                self.say(f"The changed file cannot be used, the last good design stays:\n{error}")
                continue
            before = self.session.parts
            dropped = self.session.timeline.redesign(variant, design, _STILL_MS)
            self.say("The design changed; place and values are kept.")
            for sentence in dropped:
                self.say(f"  {sentence}")
            self.changes(before)
        return fine

    # Commands.

    def screen(self, _: str) -> None:
        """Say the whole screen."""
        for source, part in zip(self.sources, self.session.parts, strict=True):
            if source.name:
                self.say(f"{source.name}:")
            for number, row in enumerate(describe_rows(part.screen), 1):
                self.say(f"  Row {number}: {row}")

    def where(self, _: str) -> None:
        """Say which screen is shown."""
        for source, part in zip(self.sources, self.session.parts, strict=True):
            self.say(f"  {source.name + ': ' if source.name else ''}{describe_place(part)}")

    def values(self, _: str) -> None:
        """Say every value."""
        for source, part in zip(self.sources, self.session.parts, strict=True):
            for thing in (*part.design.settings, *part.design.readouts):
                words = describe_value(part.design, thing.key, get_value(part.design, part.state, thing.key))
                self.say(f"  {source.name + ': ' if source.name else ''}{thing.key} is {words}.")

    def cost(self, _: str) -> None:
        """Say what was done since home."""
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
        self._arrived()

    def _go(self, place: int) -> None:
        self.session.go(place, _STILL_MS)
        self._arrived()

    def _arrived(self) -> None:
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
        """Say all notes."""
        for note in self.session.notes:
            self.say(f"  At event {note.number}: {note.text}")
        if not self.session.notes:
            self.say("No notes.")

    def save(self, rest: str) -> None:
        """Write what was done as a trace, notes as remarks."""
        self._write("save", rest, compose_trace(self.session.timeline))

    def test(self, rest: str) -> None:
        """Write what was done as a test."""
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
        """Go on with a session that was not saved."""
        if not self.resumable:
            raise TraceError("resume: expected a session that was not saved, got none")
        self.session, dropped = self.recording.continue_with(self.resumable[0].path, self.session.designs, _STILL_MS)
        self.resumable = self.resumable[1:]
        for sentence in dropped:
            self.say(f"  {sentence}")
        self._arrived()

    def load(self, rest: str) -> None:
        """Play a trace from power-on."""
        if not rest:
            raise TraceError("load: expected the name of a file, got nothing")
        text = read_text(output.expand(rest), "a trace")
        self.session.play(trace.parse_trace(text), f"played {rest}", _STILL_MS)
        self._arrived()

    def again(self, _: str) -> None:
        """Play the same from power-on."""
        self.session.play_again(_STILL_MS)
        self._arrived()

    def help(self, _: str) -> None:
        """Say all words."""
        self.say(HELP)

    def quit(self, _: str) -> NoReturn:
        """Leave."""
        raise _Left


_COMMANDS: Mapping[str, Callable[[_Talk, str], None]] = {
    command.__name__: command
    for command in (
        _Talk.screen, _Talk.where, _Talk.values, _Talk.cost, _Talk.back, _Talk.forward, _Talk.start, _Talk.branch,
        _Talk.note, _Talk.notes, _Talk.save, _Talk.test, _Talk.resume, _Talk.load, _Talk.again, _Talk.help, _Talk.quit,
    )
}  # fmt: skip


def _ask(lines: Iterable[str], prompt: Say | None) -> Iterator[str]:
    """Return the lines that say something, asking for each."""
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
    """Read how many events; one where no number is given."""
    if not rest:
        return 1
    if not re.fullmatch("[0-9]{1,9}", rest):
        raise TraceError(f"expected a whole number of events, got {quote_value(rest)}")
    return int(rest)
