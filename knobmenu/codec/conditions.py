"""Conditions as plain data: a table with one key, the operator, which holds the operands."""

from __future__ import annotations

from typing import Any

import attrs

from knobmenu.codec.forms import Found, Plain, join_key, make_form_error
from knobmenu.design import conditions
from knobmenu.design.conditions import DEEPEST, Condition, Not
from knobmenu.errors import DesignError, nearest, one_of, quote_value

_COMPARED: dict[str, type] = {
    "equal": conditions.Equal,
    "unequal": conditions.Unequal,
    "less": conditions.Less,
    "at_least": conditions.AtLeast,
}
_JOINED: dict[str, type] = {"all": conditions.All, "any": conditions.Any}
_CONDITION_WORDS = (*_COMPARED, *_JOINED, "not")


class Conditions:
    """The form of a condition."""

    def build(self, value: Plain, depth: int = 1) -> Condition:
        """Build the condition."""
        if type(value) is not dict or len(value) != 1 or depth > DEEPEST:
            raise make_form_error(quote_value(value), "a condition")
        ((word, inside),) = value.items()
        if word == "not":
            return Not(self.build(inside, depth + 1))
        if type(inside) is not list:
            raise make_form_error(quote_value(inside), "a list")
        if word in _JOINED:
            made: Condition = _JOINED[word](tuple([self.build(part, depth + 1) for part in inside]))
            return made
        if word not in _COMPARED or len(inside) != 2:
            raise make_form_error(word, "a condition")
        compared: Condition = _COMPARED[word](*inside)
        return compared

    def collect(self, value: Plain, path: str, found: Found, depth: int = 1) -> Any:
        """Note each problem at its path; return None for a condition with any problem."""
        before = len(found.problems)
        self._collect(value, path, found, depth)
        return self.build(value) if len(found.problems) == before else None

    def _collect(self, value: Plain, path: str, found: Found, depth: int) -> None:
        if not isinstance(value, dict) or len(value) != 1:
            kind = f"{len(value)} keys in one condition" if isinstance(value, dict) else quote_value(value)
            found.note(
                path,
                kind,
                f"a table with one key, {one_of(_CONDITION_WORDS)}",
                'write { equal = ["key", value] }'
                if not value or not isinstance(value, dict)
                else "join them with all",
            )
            return
        ((word, inside),) = value.items()
        place = join_key(path, word)
        if word not in _CONDITION_WORDS:
            found.note(place, f'the condition "{word}"', one_of(_CONDITION_WORDS), nearest(word, _CONDITION_WORDS))
        elif depth > DEEPEST:
            found.note(path, "conditions nested deeper", f"at most {DEEPEST} levels of conditions")
        elif word == "not":
            self._collect(inside, place, found, depth + 1)
        elif not isinstance(inside, list):
            expected = "a list of conditions" if word in _JOINED else 'a list of two, as in ["key", value]'
            found.note(place, quote_value(inside), expected)
        elif word in _JOINED:
            before = len(found.problems)
            for index, part in enumerate(inside):
                self._collect(part, f"{place}[{index}]", found, depth + 1)
            if len(found.problems) == before and len(inside) > 64:
                found.note(place, f"{len(inside)} conditions", "at most 64 in one list")
        elif len(inside) != 2:
            found.note(place, f"a list of {len(inside)}", 'a list of two, as in ["key", value]')
        else:
            for index, (field, item) in enumerate(zip(attrs.fields(_COMPARED[word]), inside, strict=True)):
                try:
                    field.validator(None, field, item)
                except DesignError as error:
                    found.problems += [problem._replace(path=f"{place}[{index}]") for problem in error.problems]

    def write(self, part: Any) -> Plain:
        """Write the condition."""
        if isinstance(part, Not):
            return {"not": self.write(part.of)}
        if isinstance(part, conditions.All | conditions.Any):
            return {"all" if isinstance(part, conditions.All) else "any": [self.write(inner) for inner in part.of]}
        word = next(word for word, made in _COMPARED.items() if made is type(part))
        return {word: [part.key, part.value]}
