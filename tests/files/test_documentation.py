"""The reference of the design file describes every key that a file may have, and its example uses them all."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs
import pytest

from docs.design_keys import PARTS, complete_design, keys_table, meanings_of
from knobmenu.codec import to_plain
from knobmenu.design.hardware import PixelDisplay, SegmentDisplay
from knobmenu.design.kinds import SETTINGS
from knobmenu.design.whole import Design
from knobmenu.files import toml

TEXT = (Path(__file__).parents[2] / "docs" / "reference" / "design-file.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("part", [*PARTS.values(), Design], ids=lambda part: part.__name__)
def test_every_key_of_a_part_has_a_row(part: type[attrs.AttrsInstance]) -> None:
    keys = [field.name for field in attrs.fields(part) if field.init and field.name != "key"]
    sections = () if part is not Design else tuple(key for key in keys if f"[{key}" in TEXT)

    assert [key for key in keys if f"| `{key}` |" not in TEXT and key not in sections] == []


@pytest.mark.parametrize("name", ["top", "every kind", *PARTS])
def test_no_key_is_without_what_it_holds_and_what_it_means(name: str) -> None:
    for row in keys_table(name).splitlines()[2:]:
        _, key, holds, default, meaning, _ = (cell.strip() for cell in row.replace("\\|", "").split("|"))
        assert key
        assert holds
        assert default
        assert meaning, f"{name}: {key} has no meaning"


def _objects(part: Any) -> Iterator[Any]:
    if attrs.has(type(part)):
        yield part
        for field in attrs.fields(type(part)):
            yield from _objects(getattr(part, field.name))
    elif isinstance(part, tuple):
        for inner in part:
            yield from _objects(inner)


def test_the_complete_example_is_a_design_that_uses_every_key() -> None:
    text = TEXT.partition("## A complete example")[2].partition("```toml\n")[2].partition("```")[0]
    design = complete_design()

    assert toml.loads(text) == design
    assert to_plain(toml.loads(text)) == to_plain(design)
    used: dict[type, set[str]] = {}
    for part in _objects(design):
        own = used.setdefault(type(part), set())
        own |= {
            field.name
            for field in attrs.fields(type(part))
            if field.default is attrs.NOTHING or getattr(part, field.name) != _default(field)
        }
    shared = {name for kind in SETTINGS for name in used[kind]}
    for made in (*PARTS.values(), Design):
        if made in (SegmentDisplay, PixelDisplay):
            continue
        wanted = {field.name for field in attrs.fields(made) if field.init}
        assert wanted <= used[made] | (shared if made in SETTINGS else set()), made


def _default(field: Any) -> Any:
    return field.default.factory() if isinstance(field.default, attrs.Factory) else field.default  # type: ignore[arg-type]


def test_the_first_appearance_of_a_key_is_explained() -> None:
    assert f"# {meanings_of(Design)['name']}\nname = " in TEXT
