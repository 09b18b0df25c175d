"""No sentence says that a treatment of the brickwork complies with a code or standard by itself.

It is not a whole termite management system: slab edge exposure, sheet, granular or chemical
perimeters are the code's (ABCB Housing Provisions 2025, 3.4.2 table, quoted).
"""

import re
from pathlib import Path

import pytest

from readiness.rules.defects.catalogue import KINDS
from readiness.rules.values.rule_values import RULE_VALUES
from tests.wording.test_sentences_in_their_place import read

ROOT = Path(__file__).parents[2]
CODE = (
    r"(?:the )?(?:\w+ ){0,2}(?:codes?|standards?|NCC|BCA|AS ?3660|Housing Provisions|regulations?)"
)
CLAIMS = re.compile(
    r"compli(?:es|ed|ant|ance)|\bcomply|conform(?:s|ed|ity|ance)?\b"
    rf"|(?:meets?|satisf(?:y|ies)|fulfils?|accords? with|in accordance with) {CODE}"
    r"|(?:to|under|by) (?:AS ?3660|the (?:NCC|BCA))|certified|certif(?:y|ies) (?:that|the)"
    r"|deemed[- ]to[- ]satisfy|code[- ]approved|approved (?:termite )?(?:system|treatment|method)"
    r"|(?:termite|fully)[- ](?:proof|protected)|protects? (?:the|your) (?:house|home|building)"
    r"|(?:is|as) (?:a|the) (?:whole|complete|full) (?:termite )?(?:management )?system",
    re.IGNORECASE,
)
DENIED = re.compile(r"\b(?:not|no|never|nothing|cannot|can't|doesn't|isn't)\b", re.IGNORECASE)
COMMENTS = re.compile(r"\{% comment.*?endcomment %\}|\{#.*?#\}|<!--.*?-->", re.DOTALL)
TAGS = re.compile(r"<[^>]*>|\{[%{].*?[%}]\}", re.DOTALL)


def claims(text: str) -> list[str]:
    """Sentences that claim it. One that denies it claims nothing."""
    return [
        part
        for part in re.split(r"(?<=[.!?:;])\s+", " ".join(text.split()))
        if CLAIMS.search(part) and not DENIED.search(part)
    ]


def texts() -> list[tuple[str, str]]:
    """Everything that anybody reads: wording, what stands in code, templates, words as data."""
    found = []
    for path in sorted((ROOT / "templates").rglob("*.*")):
        text = TAGS.sub("\n", COMMENTS.sub("", path.read_text(encoding="utf-8")))
        found.append((path.relative_to(ROOT).as_posix(), text))
    for top in ("readiness", "portal"):
        for path in sorted((ROOT / top).rglob("*.py")):
            name = path.relative_to(ROOT).as_posix()
            if "migrations" not in path.parts:
                found += [(name, text) for text in read(path) if " " in text]
    return found


def test_there_is_much_to_read():
    assert len(texts()) > 2000


@pytest.mark.parametrize(
    "sentence",
    [
        "This treatment complies with AS 3660.1.",
        "The brickwork was treated in accordance with the Housing Provisions.",
        "Treated to AS 3660.1.",
        "The treated band meets the code.",
        "Your house is termite-proof now.",
        "We certify that the house is protected.",
        "It is a complete termite management system.",
        "The treatment protects your home.",
    ],
)
def test_a_claim_is_found(sentence):
    assert claims(sentence) == [sentence]


@pytest.mark.parametrize(
    "sentence",
    [
        "It is not a certificate, and it does not say that the site complies.",
        "Local codes, the product label and the licensed technician decide.",
        "This treatment is only a part of that system.",
    ],
)
def test_what_claims_nothing_is_let_be(sentence):
    assert claims(sentence) == []


def test_no_text_claims_that_a_treatment_complies():
    assert [(name, part) for name, text in texts() for part in claims(text)] == []


def test_no_kind_and_no_rule_value_claims_it():
    said = [f"{kind.look_for} {kind.fix} {kind.fix_measured}" for kind in KINDS.values()]
    said += [f"{rule.label}. {rule.explanation}" for rule in RULE_VALUES.values()]
    assert [part for text in said for part in claims(text)] == []
