"""An import only goes down, importing the package costs nothing, and what is public is explained."""

from __future__ import annotations

import ast
import inspect
import re
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

import knobmenu

PACKAGE = Path(knobmenu.__file__).parent

FLOORS = {
    "errors": 0,
    "structure": 0,
    "events": 1,
    "design": 1,
    "codec": 2,
    "knob": 2,
    "machine": 2,
    "trace": 2,
    "screen": 3,
    "device": 4,
    "picture": 5,
    "session": 5,
    "files": 6,
    "analysis": 6,
    "bench": 6,
    "export": 6,
    "review": 6,
    "line_mode": 7,
    "terminal": 7,
    "web": 7,
    "cli": 8,
}
"""The floor of each part; DEVELOPERS.md says what lives there."""

MAY_KNOW = {("review", "analysis")}
"""The parts that may import another of their own floor: a review asks analysis what the least possible is."""

FACES = {"__init__", "__main__"}
"""The package's face and its door: they look names up when they are used, whatever the floor."""

HEAVY_HOMES = {
    "tomllib": {"codec", "files", "analysis"},
    "numpy": {"analysis", "bench"},
    "scipy": {"review"},
    "statsmodels": {"review"},
    "matplotlib": {"review"},
    "textual": {"terminal"},
    "textual_serve": {"web"},
    "aiohttp": {"web"},
    "rich": {"picture", "terminal"},
    "watchfiles": {"files"},
    "platformdirs": {"files"},
    "pytest": {"testing"},
    "shtab": {"cli"},
}
"""Where each dependency that is not free to load may be imported."""


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def part_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(path: Path) -> Iterator[tuple[str, int]]:
    """Walk the full names that a module imports, inside its functions too, each with its line."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: a relative import hides the floor"
            assert node.module is not None
            if node.module == "knobmenu":
                yield from ((f"knobmenu.{alias.name}", node.lineno) for alias in node.names)
            else:
                yield node.module, node.lineno


def test_every_part_has_a_floor() -> None:
    assert {part_of(path) for path in modules()} - FACES == set(FLOORS)


def test_developers_md_lists_the_floors_of_the_folder_tree() -> None:
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (\d) \| ([^|]+) \|", text, re.MULTILINE)

    listed = {part: int(floor) for floor, parts in rows for part in re.findall(r"`(\w+)/?`", parts)}

    assert listed == FLOORS


@pytest.mark.parametrize("part", sorted({part_of(path) for path in modules()} - FACES))
def test_an_import_only_goes_down(part: str) -> None:
    upwards = []
    for path in modules():
        if part_of(path) != part:
            continue
        for name, line in imported(path):
            root, _, rest = name.partition(".")
            other = rest.partition(".")[0]
            if root != "knobmenu" or other in ("", part, "__version__"):
                continue
            assert other in FLOORS, f"{path}:{line} imports {name}: import from the module that a name lives in"
            if FLOORS[other] >= FLOORS[part] and (part, other) not in MAY_KNOW:
                upwards.append(f"{path.relative_to(PACKAGE)}:{line} imports {name}")

    assert upwards == []


def module_name(path: Path) -> str:
    return ".".join(("knobmenu", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


def import_graph() -> dict[str, set[str]]:
    """Map each module to the modules it imports, for typing alone and inside functions too."""
    files = {module_name(path): path for path in modules()}
    graph: dict[str, set[str]] = {name: set() for name in files}
    for importer, path in files.items():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module is not None:
                inner = [f"{node.module}.{alias.name}" for alias in node.names]
                names = [name if name in files else node.module for name in inner]
            else:
                continue
            graph[importer].update(name for name in names if name in files)
    return graph


def cycles_of(graph: dict[str, set[str]]) -> list[list[str]]:
    """Find the groups of modules that import each other, by way of others too; each group sorted."""
    reached: dict[str, set[str]] = {}
    for start in graph:
        seen: set[str] = set()
        ahead = list(graph[start])
        while ahead:
            if (name := ahead.pop()) not in seen:
                seen.add(name)
                ahead += graph[name]
        reached[start] = seen
    groups = {frozenset(other for other in seen if name in reached[other]) for name, seen in reached.items()}
    return sorted(sorted(group) for group in groups if group)


def test_no_modules_import_each_other() -> None:
    graph = import_graph()
    del graph["knobmenu"]  # The package's face looks names up when they are used.

    assert cycles_of({name: others - {"knobmenu"} for name, others in graph.items()}) == []


def test_a_cycle_by_way_of_a_third_module_is_found() -> None:
    graph = {"a": {"b"}, "b": {"c"}, "c": {"a", "d"}, "d": set(), "e": {"e"}}

    assert cycles_of(graph) == [["a", "b", "c"], ["e"]]


@pytest.mark.parametrize(("library", "homes"), HEAVY_HOMES.items(), ids=HEAVY_HOMES)
def test_each_heavy_library_is_imported_in_its_home_alone(library: str, homes: set[str]) -> None:
    strangers = [
        f"{path.relative_to(PACKAGE)}:{line}"
        for path in modules()
        for name, line in imported(path)
        if name.partition(".")[0] == library and part_of(path) not in homes
    ]

    assert strangers == []


def loaded_by(statement: str) -> set[str]:
    """Give the top-level modules that a statement loads in a fresh interpreter."""
    code = f"import sys; before = set(sys.modules); {statement}; print(*set(sys.modules) - before)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    return {name.partition(".")[0] for name in done.stdout.split()} - set(sys.stdlib_module_names)


@pytest.mark.parametrize(
    "statement",
    [
        "import knobmenu",
        "import knobmenu; knobmenu.Design; knobmenu.Device; knobmenu.advance; knobmenu.render; knobmenu.parse_trace",
    ],
)
def test_the_core_loads_attrs_and_nothing_heavier(statement: str) -> None:
    assert loaded_by(statement) <= {"knobmenu", "attr", "attrs"}


def test_no_float_is_where_a_small_controller_computes_too() -> None:
    """Floors 1 to 4; on floor 0 the likeness of two names is a float, which no device computes."""
    floats = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for path in modules()
        if 0 < FLOORS.get(part_of(path), 8) < 5
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if (isinstance(node, ast.Constant) and isinstance(node.value, float))
        or (isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.Div))
        or (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "float")
    ]

    assert floats == []


@pytest.mark.parametrize("name", knobmenu.__all__)
def test_every_public_name_is_explained(name: str) -> None:
    thing = getattr(knobmenu, name)

    assert inspect.getdoc(thing), f"{name} has no docstring"
    assert not str(inspect.getdoc(thing)).startswith(f"{name}("), f"{name} has only the docstring that attrs wrote"


def test_every_public_name_stands_in_one_place() -> None:
    homes = {name: getattr(knobmenu, name).__module__ for name in knobmenu.__all__}

    for name, home in homes.items():
        assert home.startswith("knobmenu."), name
        assert getattr(import_module(home), name) is getattr(knobmenu, name)
    assert sorted(set(knobmenu.__all__)) == list(knobmenu.__all__)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_every_module_says_what_it_is_for(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
