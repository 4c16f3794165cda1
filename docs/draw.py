"""Draw what docs take from the project's own tables: ``python -m docs.draw`` writes it into them.

It also exports the example of docs/reference/spec.md and draws the pictures of docs/reference/bench.md.

A drawn part of a document stands between a line ``<!-- drawn: NAME -->`` and a line ``<!-- end -->``. A test holds
every drawn part to what would be drawn now.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

from docs import afternoon, chain_keys, command_line, design_keys, report_tables
from knobmenu.bench import chain
from knobmenu.design.whole import Design
from knobmenu.export import diagram
from knobmenu.export.fields import SECTIONS, write_field_tables
from knobmenu.export.spec import write_spec
from knobmenu.files.toml import loads
from knobmenu.machine.state import Mode

HERE = Path(__file__).parent


def _mermaid(draw: Callable[[], str]) -> str:
    return f"```mermaid\n{draw()}```\n"


PARTS: dict[str, Callable[[], str]] = {
    "overview": partial(_mermaid, diagram.draw_overview),
    "transitions": diagram.write_transition_table,
    **{f"mode {mode.value}": partial(_mermaid, partial(diagram.draw_mode, mode)) for mode in Mode},
    **{f"fields {section}": partial(write_field_tables, name) for name, section in SECTIONS.items()},
    **{f"chain {section}": partial(chain_keys.keys_table, section) for section in chain.SECTIONS},
    **{f"keys {name}": partial(design_keys.keys_table, name) for name in ("top", "every kind", *design_keys.PARTS)},
    "complete example": design_keys.complete_example,
    "command line": command_line.reference,
    "departures": report_tables.departures_table,
    "measures": report_tables.measures_table,
    "presets": chain_keys.presets_table,
    "inputs": chain_keys.inputs_table,
    "afternoon figures": afternoon.figures_table,
    "afternoon claims": afternoon.claims_table,
}
"""Everything that can be drawn, by name."""

_DRAWN = re.compile(r"^<!-- drawn: (?P<name>[^>]+) -->\n(?P<body>.*?)^<!-- end -->$", re.DOTALL | re.MULTILINE)


def drawn(text: str) -> str:
    """Return a document with its drawn parts redrawn."""
    return _DRAWN.sub(lambda part: f"<!-- drawn: {part['name']} -->\n{PARTS[part['name']]()}<!-- end -->", text)


def names(text: str) -> list[str]:
    """Return the names of a document's drawn parts, in order."""
    return [part["name"] for part in _DRAWN.finditer(text)]


EXAMPLE = HERE / "reference" / "example.spec.json"
"""The spec of the design in Annex B of docs/reference/spec.md."""


def example() -> Design:
    """Return the design in Annex B of docs/reference/spec.md."""
    text = (HERE / "reference" / "spec.md").read_text(encoding="utf-8")
    return loads(text.split("```toml\n")[1].split("```")[0])


def example_spec() -> str:
    """Return what `EXAMPLE` is to hold."""
    return write_spec(example())


def outdated() -> dict[Path, str]:
    """Return what each file that is drawn ought to hold, for those that hold something else."""
    wanted = {path: drawn(path.read_text(encoding="utf-8")) for path in sorted(HERE.rglob("*.md"))}
    wanted |= {EXAMPLE: example_spec(), **afternoon.pictures()}
    return {
        path: text for path, text in wanted.items() if not path.exists() or path.read_text(encoding="utf-8") != text
    }


def main(arguments: list[str]) -> int:
    """Draw all documents again, or with `--check` only name those that are out of date."""
    check = arguments == ["--check"]
    stale = outdated()
    for path, text in stale.items():
        print(f"{path.relative_to(HERE.parent)}: {'out of date; run python -m docs.draw' if check else 'drawn again'}")
        if not check:
            path.write_text(text, encoding="utf-8")
    return int(check and bool(stale))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
