"""How each part of a design is written as plain data: tables, lists, texts, whole numbers, true and false.

One form serves a part in three ways. `build` makes the part directly and raises at the first problem;
`collect` goes through the very same data slowly, notes every problem with its path, and gives a part that can stand
in for a broken one; `plain` writes the part. TOML and JSON are two spellings of the same plain data.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple, Protocol

import attrs

from knobmenu.design.fields import Key, Whole, is_key
from knobmenu.errors import MOST_LISTED, DesignError, Problem, nearest, one_of, quote_value

Plain = Any
"""Plain data: dict with text keys, list, str, int or bool; a reader may find other things in their place."""

BARE = re.compile(r"[A-Za-z0-9_-]+\Z")
"""A key that TOML takes without quotes."""


class Found:
    """What is wrong in a design, noted while its data is gone through."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def note(self, path: str, found: str, allowed: str, advice: str = "") -> None:
        """Note one problem."""
        self.problems.append(Problem(path, found, allowed, advice))

    def note_all(self, path: str, problems: Iterable[Problem]) -> None:
        """Note problems whose paths start inside of `path`."""
        self.problems += [problem._replace(path=join_paths(path, problem.path)) for problem in problems]


class Form(Protocol):
    """How one part of a design is written."""

    def build(self, value: Plain) -> Any:
        """Make the part.

        Raises:
            DesignError: Something is wrong; `collect` finds out what.
            TypeError: The same.
        """

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note everything that is wrong, and give the part, or one that can stand in for it, or None."""

    def plain(self, part: Any) -> Plain:
        """Write the part."""


def join_paths(path: str, inner: str) -> str:
    """Join a path and one inside it."""
    return f"{path}.{inner}" if path and inner and not inner.startswith("[") else path + inner


def join_key(path: str, key: str) -> str:
    """Return the path of a key inside a table; a key that is not a plain word stands in quotes, as in TOML."""
    return join_paths(path, key if BARE.match(key) else f'"{key}"')


def make_form_error(found: str, allowed: str) -> DesignError:
    """Return the error for a value that a form cannot build; `collect` adds the place."""
    return DesignError([Problem("", found, allowed)])


def _has_default(field: attrs.Attribute[Any]) -> bool:
    return field.default is not attrs.NOTHING


def _is_default(field: attrs.Attribute[Any], value: object) -> bool:
    default = field.default
    if isinstance(default, attrs.Factory):  # type: ignore[arg-type]
        default = default.factory()  # type: ignore[union-attr]
    return bool(value == default)


@attrs.frozen(eq=False, repr=False)
class Table:
    """A table whose keys are the fields of a class."""

    made: type
    """The class."""
    inner: Mapping[str, Form] = attrs.field(factory=dict)
    """The forms of those fields that are more than one plain value or a list of them."""
    neutral: Mapping[str, Any] = attrs.field(factory=dict)
    """What to give for required fields where a stand-in is needed."""
    bare: str = ""
    """The one field whose value may stand for the whole table."""
    keyed: bool = False
    """Whether the field `key` is not inside the table but names it."""
    renamed: Mapping[str, str] = attrs.field(factory=dict)
    """Keys of earlier versions, and what they are called now."""

    @property
    def fields(self) -> dict[str, attrs.Attribute[Any]]:
        """The fields that the table may have."""
        return {
            field.name: field
            for field in attrs.fields(self.made)
            if field.init and not (self.keyed and field.name == "key")
        }

    def build(self, value: Plain, **key: str) -> Any:
        """Make an object of the class."""
        if self.bare and isinstance(value, str):
            value = {self.bare: value}
        if type(value) is not dict:
            raise make_form_error(quote_value(value), "a table")
        inner = self.inner
        if inner:
            value = {name: inner[name].build(item) if name in inner else item for name, item in value.items()}
        return self.made(**key, **value)

    def collect(self, value: Plain, path: str, found: Found, **key: str) -> Any:
        """Note what is wrong with each field, with those that are missing or unknown, and between them."""
        if self.bare and isinstance(value, str):
            value = {self.bare: value}
        if not isinstance(value, dict):
            words = f"a table of {one_of(self.fields).removeprefix('one of ')}"
            found.note(path, quote_value(value), f"text, or {words}" if self.bare else words, self._advise(value))
            return self.make_stand_in({}, **key)
        good, whole = self.note_fields(value, path, found)
        if whole:
            try:
                return self.made(**key, **good)
            except DesignError as error:
                found.note_all(path, error.problems)
        return self.make_stand_in(good, **key)

    def note_fields(self, value: dict[str, Plain], path: str, found: Found) -> tuple[dict[str, Any], bool]:
        """Note what is wrong with single fields.

        Returns:
            What each field holds, stand-ins for broken parts among it, and whether none is broken or missing.
        """
        fields, given, good, whole = self.fields, set(), {}, True
        for name, item in value.items():
            field = fields.get(name) or self._note_unknown(name, value, path, found)
            if field is None:
                continue
            given.add(field.name)
            before = len(found.problems)
            made = self._collect_field(field, item, join_key(path, name), found)
            sound = len(found.problems) == before
            whole &= sound
            if sound or field.name in self.inner:
                good[field.name] = made
        for name, field in fields.items():
            if name not in given and not _has_default(field):
                section = not path and isinstance(self.inner.get(name), Table)
                advice = f"it is required: write a section [{name}]" if section else "it is required"
                found.note(join_key(path, name), "nothing", _describe(field, self.inner), advice)
                whole = False
        return good, whole

    def _collect_field(self, field: attrs.Attribute[Any], item: Plain, path: str, found: Found) -> Any:
        before = len(found.problems)
        made = self.inner[field.name].collect(item, path, found) if field.name in self.inner else item
        if len(found.problems) > before:
            return made
        if field.converter is not None and isinstance(made, list):
            made = tuple(made)
        try:
            field.validator(None, field, made)  # type: ignore[misc]  # every field of a design has one
        except DesignError as error:
            place = path.removesuffix(field.name)
            found.problems += [problem._replace(path=place + problem.path) for problem in error.problems]
        return made

    def _note_unknown(self, name: str, value: dict[str, Plain], path: str, found: Found) -> attrs.Attribute[Any] | None:
        """Note a name that is not a field's; return the field that it was the name of, if the table lacks that."""
        if name == "key" and self.keyed:
            found.note(join_key(path, name), "a key inside its table", "the key as the name of the table alone")
        elif new := self.renamed.get(name):
            found.note(join_key(path, name), f'renamed to "{new}"', "", f'write "{new}"')
            return None if new in value else self.fields[new]
        else:
            # Nobody reads the advice of the thousandth.
            advice = nearest(name, self.fields) if len(found.problems) < MOST_LISTED else ""
            found.note(join_key(path, name), "an unknown field", one_of(self.fields, 30), advice)
        return None

    def _advise(self, value: Plain) -> str:
        required = [name for name, field in self.fields.items() if not _has_default(field)]
        if isinstance(value, str) and len(required) > 1:
            return "write { " + ", ".join(f'{name} = "…"' for name in required) + " }"
        return ""

    def make_stand_in(self, good: Mapping[str, Any], **key: str) -> Any:
        """Make an object that keeps what is good of a broken one."""
        own = {name: item for name, item in good.items() if item is not None}
        texts = {name: item for name, item in own.items() if name in ("label", "short", "question", "hazard")}
        for kept in (own, texts, {}):
            try:
                return self.made(**key, **{**self.neutral, **kept})
            except DesignError:
                continue
        return None

    def plain(self, part: Any) -> Plain:
        """Write the fields that are not at their defaults; a bare value where that is all."""
        table: dict[str, Plain] = {}
        for name, field in self.fields.items():
            value = getattr(part, name)
            if _has_default(field) and _is_default(field, value):
                continue
            if name in self.inner:
                table[name] = self.inner[name].plain(value)
            else:
                table[name] = list(value) if isinstance(value, tuple) else value
        return table[self.bare] if self.bare and list(table) == [self.bare] else table


