"""Every test proves that its assertions ran: none asserts only where a condition happened to be true.

Where a condition decides, the test counts what it has checked and asserts the count, or, over generated examples,
calls `hypothesis.assume`, which fails a test whose examples all miss the condition.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

TESTS = Path(__file__).parent

JUSTIFIED: dict[str, str] = {}
"""Tests that may assert under a condition alone, and why."""


def test_every_assertion_is_known_to_run() -> None:
    found = {
        f"{path.relative_to(TESTS)}::{function.name}"
        for path in sorted(TESTS.rglob("test_*.py"))
        for function in _tests(ast.parse(path.read_text(encoding="utf-8")))
        if _asserts_only_if(function)
    }

    assert found == set(JUSTIFIED)


@pytest.mark.parametrize(
    ("body", "conditional"),
    [
        ("assert a", False),
        ("if a:\n  assert b", True),
        ("if a:\n  assert b\nelse:\n  assert c", False),
        ("for a in b:\n  if a:\n    assert c", True),
        ("for a in b:\n  if not a:\n    continue\n  assert c", True),
        ("if a:\n  return\nassert b", True),
        ("assert a\nif b:\n  return\nassert c", False),
        ("for a in b:\n  if a:\n    seen += 1\n    assert c\nassert seen", False),
        ("assume(a)\nassert b", False),
        ("if a:\n  checked += 1\n  assert b\nassume(checked)", False),
        ("with pytest.raises(E):\n  f()", False),
        ("with a:\n  if b:\n    assert c", True),
        ("match a:\n  case 1:\n    assert b", True),
        ("match a:\n  case 1:\n    assert b\n  case _:\n    assert c", False),
        ("try:\n  f()\nexcept E as error:\n  assert error", True),
        ("f()", False),
    ],
)
def test_what_counts_as_conditional(body: str, conditional: bool) -> None:
    (function,) = _tests(ast.parse("def test_it():\n" + "".join(f"  {line}\n" for line in body.split("\n"))))

    assert _asserts_only_if(function) is conditional


Function = ast.FunctionDef | ast.AsyncFunctionDef


def _tests(module: ast.Module) -> Iterator[Function]:
    for node in ast.walk(module):
        if isinstance(node, Function) and node.name.startswith("test_"):
            yield node


def _asserts_only_if(function: Function) -> bool:
    return any(map(_is_assertion, ast.walk(function))) and not _certain(function.body)


def _is_assertion(node: ast.AST) -> bool:
    """Tell an assertion, an assumption, and `pytest.raises` or the like."""
    if isinstance(node, ast.Assert):
        return True
    return isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in ("raises", "assume", "fail")


def _certain(body: list[ast.stmt]) -> bool:
    """Return whether an assertion is reached in a body whatever its conditions are; loops are taken to run."""
    for statement in body:
        match statement:
            case ast.If(body=then, orelse=other):
                if _certain(then) and _certain(other):
                    return True
                if any(any(map(_leaves, branch)) and not _certain(branch) for branch in (then, other)):
                    return False
            case ast.Match(cases=cases):
                if all(_certain(case.body) for case in cases) and _is_exhaustive(cases):
                    return True
            case ast.For(body=inner) | ast.AsyncFor(body=inner) | ast.While(body=inner):
                if _certain(inner):
                    return True
            case ast.With(body=inner, items=items) | ast.AsyncWith(body=inner, items=items):
                if any(map(_is_assertion, (node for item in items for node in ast.walk(item)))) or _certain(inner):
                    return True
            case ast.Try(body=inner, orelse=other, finalbody=last):
                if _certain(inner) or _certain(last) or _certain(other):
                    return True
            case ast.FunctionDef() | ast.AsyncFunctionDef() | ast.ClassDef():
                pass
            case _:
                if any(map(_is_assertion, ast.walk(statement))):
                    return True
    return False


def _leaves(statement: ast.stmt) -> bool:
    return isinstance(statement, ast.Return | ast.Continue | ast.Break)


def _is_exhaustive(cases: list[ast.match_case]) -> bool:
    last = cases[-1]
    return last.guard is None and isinstance(last.pattern, ast.MatchAs) and last.pattern.pattern is None
