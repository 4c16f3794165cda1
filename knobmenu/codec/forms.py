"""Forms: how each part of a design is represented as plain data.

A form has three methods. `build` builds the part directly and raises at the first problem; `collect` goes through the
same data more slowly, notes every problem with its path, and returns a stand-in for a broken part; `write` converts a
part to plain data.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple, Protocol

import attrs

from knobmenu.design.fields import Key, Whole, is_key
from knobmenu.errors import MOST_LISTED, DesignError, Problem, nearest, one_of, quote_value

Plain = Any
"""Plain data: dict with text keys, list, str, int or bool; input may contain other types, which are refused."""

BARE = re.compile(r"[A-Za-z0-9_-]+\Z")
"""A key that TOML accepts without quotes."""


class Found:
    """The problems found so far in the data of a design."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def note(self, path: str, found: str, expected: str, advice: str = "") -> None:
        """Note one problem."""
        self.problems.append(Problem(path, found, expected, advice))

    def note_all(self, path: str, problems: Iterable[Problem]) -> None:
        """Note problems whose paths are relative to `path`."""
        self.problems += [problem._replace(path=join_paths(path, problem.path)) for problem in problems]


class Form(Protocol):
    """The form of one part of a design."""

    def build(self, value: Plain) -> Any:
        """Build the part.

        Raises:
            DesignError: The data are invalid; `collect` lists the problems.
            TypeError: The same.
        """

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note every problem; return the part, a stand-in for it, or None."""

    def write(self, part: Any) -> Plain:
        """Write the part."""


def join_paths(path: str, inner: str) -> str:
    """Join a path and a path relative to it."""
    return f"{path}.{inner}" if path and inner and not inner.startswith("[") else path + inner


def join_key(path: str, key: str) -> str:
    """Return the path of a key inside a table; a key that is not a bare key is quoted, as in TOML."""
    return join_paths(path, key if BARE.match(key) else f'"{key}"')


def make_form_error(found: str, expected: str) -> DesignError:
    """Make the error for a value that a form cannot build; `collect` reports it with its path."""
    return DesignError([Problem("", found, expected)])


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
    """The forms of the fields that are not plain values or lists of plain values."""
    neutral: Mapping[str, Any] = attrs.field(factory=dict)
    """Values of required fields for a stand-in."""
    bare: str = ""
    """The field whose value can stand for the whole table; empty: none."""
    keyed: bool = False
    """Whether the field `key` is the name of the table and not inside it."""
    renamed: Mapping[str, str] = attrs.field(factory=dict)
    """Keys of earlier versions, and their present names."""

    @property
    def fields(self) -> dict[str, attrs.Attribute[Any]]:
        """The fields that the table can have."""
        return {
            field.name: field
            for field in attrs.fields(self.made)
            if field.init and not (self.keyed and field.name == "key")
        }

    def build(self, value: Plain, **key: str) -> Any:
        """Build an object of the class."""
        if self.bare and isinstance(value, str):
            value = {self.bare: value}
        if type(value) is not dict:
            raise make_form_error(quote_value(value), "a table")
        inner = self.inner
        if inner:
            value = {name: inner[name].build(item) if name in inner else item for name, item in value.items()}
        return self.made(**key, **value)

    def collect(self, value: Plain, path: str, found: Found, **key: str) -> Any:
        """Note the problems of each field, missing and unknown fields, and problems between fields."""
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
        """Note the problems of single fields.

        Returns:
            The value of each field, with stand-ins for broken parts, and whether no field is broken or missing.
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
        """Note an unknown name; if it is the old name of a field that the table lacks, return that field."""
        if name == "key" and self.keyed:
            found.note(join_key(path, name), "a key inside its table", "the key as the name of the table alone")
        elif new := self.renamed.get(name):
            found.note(join_key(path, name), f'renamed to "{new}"', "", f'write "{new}"')
            return None if new in value else self.fields[new]
        else:
            # Finding the nearest name is slow, and nobody reads the advice of the thousandth problem.
            advice = nearest(name, self.fields) if len(found.problems) < MOST_LISTED else ""
            found.note(join_key(path, name), "an unknown field", one_of(self.fields, 30), advice)
        return None

    def _advise(self, value: Plain) -> str:
        required = [name for name, field in self.fields.items() if not _has_default(field)]
        if isinstance(value, str) and len(required) > 1:
            return "write { " + ", ".join(f'{name} = "…"' for name in required) + " }"
        return ""

    def make_stand_in(self, good: Mapping[str, Any], **key: str) -> Any:
        """Build a stand-in that keeps the valid fields of a broken part; None if that is impossible."""
        own = {name: item for name, item in good.items() if item is not None}
        texts = {name: item for name, item in own.items() if name in ("label", "short", "question", "hazard")}
        for kept in (own, texts, {}):
            try:
                return self.made(**key, **{**self.neutral, **kept})
            except DesignError:
                continue
        return None

    def write(self, part: Any) -> Plain:
        """Write the fields that are not at their defaults; a bare value if that is enough."""
        table: dict[str, Plain] = {}
        for name, field in self.fields.items():
            value = getattr(part, name)
            if _has_default(field) and _is_default(field, value):
                continue
            if name in self.inner:
                table[name] = self.inner[name].write(value)
            else:
                table[name] = list(value) if isinstance(value, tuple) else value
        return table[self.bare] if self.bare and list(table) == [self.bare] else table


