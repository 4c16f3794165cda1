"""The sittings of a study as its report reads them, and the recordings that it refuses."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import attrs

from knobmenu.errors import RecordingError
from knobmenu.review.attempts import Attempt, is_of_study, measure_attempt
from knobmenu.review.sitting import AskedQuestion, resume
from knobmenu.review.study import Trial
from knobmenu.review.study_form import Setup
from knobmenu.review.walk import read_walks
from knobmenu.session.moderator import ModeratorNotes
from knobmenu.session.records import Header, MarkRecord, Record


@attrs.frozen
class Person:
    """One participant, with attempts and answers."""

    code: str
    number: int
    """The number of the participant, from 0."""
    file: str
    """The file of the recording."""
    attempts: tuple[Attempt, ...]
    answers: tuple[tuple[AskedQuestion, int | str], ...]
    trials: tuple[Trial, ...]
    """All trials of the sitting, in order, finished or not."""
    finished: bool
    """Whether the sitting was finished."""
    other_version: tuple[Trial, ...] = ()
    """Trials that were recorded with another version of the design, which are not among the attempts."""
    marks: tuple[tuple[int, str], ...] = ()
    """The marks of the recording: the time of each [ms of real time since the header], and its name."""
    notes: ModeratorNotes = attrs.field(factory=ModeratorNotes)
    """The moderators' notes on the sitting."""

    def find_attempt(self, variant: str, task: str) -> Attempt | None:
        """Return the attempt at a task with a variant; None without one."""
        return next((one for one in self.attempts if one.trial == Trial(variant, task)), None)

    def find_answer(self, about: str, key: str) -> int | str | None:
        """Return the answer to a question about a variant, or about a variant and a task; None without one."""
        return next((answer for ask, answer in self.answers if (ask.about, ask.key) == (about, key)), None)


@attrs.frozen
class RefusedRecording:
    """A recording that cannot be used."""

    file: str
    reason: str


@attrs.frozen
class Collection:
    """Everything that a report is based on."""

    setup: Setup
    people: tuple[Person, ...]
    refused: tuple[RefusedRecording, ...] = ()

    def list_attempts(self, variant: str, task: str) -> tuple[tuple[Person, Attempt], ...]:
        """List who tried a task with a variant, and their attempts."""
        found = ((person, person.find_attempt(variant, task)) for person in self.people)
        return tuple((person, attempt) for person, attempt in found if attempt is not None)


Source = tuple[str, Callable[[], tuple[Header, Iterator[Record]]]]
"""A recording: the name of its file, and a function that opens it."""


def collect(
    setup: Setup,
    sources: Iterable[Source],
    progress: Callable[[int], None] = lambda done: None,
    read_notes: Callable[[str], ModeratorNotes] = lambda file: ModeratorNotes(),
) -> Collection:
    """Read the sittings of a study; unreadable recordings are listed as refused.

    Args:
        setup: The study.
        sources: Its recordings.
        progress: Called with the number of recordings read so far.
        read_notes: Reads the moderators' notes on the recording with a file name.
    """
    people: dict[str, Person] = {}
    refused = []
    for done, (file, read) in enumerate(sources, 1):
        try:
            person = read_person(setup, file, *read())
            if person.code in people:
                raise RecordingError(f"{file}: the code {person.code} is already used in {people[person.code].file}")
            people[person.code] = attrs.evolve(person, notes=read_notes(file))
        except RecordingError as error:
            refused.append(RefusedRecording(file, str(error).removeprefix(f"{file}: ").removeprefix(f"{file}:")))
        progress(done)
    return Collection(setup, tuple(sorted(people.values(), key=lambda one: (one.number, one.code))), tuple(refused))


def read_person(setup: Setup, file: str, header: Header, records: Iterable[Record]) -> Person:
    """Read one sitting.

    Raises:
        RecordingError: The recording is not a sitting of this study, or a record does not follow from those before it.
    """
    marks: list[tuple[int, str]] = []

    def collect_marks() -> Iterator[Record]:
        for record in records:
            if isinstance(record, MarkRecord):
                marks.append((record.real_ms, record.name))
            yield record

    attempts, other = [], []
    for walk in read_walks(header, collect_marks()):
        if is_of_study(setup, walk):
            attempts.append(measure_attempt(setup, walk))
        else:
            other.append(walk.trial)
    sitting = resume(setup.study, (name for _, name in marks))
    return Person(
        code=sitting.code,
        number=sitting.number,
        file=file,
        attempts=tuple(attempts),
        answers=sitting.answers,
        trials=sitting.trials,
        finished=sitting.stage is None,
        other_version=tuple(other),
        marks=tuple(marks),
    )
