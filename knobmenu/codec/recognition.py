"""Recognise the kind of a document, so that the error for a file given to the wrong command names the right one."""

from __future__ import annotations

import json
from enum import Enum

from knobmenu.codec.forms import Plain
from knobmenu.codec.tables import ORDER
from knobmenu.errors import DesignError, Problem

CHAIN_SECTIONS = ("turning", "encoder", "contact", "filter", "reader", "pressing", "decoder", "judging", "tolerance")
"""The sections of a signal chain."""

USE_SECTIONS = ("use", "values", "leaving", "shown")
"""The sections of a use profile."""

STUDY_SECTIONS = {"variants", "tasks"}
"""Sections that every study has and no other document has."""


class Document(Enum):
    """The kinds of document that knobmenu reads, each with its noun and the advice on which command takes it."""

    DESIGN = ("a design", "Give it to knobmenu try, play, check, cost or export")
    CHAIN = ("a signal chain", "Give it to knobmenu bench, or to knobmenu try with --chain")
    SPEC = ("a spec", "Write the design in it with: knobmenu export FILE --to design")
    RECORDING = ("a recording of a session", "Give it to knobmenu replay or watch, or to knobmenu try with --resume")
    STUDY = ("a study", "Give it to knobmenu study, report or serve")
    USE_PROFILE = ("a use profile", "Give it to knobmenu cost with --profile")
    OPERATORS = ("a file of operators", "Give it to knobmenu cost with --operators")

    def __init__(self, noun: str, advice: str) -> None:
        self.noun = noun
        self.advice = advice


def recognize(data: Plain) -> Document | None:
    """Return the kind of a document from its plain data, valid or not; None if it resembles none."""
    if not isinstance(data, dict):
        return None
    if data.get("format") == "knobmenu-spec":
        return Document.SPEC
    if data.get("kind") == "header" and "designs" in data:
        return Document.RECORDING
    keys = data.keys() - {"format"}
    if keys & STUDY_SECTIONS:
        return Document.STUDY
    if keys & {"home", "menus", "settings", "name"}:
        return Document.DESIGN
    if "operators" in keys:
        return Document.OPERATORS
    if keys and keys <= set(CHAIN_SECTIONS):
        return Document.CHAIN
    if keys and keys <= set(USE_SECTIONS):
        return Document.USE_PROFILE
    return Document.DESIGN if keys & set(ORDER) else None


def recognize_json(text: str) -> Document | None:
    """Return the kind of a JSON text, from all of it or from its first line; None if it resembles none."""
    for part in (text, text.lstrip().partition("\n")[0]):
        try:
            return recognize(json.loads(part))
        except (ValueError, RecursionError):
            continue
    return None


def recognize_text(text: str) -> Document | None:
    """Return what kind of document a text in TOML or JSON is; None if it is none of them."""
    # Late: designs are recognised as plain data, and most of what imports this reads no TOML.
    from knobmenu.codec.toml_text import parse_toml

    if text.lstrip().startswith("{"):
        return recognize_json(text)
    try:
        return recognize(parse_toml(text))
    except DesignError:
        return None


def refuse_other(found: Document | None, expected: Document, file: str = "") -> None:
    """Refuse a document of another kind.

    Raises:
        DesignError: The document is of another kind; the message names the command that takes it.
    """
    if found is not expected:
        refuse_document(found, expected.noun, file)


def refuse_document(found: Document | None, expected: str, file: str = "") -> None:
    """Refuse a document of any kind where something else is expected, such as `a trace`.

    Raises:
        DesignError: It is one; says which command takes it.
    """
    if found is not None:
        raise DesignError([Problem("", found.noun, expected, found.advice, file)])
