"""Each form that changes something has its token, wherever the form is included."""

import re
from pathlib import Path

TEMPLATES = Path(__file__).parents[2] / "templates"
INCLUDE = re.compile(r'{% include "([^"]+)"([^%]*)%}')


def with_token() -> set[str]:
    """The templates that have a form's token, by their own or through what they include."""
    texts = {
        str(path.relative_to(TEMPLATES)): path.read_text() for path in TEMPLATES.rglob("*.html")
    }
    found = {name for name, text in texts.items() if "{% csrf_token %}" in text}
    while more := {
        name
        for name, text in texts.items()
        if name not in found
        and any(one in found for one, more in INCLUDE.findall(text) if "can_undo=False" not in more)
    }:
        found |= more
    return found


def test_no_form_is_included_without_what_its_token_is_made_from():
    """`only` takes the token away, and the form is then refused."""
    own = with_token()
    alone = [
        f"{path.name} includes {name}"
        for path in TEMPLATES.rglob("*.html")
        for name, more in INCLUDE.findall(path.read_text())
        if name in own and re.search(r"\bonly\b", more) and "csrf_token=csrf_token" not in more
    ]
    assert own
    assert not alone, alone


def test_every_form_that_posts_has_a_token():
    for path in TEMPLATES.rglob("*.html"):
        text = path.read_text()
        posting = re.findall(r'<form\b[^>]*method="post"[^>]*>.*?</form>', text, re.S)
        for form in posting:
            assert "csrf_token" in form, f"{path.name}: {form[:80]}"