def _describe(field: attrs.Attribute[Any], inner: Mapping[str, Form]) -> str:
    """Say what a missing field may hold."""
    return "a list" if isinstance(inner.get(field.name), Rows) else str(field.validator)


@attrs.frozen(eq=False, repr=False)
class Tagged:
    """A table whose `kind` picks its class."""

    kinds: Mapping[str, Table]

    def build(self, value: Plain, **key: str) -> Any:
        """Make an object of the class that the kind picks."""
        if type(value) is not dict or type(kind := value.get("kind")) is not str or kind not in self.kinds:
            raise make_form_error(quote_value(value), "a table with a kind")
        return self.kinds[kind].build({name: item for name, item in value.items() if name != "kind"}, **key)

    def collect(self, value: Plain, path: str, found: Found, **key: str) -> Any:
        """Note an absent or unknown kind; else what is wrong with the rest."""
        first = next(iter(self.kinds.values()))
        if not isinstance(value, dict):
            found.note(path, quote_value(value), "a table with a kind")
            return first.make_stand_in({}, **key)
        kind = value.get("kind")
        if isinstance(kind, str) and kind in self.kinds:
            rest = {name: item for name, item in value.items() if name != "kind"}
            return self.kinds[kind].collect(rest, path, found, **key)
        advice = nearest(kind, self.kinds) if isinstance(kind, str) else "" if "kind" in value else "it is required"
        place = join_key(path, "kind")
        found.note(place, quote_value(kind) if "kind" in value else "nothing", one_of(self.kinds), advice)
        label = value.get("label")
        return first.make_stand_in(
            {"label": label} if isinstance(label, str) and "label" in first.fields else {}, **key
        )

    def plain(self, part: Any) -> Plain:
        """Write the kind, then the rest."""
        kind, form = next((kind, form) for kind, form in self.kinds.items() if form.made is type(part))
        return {"kind": kind, **form.plain(part)}


