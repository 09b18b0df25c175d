"""What e-mails and papers say stands in `readiness/wording/`, and not where their facts are found.

A sentence is a literal with three words or more in a row, counting what is put into it.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from readiness.wording import drawings

READINESS = Path(drawings.__file__).parents[1]
TAG = re.compile(r"<[^>]*>")
IN_A_ROW = re.compile(r"[A-Za-z§][\w’'§-]*(?:[,;:.]? [“(]?[A-Za-z§][\w’'§-]*){2,}")
WORD = re.compile(r"[A-Za-z]{2,}")
PUT_IN = "§"
LOG = {"debug", "info", "warning", "error", "exception"}

ALLOWED = {
    ("papers/pdf.py", "A paper may not reach §"): "a fault of ours, for the log",
    ("papers/drawings/svg.py", "Inter, 'DejaVu Sans', Arial, sans-serif"): "names of fonts",
    ("papers/sample.py", "Fine, light wind"): "as somebody would type it on a made-up report",
    ("papers/sample.py", "top of the slab"): "as somebody would type it on a made-up report",
}


def literals(tree: ast.AST) -> Iterator[str]:
    """Every text of the code that is no docstring, no part of another, and not for the log."""
    if isinstance(tree, ast.JoinedStr):
        parts = (v.value if isinstance(v, ast.Constant) else PUT_IN for v in tree.values)
        yield "".join(str(part) for part in parts)
    elif isinstance(tree, ast.Constant) and isinstance(tree.value, str):
        yield tree.value
    elif isinstance(tree, ast.Expr) and isinstance(tree.value, ast.Constant):
        return
    elif not (isinstance(tree, ast.Call) and _is_for_the_log(tree.func)):
        for part in ast.iter_child_nodes(tree):
            yield from literals(part)
    if isinstance(tree, ast.JoinedStr):
        for value in tree.values:
            if isinstance(value, ast.FormattedValue):
                yield from literals(value.value)


def _is_for_the_log(function: ast.AST) -> bool:
    return (
        isinstance(function, ast.Attribute)
        and function.attr in LOG
        and isinstance(function.value, ast.Name)
        and function.value.id == "log"
    )


def is_sentence(text: str) -> bool:
    """Three words in a row, two of which at least are words of ours."""
    return any(len(WORD.findall(run)) > 1 for run in IN_A_ROW.findall(TAG.sub(" ", text)))


def sentences(folder: str) -> set[tuple[str, str]]:
    return {
        (path.relative_to(READINESS).as_posix(), text)
        for path in sorted((READINESS / folder).rglob("*.py"))
        for text in literals(ast.parse(path.read_text(encoding="utf-8")))
        if is_sentence(text)
    }


@pytest.mark.parametrize("folder", ["messages", "papers"])
def test_no_sentence_stands_outside_the_wording(folder):
    assert sentences(folder) - set(ALLOWED) == set(), "Say it in readiness/wording/."


def test_every_exception_is_still_there():
    assert set(ALLOWED) - sentences("messages") - sentences("papers") == set()


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ('x = "Open the site"', True),
        ('x = f"{count} things to fix"', True),
        ('x = f"The {what} is here"', True),
        ("x = f\"{a}: {b if b else 'nothing was found'}\"", True),
        ('x = "<title>Marks on the photo</title>"', True),
        ('"""A docstring of many words."""', False),
        ('log.warning("It did not go: %s", why)', False),
        ('x = "drawing plan"', False),
        ('x = f"{name}, {place}"', False),
        ('x = \'<svg width="3" height="4" class="drawing plan wide">\'', False),
    ],
)
def test_what_counts_as_a_sentence(code, found):
    assert any(is_sentence(text) for text in literals(ast.parse(code))) is found
