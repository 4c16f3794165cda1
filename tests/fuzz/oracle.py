"""What must hold for whatever is read: no traceback, no raw character, little time, little memory.

Each batch runs in a process of its own whose memory is bounded, so that one input can neither stop the suite nor hide
what another one took.
"""

from __future__ import annotations

import multiprocessing
import resource
import time
import traceback
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import attrs

from tests.fuzz.kinds import KINDS, Kind

MOST_S = 2.0
"""How long reading anything up to 1 MB may take. [s of processor time]"""

MOST_BYTES = 300 * 1024 * 1024
"""How much memory a process that reads it may use at most. [bytes]"""

LONGEST_MESSAGE = 64 * 1024
"""How long a message about it may be. [characters]"""

CASES = Path(__file__).parent / "cases"
"""Inputs that once failed, as files named KIND.NAME.bin: they stay fixed."""


@attrs.frozen
class Failure:
    """An input that breaks the promise."""

    kind: str
    number: int
    """Which mutant of the kind; -1 for a kept case."""
    what: str
    content: bytes

    def __str__(self) -> str:
        return f"{self.kind} mutant {self.number} ({len(self.content)} bytes): {self.what}\n{self.content[:400]!r}"


def judge(kind: Kind, content: bytes) -> str:
    """Read one input; return what is wrong with how that went, or nothing."""
    began_s = time.process_time()
    try:
        kind.read(content)
        message = ""
    except kind.refusals as error:
        message = str(error)
        if not message:
            return "refused without a word"
    except BaseException:
        return "".join(traceback.format_exc()[-1500:])
    took_s = time.process_time() - began_s
    if took_s > MOST_S:
        return f"took {took_s:.1f} s"
    if len(message) > LONGEST_MESSAGE:
        return f"a message of {len(message)} characters"
    raw = [line for line in message.split("\n") if not line.isprintable()]
    return f"raw characters in the message: {raw[0]!r}" if raw else ""


def bound_memory() -> None:
    """Let this process fail with MemoryError rather than take more than it may."""
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))


def judge_batch(name: str, numbers: range) -> list[Failure]:
    """Read several mutants of a kind; return the first few that break the promise."""
    bound_memory()
    kind, failures = KINDS[name], []
    for number in numbers:
        content = kind.mutant(number)
        if what := judge(kind, content):
            failures.append(Failure(name, number, what, content))
            if len(failures) == 5:
                break
    return failures


def judge_mutants(name: str, count: int, first: int = 0, batch: int = 500) -> Iterator[Failure]:
    """Read many mutants of a kind, on every processor; walk those that break the promise."""
    batches = [range(at, min(at + batch, first + count)) for at in range(first, first + count, batch)]
    # New processes: a fork would begin with all that the suite holds by now.
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        for failures in pool.map(judge_batch, [name] * len(batches), batches):
            yield from failures


def kept_cases() -> list[Path]:
    """List the inputs that once failed."""
    return sorted(CASES.glob("*.bin"))