def _describe(field: attrs.Attribute[Any], inner: Mapping[str, Form]) -> str:
    """Describe what a missing field can hold."""
    return "a list" if isinstance(inner.get(field.name), Rows) else str(field.validator)


@attrs.frozen(eq=False, repr=False)
class Tagged:
    """A table whose `kind` selects its class."""

    kinds: Mapping[str, Table]

    def build(self, value: Plain, **key: str) -> Any:
        """Build an object of the class that the kind selects."""
        if type(value) is not dict or type(kind := value.get("kind")) is not str or kind not in self.kinds:
            raise make_form_error(quote_value(value), "a table with a kind")
        return self.kinds[kind].build({name: item for name, item in value.items() if name != "kind"}, **key)

    def collect(self, value: Plain, path: str, found: Found, **key: str) -> Any:
        """Note a missing or unknown kind, or else the problems of the other fields."""
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

    def write(self, part: Any) -> Plain:
        """Write the kind, then the other fields."""
        kind, form = next((kind, form) for kind, form in self.kinds.items() if form.made is type(part))
        return {"kind": kind, **form.write(part)}


@attrs.frozen(eq=False, repr=False)
class Keyed:
    """A table from keys to parts, in order."""

    part: Table | Tagged
    word: str
    """The noun for one part."""

    def build(self, value: Plain) -> Any:
        """Build the parts."""
        if type(value) is not dict:
            raise make_form_error(quote_value(value), "a table")
        build = self.part.build
        return tuple([build(item, key=key) for key, item in value.items()])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note the problems of each key and each part; omit parts whose key is invalid."""
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

    def write(self, part: Any) -> Plain:
        """Write the parts under their keys."""
        return {item.key: self.part.write(item) for item in part}


class Named(NamedTuple):
    """A field's name, which is all that a validator uses of the field."""

    name: str


@attrs.frozen(eq=False, repr=False)
class Rows:
    """A list of tables."""

    row: Table

    def build(self, value: Plain) -> Any:
        """Build the objects."""
        if type(value) is not list:
            raise make_form_error(quote_value(value), "a list")
        return tuple([self.row.build(item) for item in value])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note the problems of each row; replace broken rows with stand-ins."""
        if not isinstance(value, list):
            found.note(
                path, quote_value(value), "a list", "put it in brackets" if isinstance(value, dict | str) else ""
            )
            return None
        rows = [self.row.collect(item, f"{path}[{index}]", found) for index, item in enumerate(value)]
        return tuple(row for row in rows if row is not None)

    def write(self, part: Any) -> Plain:
        """Write each row."""
        return [self.row.write(item) for item in part]


_INTEGER = re.compile(r"(?:0|-?[1-9][0-9]{0,9})\Z")


class Names:
    """A table from integers, written as keys, to names."""

    def build(self, value: Plain) -> Any:
        """Build the pairs."""
        if type(value) is not dict or not all(map(_INTEGER.match, value)):
            raise make_form_error(quote_value(value), "a table")
        return tuple([(int(number), word) for number, word in value.items()])

    def collect(self, value: Plain, path: str, found: Found) -> Any:
        """Note keys that are not integers; the field's validator checks the names."""
        if not isinstance(value, dict):
            found.note(path, quote_value(value), "a table from values to words", 'write { 0 = "Off" }')
            return None
        for number in value:
            if not _INTEGER.match(number):
                found.note(join_key(path, number), f"the key {quote_value(number)}", f"{Whole()} as the key")
        return tuple((int(number), word) for number, word in value.items() if _INTEGER.match(number))

    def write(self, part: Any) -> Plain:
        """Write the pairs."""
        return {str(number): word for number, word in part}
