"""What people read stands in `readiness.wording`: the rules and the actions give codes.

A literal with three words or more in a row is taken for a sentence. Docstrings, what is logged and
errors for developers are read by nobody on a site; catalogue and rule values are data with words.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import readiness

ROOT = Path(readiness.__file__).parent
ROOMS = ("actions", "photos", "rules")
DATA = (
    "rules/defects/kinds/",
    "rules/values/rule_table.py",
    "rules/values/sources.py",
    "rules/vocabulary.py",
)
WORDS = re.compile(r"\b[A-Za-z][A-Za-z'’]*(?:[,;:.–-]*\s+[A-Za-z][A-Za-z'’]*\b){2,}")
FOR_DEVELOPERS = {"TypeError", "ValueError", "KeyError", "UnknownLevels", "UnknownStateError"}
LOGGED = {"debug", "info", "warning", "error", "exception"}

EXCEPTIONS = {
    "actions/people/removing.py": {
        "A person whose details were removed": "the stored name, which the action knows again",
    },
    "photos/decoder.py": {
        "import sys; sys.path.insert": "a program",
    },
    "photos/markup.py": {"x=": "SVG"},
    "photos/pixels.py": {
        "The file": "the decoder imports no Django; kept with the original as it says it",
    },
    "photos/sizes.py": {
        "The photo was deleted.": "kept as why sizes were not made, for the log",
    },
    "photos/moving.py": {
        "the file here was changed": "for the log",
        "the store gives other bytes back": "for the log",
        "other bytes there": "for the log",
    },
    "rules/band/__main__.py": {"": "the command's own: it runs without Django and its gettext"},
    "rules/band/fields.py": {"": "the command's own: it runs without Django and its gettext"},
    "rules/band/reading.py": {"": "the command's own: it runs without Django and its gettext"},
    "photos/whole.py": {
        "": "why bytes are not whole, for the log: the sender reads `broken`",
    },
}


def text_of(node: ast.AST) -> str | None:
    """What a literal says, of an f-string what stands between its values."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        parts = [part.value if isinstance(part, ast.Constant) else "\0" for part in node.values]
        return "".join(map(str, parts))
    return None


def unread(tree: ast.AST) -> Iterator[ast.AST]:
    """Literals that nobody on a site reads: docstrings, logs, errors for developers."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and text_of(node.value) is not None:
            yield node.value
        if isinstance(node, ast.Call):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else ""
            name = node.func.id if isinstance(node.func, ast.Name) else ""
            if called in LOGGED or name in FOR_DEVELOPERS:
                yield from (part for part in ast.walk(node) if text_of(part) is not None)
        if isinstance(node, ast.JoinedStr):
            yield from (part for part in ast.walk(node) if part is not node)


def read(path: Path) -> list[str]:
    """The literals of a module that somebody may read."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = {id(node) for node in unread(tree)}
    texts = [text_of(node) for node in ast.walk(tree) if id(node) not in skipped]
    return [text for text in texts if text]


def sentences(path: Path) -> list[str]:
    return [text for text in read(path) if WORDS.search(text)]


def files() -> list[str]:
    found = (path for room in ROOMS for path in (ROOT / room).rglob("*.py"))
    return sorted(str(path.relative_to(ROOT)) for path in found)


@pytest.mark.parametrize("name", [name for name in files() if not name.startswith(DATA)])
def test_no_sentence_stands_outside_the_wording(name):
    allowed = EXCEPTIONS.get(name, {})
    found = [
        text
        for text in sentences(ROOT / name)
        if not any(text.startswith(beginning) for beginning in allowed)
    ]
    assert found == [], f"Say it in readiness/wording/: {found}"


def test_every_exception_is_still_needed():
    unneeded = [
        (name, start)
        for name, allowed in EXCEPTIONS.items()
        for start in allowed
        if not any(text.startswith(start) for text in sentences(ROOT / name))
    ]
    assert unneeded == []


def test_a_sentence_is_found(tmp_path):
    path = tmp_path / "one.py"
    path.write_text(
        '"""A docstring with words."""\n'
        'raise Refused("The wall is wet.")\n'
        'raise TypeError("Only for the developer.")\n'
        'said = f"{count} walls are still wet"\n'
        'log.info("So many walls: %s", 1)\n'
    )
    assert sorted(sentences(path)) == ["\0 walls are still wet", "The wall is wet."]
