"""A sitting on the screen: read, answered and worked with the knob's own keys, and never left by accident."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import attrs
import pytest

from knobmenu.cli.sittings import OpenSitting, open_sitting
from knobmenu.files.studies import load_study
from knobmenu.picture.palettes import DARK
from knobmenu.picture.runs import Pictures
from knobmenu.review.answering import write
from knobmenu.review.pages import Choice, Line, Page, Rating
from knobmenu.review.sitting import AskedQuestion, Consent, Practice
from knobmenu.review.study import MOST_CONSENT, Trial
from knobmenu.review.study_form import read_study
from knobmenu.session import repeats
from knobmenu.terminal.clock import now_ms
from knobmenu.terminal.sitting import screen
from knobmenu.terminal.sitting.drawing import divide, draw_page
from knobmenu.terminal.sitting.keys import strike
from knobmenu.terminal.sitting.screen import SittingApp
from tests.terminal.person import Person

DEMOS = Path(__file__).parents[2] / "demos" / "study"
TO_WAKE = ("space", *["right"] * 3, "space", *["right"] * 3, "space")
"""The wake light of the first lamp: menu, extras, wake light."""


@pytest.fixture
def study(tmp_path: Path) -> Path:
    for path in DEMOS.glob("*.toml"):
        shutil.copy(path, tmp_path)
    return tmp_path / "study.toml"


class Participant(Person[SittingApp]):
    """Somebody who takes part."""

    @property
    def stage(self) -> object:
        """The stage that comes next."""
        return self.app.sitting.ongoing.stage

    @property
    def marks(self) -> list[str]:
        """What was recorded of the sitting."""
        return [mark.name for mark in self.app.sitting.session.timeline.marks]

    async def key(self, *names: str, repeat: bool = False) -> None:
        """Type keys, each when what the one before led to is drawn."""
        for name in names:
            await super().key(name, repeat=repeat)

    async def until(self, true: Callable[[], bool]) -> None:
        """Wait until something is true."""
        for _ in range(2000):
            if true():
                return
            await self.pilot.pause(0.005)
        raise AssertionError(self.shows())

    def shows(self) -> str:
        """Read everything that is shown."""
        return "\n".join(self.app.sitting.shown(name) for name in ("page", "task", "device-0", "keys", "small"))


@asynccontextmanager
async def seated(study: Path, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Participant]:
    setup = load_study(study, read_study)

    def opened() -> OpenSitting:
        return open_sitting(setup, study, "p01", now_ms())

    app = SittingApp(opened(), opened, DARK, blinking=False)
    async with app.run_test(size=size) as pilot:
        yield Participant(app, pilot)


@pytest.fixture(autouse=True)
def quick_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take keys that come faster than a hand strikes them for what they are."""
    monkeypatch.setattr(repeats, "REPEAT_MS", 0)
    monkeypatch.setattr(repeats, "EVEN_MS", -1)
    monkeypatch.setattr(screen, "UNREAD_MS", -1)


async def to_first_task(participant: Participant) -> None:
    await participant.key("space", "space", "right", "escape", "right", "space", "space")
    assert participant.app.sitting.ongoing.has_device
    assert isinstance(participant.stage, Trial)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_from_consent_to_the_first_answer(study: Path, size: tuple[int, int]) -> None:
    async with seated(study, size) as participant:
        assert isinstance(participant.stage, Consent)
        assert "recorded under a code" in participant.shows()
        await participant.key("space")
        assert isinstance(participant.stage, Practice)
        await participant.key("space")
        assert "Nothing counts yet" in participant.shows()
        await participant.key("escape", "right", "space")
        assert "Task 1 of 8" in participant.shows()
        await participant.key("space")
        assert "Switch the wake light on." in participant.shows()
        assert "Esc" in participant.shows()
        await participant.key(*TO_WAKE)
        await participant.until(lambda: "Done." in participant.shows())
        assert isinstance(participant.stage, AskedQuestion)
        await participant.key("space")
        assert "Choose an answer first" in participant.shows()
        await participant.key("6")
        assert "[6]" in participant.shows()
        await participant.key("space")

        assert participant.marks[-3:] == ["begin a wake", "end done", 'answer ["a wake", "ease", 6]']


async def test_who_does_not_agree_takes_no_part(study: Path) -> None:
    async with seated(study) as participant:
        await participant.key("right", "space")
        await participant.until(lambda: not participant.app.is_running)

        assert participant.marks == ["participant p01 0"]


async def test_giving_up_asks_first(study: Path) -> None:
    async with seated(study) as participant:
        await to_first_task(participant)
        await participant.key("escape", "space")
        assert participant.app.sitting.works, "back at the device"
        assert isinstance(participant.stage, Trial)
        await participant.key("escape", "right", "space")

        assert isinstance(participant.stage, AskedQuestion)
        assert participant.marks[-1] == "end gave-up"


