"""No idiom of our own in anything that people read: they are the words of whoever made this.

Codes that are stored (`said_fixed`, `let_go`) are one word each and are not meant.
"""

import re
from collections.abc import Iterable
from pathlib import Path

from tests.wording.test_sentences_in_their_place import read

PROJECT = Path(__file__).parents[2]
IDIOMS = (
    r"said fixed",
    r"say (?:it|this|these|that) fixed",
    r"\bshow it fixed\b",
    r"\blet(?:s|ting)? go\b",
    r"\bput(?:s|ting)? away\b",
    r"\b(?:holds?|held) the booking\b",
    r"\blean on\b",
    r"\bwaits? on (?:us|me|you|them|builders?|the)\b",
    r"\bin the way\b",
    r"\bwritten down\b|\bwrite down\b",
    r"(?<![.\w])believable\b|\bhard to believe\b",
    r"\blook at the year\b",
    r"\ba word to the\b",
    r"\bmake sense to us\b",
    r"\bfor nothing\b",
    r"\bcounts? from then\b",
)
ANY = re.compile("|".join(IDIOMS), re.IGNORECASE)
COMMENTS = re.compile(r"\{% comment.*?endcomment %\}|\{#.*?#\}|<!--.*?-->", re.DOTALL)


def strings(path: Path) -> list[str]:
    return [text for text in read(path) if " " in text]  # a word alone is a key


def modules() -> list[Path]:
    found = [path for top in ("readiness", "portal") for path in (PROJECT / top).rglob("*.py")]
    return sorted(path for path in found if "migrations" not in path.parts)


def templates() -> list[Path]:
    return sorted((PROJECT / "templates").rglob("*.*"))


def name(path: Path) -> str:
    return str(path.relative_to(PROJECT))


def test_no_idiom_of_our_own_in_a_string():
    found = {name(path): said(strings(path)) for path in modules()}
    assert {path: words for path, words in found.items() if words} == {}


def test_no_idiom_of_our_own_in_a_template():
    found = {
        name(path): said([COMMENTS.sub("", path.read_text(encoding="utf-8"))])
        for path in templates()
    }
    assert {path: words for path, words in found.items() if words} == {}


def said(texts: Iterable[str]) -> list[str]:
    return [found.group() for text in texts for found in ANY.finditer(text)]
