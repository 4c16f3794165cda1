"""The classes that a design is made of, as far as what all of them share goes."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator

import pytest

import knobmenu.design
from knobmenu.structure import Structure


def _classes(of: type[Structure]) -> Iterator[type[Structure]]:
    for one in of.__subclasses__():
        yield one
        yield from _classes(one)


for _module in pkgutil.iter_modules(knobmenu.design.__path__):
    importlib.import_module(f"knobmenu.design.{_module.name}")

PARTS = sorted(
    {one for one in _classes(Structure) if one.__module__.startswith("knobmenu.design.")}, key=lambda one: one.__name__
)


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_no_class_of_a_design_has_methods_of_its_own_that_each_start_would_compile(part: type[Structure]) -> None:
    """They are written, compared and hashed by those of `Structure`: that takes a third off a start."""
    assert not {"__repr__", "__eq__", "__hash__"} & vars(part).keys()


def test_all_parts_of_a_design_are_looked_at() -> None:
    assert {"Design", "Menu", "Number", "Knob", "Equal", "Ramp", "Generator", "Accepted"} <= {
        part.__name__ for part in PARTS
    }


SHARED = [part for part in PARTS if any("__init__" in vars(one) for one in part.__subclasses__())]


@pytest.mark.parametrize("part", SHARED, ids=lambda part: part.__name__)
def test_no_object_is_made_of_what_classes_with_more_fields_share(part: type[Structure]) -> None:
    assert "__init__" not in vars(part)
