"""A stored code stands as text in one place; all else names the member of its enumeration."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from readiness.models.verbs import Verb
from readiness.rules.codes import Code
from readiness.rules.vocabulary import BookingState, Effect, Half, ItemState, Readiness, Trade

ROOT = Path(__file__).parents[2]
HOMES = {"readiness/rules/vocabulary.py", "readiness/rules/codes.py", "readiness/models/verbs.py"}
NOT_OURS = ("readiness/migrations/", "readiness/demo/")
CODES = {
    member.value
    for family in (BookingState, Code, Effect, Half, ItemState, Readiness, Trade, Verb)
    for member in family
}
NAMED = {"code", "effect", "state", "half", "verb", "trade", "who", "site_status", "turn", "tone"}
"""Attributes and arguments that hold such a code."""


def sources() -> list[str]:
    found = (
        path.relative_to(ROOT).as_posix()
        for room in ("readiness", "portal")
        for path in sorted((ROOT / room).rglob("*.py"))
    )
    return [name for name in found if name not in HOMES and not name.startswith(NOT_OURS)]


def bare(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Lines where such an attribute or argument meets a code as text."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and _name(node.left) in NAMED:
            yield from _texts(node.comparators)
        elif isinstance(node, ast.keyword) and (node.arg or "").split("__")[0] in NAMED:
            yield from _texts([node.value])


def _name(node: ast.AST) -> str:
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")


def _texts(nodes) -> Iterator[tuple[int, str]]:
    for node in nodes:
        for part in getattr(node, "elts", [node]):
            if isinstance(part, ast.Constant) and part.value in CODES:
                yield part.lineno, part.value


@pytest.mark.parametrize("name", sources())
def test_no_code_stands_as_text_beside_its_enumeration(name):
    found = list(bare(ast.parse((ROOT / name).read_text())))
    assert not found, f"name the members of these: {found}"


def test_the_search_finds_what_it_is_for():
    text = (
        'x.state == "to_fix"; f(effect="holds"); g(state__in=("asked", "x")); y.code in ("rain",)'
    )
    assert [code for _, code in bare(ast.parse(text))] == ["to_fix", "rain", "holds", "asked"]
    assert not list(bare(ast.parse('x.state == ItemState.TO_FIX; f(kind="holds")')))
