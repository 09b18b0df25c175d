"""`python -m readiness.rules.band FILE.json`: the rules of the treated band for anybody to check.

Needs nothing but Python. `--help` has the schema of what is read and what is printed.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from readiness.rules.band.answers import as_json
from readiness.rules.band.judged import judged
from readiness.rules.band.reading import Mistakes, house_from_text

LARGEST_BYTES = 20_000_000
WRONG = 2
"""Exit status of a file that can't be read, as argparse has it for a wrong call."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Read a file, print the answers, and return the exit status."""
    parser = argparse.ArgumentParser(
        prog="python -m readiness.rules.band",
        description=Path(__file__).with_name("schema.txt").read_text(encoding="utf-8"),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("file", metavar="FILE", type=Path, help="walls as JSON, version 1")
    path = parser.parse_args(arguments).file
    try:
        house = house_from_text(_text(path))
    except Mistakes as mistakes:
        sys.stderr.write("".join(f"{sentence}\n" for sentence in mistakes.sentences))
        return WRONG
    sys.stdout.write(json.dumps(as_json(judged(house)), indent=2) + "\n")
    return 0


def _text(path: Path) -> str:
    """The text of a file; Mistakes if there is none."""
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise Mistakes([f"{path} can't be read: {error.strerror}."]) from error
    if len(content) > LARGEST_BYTES:
        raise Mistakes([f"{path} is larger than {LARGEST_BYTES // 1_000_000} MB."])
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Mistakes([f"{path} is not a text in UTF-8."]) from error


if __name__ == "__main__":
    sys.exit(main())