async def test_no_key_of_the_designer_does_anything(study: Path) -> None:
    async with seated(study) as participant:
        await to_first_task(participant)
        number = participant.app.sitting.session.history.number
        await participant.key(*"qfnswovicpke", "comma", "full_stop", "f10", "f1", "ctrl+z", "ctrl+p", "colon", "home")

        assert participant.app.is_running
        assert participant.app.screen is participant.app.sitting
        assert participant.app.sitting.session.history.number == number
        assert not participant.app.sitting.session.frozen


async def test_the_moderator_leaves_by_a_key_that_asks(study: Path) -> None:
    async with seated(study) as participant:
        await to_first_task(participant)
        await participant.key("ctrl+c", "space")
        assert participant.app.sitting.works, "back at the device"
        await participant.key("ctrl+q", "right", "space")
        await participant.until(lambda: not participant.app.is_running)

    async with seated(study) as participant:
        assert "Task 1 of 8" in participant.shows(), "the task that was interrupted is put again"


async def test_a_release_of_the_mouse_after_the_task_does_no_harm(
    study: Path,
) -> None:
    async with seated(study) as participant:
        await to_first_task(participant)
        box = participant.app.sitting.box("knob")
        x, y = box.x + box.columns // 2, box.y + (box.rows - 2) // 2
        await participant.pilot.mouse_down(offset=(x, y))
        assert participant.app.sitting.session.hand.down
        await participant.key("escape", "right", "space")
        await participant.pilot.mouse_up(offset=(x, y))

        assert isinstance(participant.stage, AskedQuestion)


async def test_a_recording_that_fails_pauses_the_sitting_until_it_can_be_written(study: Path) -> None:
    async with seated(study) as participant:
        await to_first_task(participant)
        opened = participant.app.sitting._open
        assert isinstance(opened, OpenSitting)
        opened.file.close()  # every further record fails
        await participant.key("right")
        assert "Paused" in participant.shows()
        assert "cannot be" in participant.shows()

        await participant.key("space")
        assert "Task 1 of 8" in participant.shows()
        await participant.key("space", *TO_WAKE)
        await participant.until(lambda: isinstance(participant.stage, AskedQuestion))

        assert participant.marks[-3:] == ["begin a wake", "begin a wake", "end done"]


async def test_a_small_terminal_says_so_and_loses_nothing(study: Path) -> None:
    async with seated(study, (50, 12)) as participant:
        assert "at least 60 by 18 are needed" in participant.shows().replace("\n", " ")
        await participant.pilot.resize_terminal(80, 24)
        await participant.until(lambda: "I agree" in participant.shows())


# Pages.


def keys(page: Page, *names: str) -> tuple[Page, list[int | str]]:
    answers = []
    for name in names:
        page, answer = strike(page, name, " " if name == "space" else name if len(name) == 1 else None)
        if answer is not None:
            answers.append(answer)
    return page, answers


def test_a_choice_stops_at_its_ends() -> None:
    page = Choice("", "", ("one", "two", "three"))

    assert keys(page, "left", "space")[1] == [0]
    assert keys(page, "down", "right", "right", "enter")[1] == [2]
    assert keys(page, "down", "up", "enter")[1] == [0]
    assert keys(page, "2", "space")[1] == [1]
    assert keys(page, "9", "q", "space")[1] == [0]


def test_a_scale_suggests_no_answer() -> None:
    page = Rating("", "", 7, "low", "high")
    asked, answers = keys(page, "space")
    assert answers == []
    assert asked.remark

    assert keys(page, "right", "space")[1] == [4]
    assert keys(page, "7", "right", "space")[1] == [7]
    assert keys(page, "1", "left", "space")[1] == [1]
    assert keys(page, "8", "0", "space")[1] == []
    assert keys(Rating("", "", 11, "", ""), "0", "up", "enter")[1] == [11]


def test_a_line_is_written() -> None:
    page, answers = keys(Line("", ""), *"so so", "space", "backspace", "backspace", "left", "enter")
    assert answers == ["so s"]
    assert keys(Line("", ""), "enter")[1] == [""]
    page = write(Line("", ""), "one\ntwo\t\x1b")
    assert isinstance(page, Line)
    assert page.typed == "one two  "


SIZES = ((60, 18), (80, 24), (120, 40))

