"""Random mutants of the core, and which of them the core's suites let live: ``python -m tests.mutation``.

A mutant is the package with one small change: another operator, another constant, a condition negated or decided, a
statement left out. It is killed when a suite fails or hangs. Each survivor is printed with its place and its change;
those that cannot matter stand in `tests/mutants_kept.txt` with the reason, one a line as ``PLACE: CHANGE  # reason``,
and are not counted. Mutants are drawn from a seed, so a run can be repeated and divided; as long as the package stands
as it is, a survivor keeps its number, and ``--only`` tries it again. Lines of the list that name no mutant of the core
as it is now are printed first.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]

_BEHAVIOUR = tuple(
    f"tests/machine/test_{name}.py" for name in ("behaviour", "persistence", "outside", "memory", "clock")
)

Suites = tuple[str, ...]

SUITES: dict[str, tuple[Suites, ...]] = {
    "design": (
        ("tests/files/test_opening.py", "tests/files/test_bad_files.py", "tests/design"),
        (*_BEHAVIOUR, "tests/screen/test_home.py", "tests/session/test_simulation.py"),
        ("tests/codec", "tests/machine"),
    ),
    "knob": (("tests/knob", "tests/export/test_independent_knob.py"), ("tests/device",)),
    "machine": (
        _BEHAVIOUR,
        ("tests/demos/test_radio.py", "tests/machine/test_transitions.py", "tests/machine/test_analysis_parts.py"),
        ("tests/export/test_independent.py", "tests/machine/test_invariants.py"),
    ),
    "screen": (("tests/screen", "tests/demos/test_radio.py"), ("tests/export/test_independent.py",)),
}
"""For each folder of the core, the suites that are to kill its mutants: rounds, each of one process, the quickest
first. A round runs only where the one before found nothing, and the suite named like the module opens the first."""

HANGING = 3
"""How many times the processor time that a round takes without a mutant it may take with one before it counts as
hanging; a start of `START_S` is added."""

START_S = 5
"""[s of processor time]"""

ASLEEP_S = 1800
"""When a round counts as hanging that takes no processor time. [s]"""

KEPT = ROOT / "tests" / "mutants_kept.txt"
"""Survivors that cannot matter, each with its reason."""

_OPERATORS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult, ast.Mod: ast.FloorDiv,
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.And: ast.Or, ast.Or: ast.And, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.LShift: ast.RShift, ast.RShift: ast.LShift,
}  # fmt: skip


class Mutant(NamedTuple):
    """One change to one file."""

    path: str
    line: int
    change: str
    source: str
    """The whole file with the change."""

    @property
    def name(self) -> str:
        """Where it is and what it is, as the kept list has it."""
        return f"{self.path}: {self.change}"


def mutants_of(path: Path) -> Iterator[Mutant]:
    """Walk the mutants of a file."""
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    for node in ast.walk(tree):
        for change, undo in _changes(node, text.splitlines()):
            yield Mutant(str(path.relative_to(ROOT)), getattr(node, "lineno", 0), change, ast.unparse(tree))
            undo()


def _changes(node: ast.AST, lines: Sequence[str]) -> Iterator[tuple[str, Undo]]:
    """Change a node of a file with these lines in each way, and give what undoes it."""
    before = ast.unparse(node) if isinstance(node, ast.expr | ast.stmt) else ""
    if isinstance(node, ast.BinOp | ast.AugAssign | ast.BoolOp) and type(node.op) in _OPERATORS:
        yield from _replaced(node, "op", _OPERATORS[type(node.op)](), before)
    if isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in _OPERATORS:
        yield from _replaced(node, "ops", [_OPERATORS[type(node.ops[0])]()], before)
    if isinstance(node, ast.Constant) and type(node.value) is int and hasattr(node, "lineno"):
        yield from _constant(node, node.value + 1, lines)
    if isinstance(node, ast.Constant) and type(node.value) is bool:
        yield from _constant(node, not node.value, lines)
    if isinstance(node, ast.If | ast.IfExp | ast.While):
        condition = ast.unparse(node.test)
        yield from _replaced(node, "test", ast.UnaryOp(ast.Not(), node.test), f"if {condition}")
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield from _replaced(node, "op", ast.UAdd() if isinstance(node.op, ast.USub) else ast.Not(), before)
    if isinstance(node, ast.Return) and node.value is not None and isinstance(node.value, ast.Name):
        yield from _replaced(node, "value", ast.Constant(None), before)


class Undo:
    """Puts a changed field of a node back."""

    def __init__(self, node: ast.AST, field: str) -> None:
        self.node, self.field, self.was = node, field, getattr(node, field)

    def __call__(self) -> None:
        """Put it back."""
        setattr(self.node, self.field, self.was)


def _replaced(node: ast.AST, field: str, new: object, before: str) -> Iterator[tuple[str, Undo]]:
    undo = Undo(node, field)
    setattr(node, field, new)
    after = ast.unparse(node) if isinstance(node, ast.expr | ast.stmt) else str(new)
    short = after if not isinstance(node, ast.If | ast.While) else f"if {ast.unparse(node.test)}"
    if short != before:
        yield f"{' '.join(before.split())[:90]} -> {' '.join(short.split())[:90]}", undo
    undo()


def _constant(node: ast.Constant, new: int, lines: Sequence[str]) -> Iterator[tuple[str, Undo]]:
    """Change a constant. Its line is in the name: the kept list means this one, not every such number of the file."""
    undo, line = Undo(node, "value"), lines[node.lineno - 1].encode()
    after = line[: node.col_offset] + str(new).encode() + line[node.end_col_offset :]
    node.value = new
    yield f"{line.decode().strip()} -> {after.decode().strip()}", undo
    undo()


def survives(mutant: Mutant, folder: str, place: Path, times_s: Mapping[Suites, float]) -> bool:
    """Run the suites on a mutant in a copy of the project, until one fails or takes much longer than without it."""
    target = place / mutant.path
    original, before = target.read_text(encoding="utf-8"), target.stat()
    target.write_text(mutant.source, encoding="utf-8")
    # Python tells by a source's time whether it is compiled: a mutant gets a time of its own, the original its old one.
    os.utime(target, (before.st_atime + 1000, before.st_mtime + 1000))
    own = f"tests/{folder}/test_{target.stem}.py"
    opening = (own,) if (place / own).exists() else ()
    try:
        for suites in SUITES[folder]:
            if not passes((*opening, *suites), place, HANGING * times_s[suites] + START_S):
                return False
            opening = ()
        return True
    finally:
        target.write_text(original, encoding="utf-8")
        os.utime(target, (before.st_atime, before.st_mtime))


def time_suites(suites: Suites, place: Path) -> float | None:
    """Run suites on the unchanged copy, and keep its compiled modules for later runs.

    Returns:
        The processor time that they took; None where they fail. [s]
    """
    before = _used_s()
    return _used_s() - before if passes(suites, place, None) else None


def passes(suites: Suites, place: Path, longest_s: float | None) -> bool:
    """Return whether suites pass on a copy of the project.

    Args:
        suites: Which.
        place: The copy.
        longest_s: When they count as hanging, however busy the machine is; None: never, for the unchanged copy, whose
            compiled modules are kept. [s of processor time]
    """
    environment = os.environ | {"PYTHONPATH": str(place), "KNOBMENU_WHOLE": "0"}
    limits = (resource.RLIM_INFINITY, resource.RLIM_INFINITY)
    if longest_s is not None:
        environment["PYTHONDONTWRITEBYTECODE"] = "1"
        limits = (int(longest_s), int(longest_s))
    options = ("-q", "-x", "-p", "no:cacheprovider", "--hypothesis-profile=mutation")
    command = [sys.executable, "-m", "pytest", *options, *dict.fromkeys(suites)]
    limit = partial(resource.setrlimit, resource.RLIMIT_CPU, limits)
    try:
        done = subprocess.run(
            command, cwd=place, env=environment, capture_output=True, timeout=ASLEEP_S, preexec_fn=limit
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


def _used_s() -> float:
    """Return the processor time of the suites that ended. [s]"""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def read_kept() -> set[str]:
    """Read the names of the mutants that cannot matter."""
    lines = KEPT.read_text(encoding="utf-8").splitlines() if KEPT.exists() else []
    return {line.split("  # ")[0] for line in lines if line and not line.startswith("#")}


def main() -> int:
    """Draw mutants, run them and print the survivors."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument(
        "folders", nargs="*", metavar="FOLDER", help=f"parts of the core: {', '.join(SUITES)}; none: all"
    )
    parser.add_argument("--count", type=int, default=300, help="how many mutants are drawn")
    parser.add_argument("--seed", type=int, default=1, help="which mutants are drawn")
    parser.add_argument(
        "--only", nargs="+", type=int, metavar="NUMBER", help="of those drawn, which are tried: numbers of survivors"
    )
    options = parser.parse_args()
    folders = options.folders or list(SUITES)
    if unknown := set(folders) - set(SUITES):
        parser.error(f"expected {', '.join(SUITES)}, got {', '.join(sorted(unknown))}")
    drawn = [
        (folder, mutant)
        for folder in folders
        for path in sorted((ROOT / "knobmenu" / folder).rglob("*.py"))
        for mutant in mutants_of(path)
    ]
    chosen = random.Random(options.seed).sample(drawn, min(options.count, len(drawn)))
    kept, alive = read_kept(), 0
    if set(folders) == set(SUITES):
        for name in sorted(kept - {mutant.name for _, mutant in drawn}):
            print(f"kept, but the core has no such mutant: {name}")
    with tempfile.TemporaryDirectory() as directory:
        place = Path(directory)
        for name in ("knobmenu", "tests", "demos", "docs"):
            shutil.copytree(ROOT / name, place / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(ROOT / "pyproject.toml", place)
        times_s: dict[Suites, float] = {}
        for suites in dict.fromkeys(suites for folder in folders for suites in SUITES[folder]):
            took_s = time_suites(suites, place)
            if took_s is None:
                print(f"{', '.join(suites)} fail without a mutant; nothing was tried")
                return 2
            times_s[suites] = took_s
        for number, (folder, mutant) in enumerate(chosen, 1):
            if options.only and number not in options.only:
                continue
            print(f"\r{number} of {len(chosen)}, {alive} alive", end="", file=sys.stderr, flush=True)
            if mutant.name in kept or not survives(mutant, folder, place, times_s):
                continue
            alive += 1
            print(f"{number}: alive: {mutant.path}:{mutant.line}: {mutant.change}", flush=True)
    print(f"{_used_s():.0f} s of processor time, {sum(times_s.values()):.0f} s of them without a mutant")
    return min(alive, 1)


if __name__ == "__main__":
    sys.exit(main())