@attrs.frozen(eq=False, repr=False)
class Keyed:
    """A table from the keys of parts to the parts, in their order."""

    part: Table | Tagged
    word: str
    """What one of them is called."""

    def build(self, value: Plain) -> Any:
        """Make the parts."""
        if type(value) is not dict:
            raise make_form_error(quote_value(value), "a table")
        build = self.part.build
        return tuple([build(item, key=key) for key, item in value.items()])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note what is wrong with each key and each part; parts without a possible key are left out."""
        if not isinstance(value, dict):
            found.note(path, quote_value(value), f"a table from keys to tables, one for each {self.word}")
            return None
        parts = []
        for key, item in value.items():
            if is_key(key):
                parts.append(self.part.collect(item, join_key(path, key), found, key=key))
                continue
            try:
                Key()(None, Named("key"), key)
            except DesignError as error:
                found.problems += [problem._replace(path=join_key(path, key)) for problem in error.problems]
            self.part.collect(item, join_key(path, key), found, key="unnamed")
        return tuple(part for part in parts if part is not None)

    def plain(self, part: Any) -> Plain:
        """Write the parts under their keys."""
        return {item.key: self.part.plain(item) for item in part}


class Named(NamedTuple):
    """A field's name: all that a rule needs to know of the field that it judges."""

    name: str


@attrs.frozen(eq=False, repr=False)
class Rows:
    """A list of tables."""

    row: Table

    def build(self, value: Plain) -> Any:
        """Make the objects."""
        if type(value) is not list:
            raise make_form_error(quote_value(value), "a list")
        return tuple([self.row.build(item) for item in value])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note what is wrong with each; broken ones are replaced in their places."""
        if not isinstance(value, list):
            found.note(
                path, quote_value(value), "a list", "put it in brackets" if isinstance(value, dict | str) else ""
            )
            return None
        rows = [self.row.collect(item, f"{path}[{index}]", found) for index, item in enumerate(value)]
        return tuple(row for row in rows if row is not None)

    def plain(self, part: Any) -> Plain:
        """Write each."""
        return [self.row.plain(item) for item in part]


_INTEGER = re.compile(r"(?:0|-?[1-9][0-9]{0,9})\Z")


class Names:
    """A table from whole numbers, written as keys, to words."""

    def build(self, value: Plain) -> Any:
        """Make pairs."""
        if type(value) is not dict or not all(map(_INTEGER.match, value)):
            raise make_form_error(quote_value(value), "a table")
        return tuple([(int(number), word) for number, word in value.items()])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note keys that are not whole numbers; the words are judged by the field's own rule."""
        if not isinstance(value, dict):
            found.note(path, quote_value(value), "a table from values to words", 'write { 0 = "Off" }')
            return None
        for number in value:
            if not _INTEGER.match(number):
                found.note(join_key(path, number), f"the key {quote_value(number)}", f"{Whole()} as the key")
        return tuple((int(number), word) for number, word in value.items() if _INTEGER.match(number))

    def plain(self, part: Any) -> Plain:
        """Write the pairs."""
        return {str(number): word for number, word in part}
