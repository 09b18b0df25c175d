"""Templates can be read in a diff: no line is too long."""

from pathlib import Path

PROJECT = Path(__file__).parents[2]
TEMPLATES = PROJECT / "templates"
LONGEST = 119


def test_no_line_of_a_template_is_too_long():
    """djlint breaks the others, and leaves one that holds a condition as it is."""
    files = list(TEMPLATES.rglob("*.html"))
    long = [
        f"{path.relative_to(PROJECT)}:{number}"
        for path in sorted(files)
        for number, line in enumerate(path.read_text().splitlines(), start=1)
        if len(line) > LONGEST
    ]
    assert files
    assert not long, "\n".join(long)
