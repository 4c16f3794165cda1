"""Every suite whole, several at a time: ``python -m tests.whole [PATH…]``, or `.ci/whole`.

A part is a slow file, or what is left of a folder. Slow parts begin first, so that no processor is idle at the end.
What a part prints is in build/whole/PART.log, and what each took in build/whole/times.txt.
The exit status is 0 if all passed, 1 if not, 130 after Ctrl-C.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import attrs

ROOT = Path(__file__).parents[1]
LOGS = ROOT / "build" / "whole"

COMPUTING_S = {
    "tests/bench/test_firmware.py": 500,
    "tests/analysis/cost/test_routes.py": 500,
    "tests/bench/test_plan.py": 430,
    "tests/demos/test_walks.py": 250,
    "tests/fuzz/test_fuzz.py": 220,
    "tests/machine/test_invariants.py": 200,
    "tests/bench/test_suggest.py": 190,
    "tests/fuzz/test_command_line.py": 180,
    "tests/session/test_recording.py": 170,
    "tests/screen/test_invariants.py": 100,
    "tests/device/test_device.py": 80,
    "tests/bench/test_noise_firmware.py": 80,
    "tests/export/test_reading.py": 80,
    "tests/analysis/test_abstraction.py": 75,
    "tests/export/test_schema.py": 70,
    "tests/bench/test_noise_ngspice.py": 70,
    "tests/machine/test_analysis_parts.py": 45,
    "tests/export/test_independent.py": 45,
    "tests/picture/test_drawing.py": 40,
    "tests/bench/test_capture_certainty.py": 30,
    "tests/bench/test_noise.py": 20,
    "tests/cli/test_destinations.py": 15,
}
"""The files that compute for long, and about how long; `times.txt` of the last run has newer figures. [s]"""

WAITING_S = {
    "tests/terminal/test_input_order.py": 600,
    "tests/cli/test_study.py": 510,
    "tests/terminal/test_kept_sessions.py": 300,
    "tests/cli/test_ends.py": 200,
    "tests/terminal/test_ends.py": 145,
    "tests/terminal/test_bursts.py": 115,
    "tests/cli/test_numbers.py": 70,
    "tests/terminal/test_pty_app.py": 55,
    "tests/web/test_browser.py": 40,
    "tests/files/test_watching.py": 28,
    "tests/terminal/test_tmux_app.py": 10,
    "tests/terminal/test_tmux_bench.py": 10,
}
"""Those that mostly wait for programs they start, and about how long; they run beside the others. [s]"""

LONGEST_S = 3300
"""After that, a part is interrupted and has failed. [s]"""

_SAYS_EVERY_S = 60
_GRACE_S = 15


@attrs.frozen
class Part:
    """What one process runs."""

    name: str
    paths: tuple[str, ...]
    expected_s: int
    """About how long it takes alone; it decides the order and nothing else. [s]"""
    waits: bool
    """Whether it mostly waits."""


@attrs.frozen
class Running:
    """A part that is running."""

    part: Part
    process: subprocess.Popen[bytes]
    began_s: float


@attrs.frozen
class Ended:
    """How a part ended."""

    part: Part
    status: int
    wall_s: float
    processor_s: float
    summary: str
    """The last line that it printed."""


def divide(files: Sequence[str]) -> list[Part]:
    """Divide test files into parts, the longest first.

    Args:
        files: Their paths from the root, with forward slashes.
    """
    parts, folders = [], dict[str, list[str]]()
    for file in files:
        if file in COMPUTING_S or file in WAITING_S:
            expected_s = COMPUTING_S.get(file, 0) or WAITING_S[file]
            parts.append(Part(_name(file), (file,), expected_s, waits=file in WAITING_S))
        else:
            folders.setdefault("/".join(file.split("/")[:2]) if file.count("/") > 1 else "tests", []).append(file)
    parts += [
        Part(f"{folder.removeprefix('tests/')}-rest", tuple(few), 10 + 4 * len(few), waits=False)
        for folder, few in folders.items()
    ]
    return sorted(parts, key=lambda part: -part.expected_s)


def _name(file: str) -> str:
    return file.removeprefix("tests/").removesuffix(".py").replace("/", "-").replace("test_", "")


def begin(part: Part) -> Running:
    """Begin a part, in a group of processes of its own."""
    environment = os.environ | {"KNOBMENU_WHOLE": "1", "OPENBLAS_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1"}
    quiet = ("-q", "-p", "no:cacheprovider", "-o", "tmp_path_retention_policy=failed", "--durations=10")
    with (LOGS / f"{part.name}.log").open("wb") as log:
        process = subprocess.Popen(
            (sys.executable, "-m", "pytest", *quiet, *part.paths),
            cwd=ROOT,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    return Running(part, process, time.monotonic())


def wait_for_one(running: list[Running]) -> Iterator[Ended]:
    """Wait up to a second; walk the parts that ended."""
    time.sleep(0.2)
    for one in list(running):
        if time.monotonic() - one.began_s > LONGEST_S:
            end([one])
        done, status, used = os.wait4(one.process.pid, os.WNOHANG)
        if done:
            one.process.returncode = os.waitstatus_to_exitcode(status)
            running.remove(one)
            yield Ended(
                one.part,
                one.process.returncode,
                time.monotonic() - one.began_s,
                used.ru_utime + used.ru_stime,
                last_line(one.part),
            )


def end(running: Sequence[Running]) -> None:
    """Interrupt parts, so that each ends what it started; kill what is left after a while."""
    for one in running:
        _signal(one, signal.SIGINT)
    until_s = time.monotonic() + _GRACE_S
    while time.monotonic() < until_s and any(_is_alive(one) for one in running):
        time.sleep(0.1)
    for one in running:
        _signal(one, signal.SIGKILL)


def _is_alive(one: Running) -> bool:
    # Not collected: whoever waits for it wants what it used.
    return os.waitid(os.P_PID, one.process.pid, os.WEXITED | os.WNOHANG | os.WNOWAIT) is None


def _signal(one: Running, number: signal.Signals) -> None:
    try:
        os.killpg(one.process.pid, number)
    except ProcessLookupError:
        return


def last_line(part: Part) -> str:
    """Return the last line that a part printed."""
    lines = (LOGS / f"{part.name}.log").read_text(encoding="utf-8", errors="replace").split("\n")
    return next((line.strip("= ") for line in reversed(lines) if line.strip()), "nothing printed")


def run(parts: Sequence[Part], jobs: int) -> int:
    """Run parts; return the exit status.

    Args:
        parts: In the order in which they begin.
        jobs: How many compute at a time; as many again may wait beside them.
    """
    waiting, running, ended = list(parts), list[Running](), list[Ended]()
    began_s = said_s = time.monotonic()
    try:
        while waiting or running:
            for part in list(waiting):
                if sum(one.part.waits == part.waits for one in running) < jobs:
                    waiting.remove(part)
                    running.append(begin(part))
            for one in wait_for_one(running):
                ended.append(one)
                said_s = time.monotonic()
                print(_say(one, len(ended), len(parts), said_s - began_s), flush=True)
            if time.monotonic() - said_s > _SAYS_EVERY_S:
                said_s = time.monotonic()
                names = ", ".join(f"{one.part.name} ({said_s - one.began_s:.0f} s)" for one in running)
                print(f"{_clock(said_s - began_s)}  {len(ended)} of {len(parts)} done; running: {names}", flush=True)
    except KeyboardInterrupt:
        print("interrupted; ending what is running", flush=True)
        end(running)
        for cut_off in running:
            cut_off.process.wait()
        return 130
    finally:
        _write_times(ended)
    failed = [one for one in ended if one.status]
    for one in failed:
        print(f"FAILED: {one.part.name}: {one.summary}; see {LOGS / one.part.name}.log")
    computed_s = sum(one.processor_s for one in ended)
    print(
        f"whole: {len(ended)} parts, {len(failed)} failed, "
        f"{_clock(time.monotonic() - began_s)} with {computed_s / 60:.1f} min of processor time"
    )
    return 1 if failed else 0


def _say(one: Ended, done: int, count: int, since_s: float) -> str:
    what = "passed" if one.status == 0 else "FAILED"
    took = f"{one.wall_s:.0f} s, {one.processor_s:.0f} s of them computing"
    return f"{_clock(since_s)}  {done} of {count}  {one.part.name}: {what} in {took}: {one.summary}"


def _clock(since_s: float) -> str:
    return f"{since_s // 60:02.0f}:{since_s % 60:02.0f}"


def _write_times(ended: Sequence[Ended]) -> None:
    rows = [f"{one.processor_s:7.0f} {one.wall_s:7.0f}  {one.status}  {one.part.name}  {one.summary}" for one in ended]
    head = "processor_s wall_s status part summary"
    (LOGS / "times.txt").write_text("\n".join([head, *sorted(rows, reverse=True), ""]), encoding="utf-8")


def find_files(places: Sequence[str]) -> list[str]:
    """Return the test files in places, or in all of tests, without the benchmarks."""
    found = [path for place in places or ["tests"] for path in (ROOT / place).rglob("test_*.py")]
    found += [ROOT / place for place in places if (ROOT / place).is_file()]
    names = {path.relative_to(ROOT).as_posix() for path in found}
    return sorted(name for name in names if not name.startswith("tests/benchmarks/"))


def main() -> int:
    """Run every suite whole, or those that are named."""
    parser = argparse.ArgumentParser(prog="python -m tests.whole", description=__doc__)
    parser.add_argument("paths", nargs="*", metavar="PATH", help="test files or folders; none: all")
    parser.add_argument(
        "--jobs", type=int, default=os.cpu_count() or 1, help="how many compute at a time (one per processor)"
    )
    options = parser.parse_args()
    files = find_files(options.paths)
    if not files:
        parser.error("expected at least one test file, got none")
    shutil.rmtree(LOGS, ignore_errors=True)
    LOGS.mkdir(parents=True)
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    signal.signal(signal.SIGHUP, signal.default_int_handler)
    return run(divide(files), options.jobs)


if __name__ == "__main__":
    sys.exit(main())