LONG_TEXTS = (
    "word " * (MOST_CONSENT // 5),
    "x" * MOST_CONSENT,
    "漢字" * (MOST_CONSENT // 2),
    "a\n\n" * 200,
    "\n\n".join(" ".join(f"{paragraph}.{word}" for word in range(60)) for paragraph in range(10)),
)


def decode_text(pictures: Pictures, name: str = "page") -> str:
    return "\n".join("".join(run.text for run in row) for row in pictures[name][1])


def read_on(page: Choice, size: tuple[int, int], key: str, until: str) -> tuple[Choice, list[str]]:
    """Strike a key until the page shows a text; return it then, and what it showed."""
    shown = [decode_text(draw_page(page, *size))]
    while until not in shown[-1]:
        assert len(shown) < 2 * MOST_CONSENT
        struck, answer = strike(page, key, None, [part.before for part in divide(page, *size)])
        assert isinstance(struck, Choice)
        assert answer is None, "no answer before the whole text was shown"
        page = struck
        shown.append(decode_text(draw_page(page, *size)))
    return page, shown


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("text", LONG_TEXTS)
@pytest.mark.parametrize("key", ["space", "right"])
def test_a_long_text_is_shown_whole_before_it_can_be_accepted(text: str, size: tuple[int, int], key: str) -> None:
    first = Choice("Title", text, ("I agree", "I do not agree"))
    last, shown = read_on(first, size, key, "I agree")

    assert len(shown) > 1
    lines = [line for page in shown for line in page.split("\n")[2:] if "Next page" not in line and "agree" not in line]
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert shown[0].startswith(f"Title: page 1 of {len(shown)}\n")
    assert keys_of(last, size) == [1], "a key of the text chooses nothing"
    back, again = read_on(last, size, "left", "page 1 of")
    assert again == shown[::-1]
    assert back == first


def keys_of(page: Choice, size: tuple[int, int]) -> list[int | str]:
    """Return the answers to a turn and a press on a page."""
    parts = [part.before for part in divide(page, *size)]
    turned, _ = strike(page, "right", None, parts)
    _, answer = strike(turned, "space", " ", parts)
    return [] if answer is None else [answer]


@pytest.mark.parametrize("text", LONG_TEXTS)
def test_what_is_read_stays_in_view_when_the_terminal_changes_its_size(text: str) -> None:
    page = Choice("Title", text, ("I agree", "I do not agree"))
    for before in divide(page, 80, 24):
        for size in SIZES:
            parts = divide(page, *size)
            place = max(place for place, part in enumerate(parts) if part.before <= before.before)
            shown = decode_text(draw_page(attrs.evolve(page, read=before.before), *size))
            assert f"page {place + 1} of {len(parts)}" in shown
            assert parts[place].lines[0] in shown


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_long_consent_is_read_page_by_page(study: Path, size: tuple[int, int]) -> None:
    paragraphs = [
        "\n".join([f"This is line {line} of paragraph {number}." for line in range(8)]) for number in range(14)
    ]
    text = "\n\n".join(paragraphs)
    assert 3500 < len(text) <= MOST_CONSENT
    old = study.read_text(encoding="utf-8")
    line = next(line for line in old.splitlines() if line.startswith("consent ="))
    study.write_text(old.replace(line, f'consent = """\n{text}\n"""'), encoding="utf-8")
    async with seated(study, size) as participant:
        read = ""
        while "I agree" not in participant.shows():
            read += participant.app.sitting.shown("page")
            assert "Next page" in participant.shows()
            assert participant.marks == ["participant p01 0"]
            await participant.key("space")
        read += participant.app.sitting.shown("page")
        assert all(f"of paragraph {number}." in read for number in range(14))
        await participant.key("left")
        assert "I agree" not in participant.shows()
        await participant.key("ctrl+c", "space")
        assert "Next page" in participant.shows(), "the same page again"
        await participant.pilot.resize_terminal(50, 12)
        await participant.key("space", "space", "space")
        assert participant.marks == ["participant p01 0"], "nothing is accepted unseen"
        await participant.pilot.resize_terminal(*size)
        await participant.until(lambda: "Next page" in participant.shows())
        await participant.key("right", "space")

        assert participant.marks == ["participant p01 0", "consent given"]


async def test_a_press_that_was_meant_for_the_page_before_turns_no_page(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(screen, "UNREAD_MS", 60_000)
    text = study.read_text(encoding="utf-8").replace("You try two versions", "word " * 700 + "You try two versions")
    study.write_text(text, encoding="utf-8")
    async with seated(study) as participant:
        await participant.key("right")
        assert "page 2 of" in participant.shows()
        await participant.key("space")
        assert "page 2 of" in participant.shows()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    "page",
    [
        *(Choice("Title", text, ("one " * 20, "two")) for text in LONG_TEXTS),
        Choice("Title", "word " * 40, ("one " * 20, "two")),
        Rating("Title", "word " * 40, 11, "not what I thought of it before", "what I thought of it before"),
        Rating("Title", "How?", 2, "no", "yes"),
        Line("Title", "word " * 40, typed="word " * 200),
    ],
)
def test_every_page_fits(page: Page, size: tuple[int, int]) -> None:
    columns, rows = size
    for box, drawing in draw_page(page, columns, rows).values():
        assert box.x + box.columns <= columns
        assert box.y + box.rows <= rows
        assert len(drawing) <= box.rows
        assert all(sum(len(run.text) for run in row) <= box.columns for row in drawing)
