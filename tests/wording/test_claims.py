"""What screens, papers and e-mails say of evidence is no more than the code can show.

Whoever holds the database can rewrite all of it (README, "Two roles in PostgreSQL"): a chain of
fingerprints alone proves nothing against that person, and nothing "never changes".
"""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SAID = sorted(
    path
    for folder, pattern in (
        ("templates", "*.html"),
        ("templates", "*.txt"),
        ("readiness/wording", "*.py"),
    )
    for path in (ROOT / folder).rglob(pattern)
)
TOO_MUCH = re.compile(
    r"never chang\w+|(can.t|cannot) be (added|altered|forged|faked|tampered)"
    r"|without breaking|later change would show|tamper|immutable|guarantee|indisputable"
    r"|not one entry|every fingerprint fits|as they were at",
    re.IGNORECASE,
)


def test_there_are_texts_to_read():
    assert len(SAID) > 200


@pytest.mark.parametrize(
    "sentence",
    [
        "A photo can't be added, removed or swapped later without breaking the chain.",
        "An issued report never changes.",
        "A paper never changes once it is made.",
        "so a later change would show",
    ],
)
def test_a_sentence_that_claims_too_much_is_known(sentence):
    assert TOO_MUCH.search(sentence)


def test_no_text_claims_more_than_the_code_can_show():
    wrong = [
        f"{path.relative_to(ROOT)}: {found[0]}"
        for path in SAID
        for found in TOO_MUCH.finditer(" ".join(path.read_text(encoding="utf-8").split()))
    ]
    assert not wrong


def test_only_pages_that_run_the_check_call_a_history_complete():
    saying = [path for path in SAID if "omplete and unchanged" in path.read_text(encoding="utf-8")]
    assert [path.name for path in saying] == ["_lines.html"]
