"""The rules as a command, as somebody runs it who has nothing but Python."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.rules.band.sites import SAMPLE, SAMPLE_ANSWER

ROOT = Path(__file__).parents[3]


def run(*arguments: str) -> subprocess.CompletedProcess:
    """-S leaves out installed packages, Django among them; standard input is closed."""
    return subprocess.run(
        [sys.executable, "-S", "-m", "readiness.rules.band", *arguments],
        cwd=ROOT, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=60,
    )  # fmt: skip


@pytest.fixture
def file(tmp_path):
    def written(content) -> str:
        path = tmp_path / "walls.json"
        path.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
        return str(path)

    return written


def test_it_prints_the_answers(file):
    done = run(file(SAMPLE))
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout) == SAMPLE_ANSWER


def test_a_byte_order_mark_is_no_mistake(file):
    assert run(file(b"\xef\xbb\xbf" + json.dumps(SAMPLE).encode())).returncode == 0


def test_any_name_of_a_wall_can_be_printed(file):
    stored = SAMPLE | {"walls": [SAMPLE["walls"][0] | {"label": "Süd \ud800"}]}
    assert json.loads(run(file(stored)).stdout)["walls"][0]["label"] == "Süd \ud800"


@pytest.mark.parametrize(
    ("content", "lines"),
    [
        (b"", ["This is not JSON: Expecting value in line 1, column 1."]),
        (b"\xff", ["{path} is not a text in UTF-8."]),
        ({"version": 7}, ["Version 7 is not known; this program reads version 1."]),
        (
            SAMPLE | {"courses": 0, "tape_mm": -1},
            [
                "courses has to be a whole number from 1 to 50; it is 0.",
                "tape_mm has to be a whole number from 0 to 100; it is -1.",
            ],
        ),
    ],
)
def test_a_wrong_file_gets_a_sentence_a_mistake(file, content, lines):
    path = file(content)
    done = run(path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines() == [line.format(path=path) for line in lines]


def test_a_file_that_is_not_there(tmp_path):
    path = str(tmp_path / "none.json")
    done = run(path)
    assert (done.returncode, done.stderr) == (
        2,
        f"{path} can't be read: No such file or directory.\n",
    )
    assert run(str(tmp_path)).returncode == 2


def test_no_file_named_is_a_wrong_call():
    assert run().returncode == 2


def test_help_has_the_versioned_schema():
    done = run("--help")
    assert done.returncode == 0
    assert "WHAT IS READ, version 1" in done.stdout
    assert "WHAT IS PRINTED, version 1" in done.stdout
    for key in (*SAMPLE, *SAMPLE["walls"][0], *SAMPLE_ANSWER["walls"][0]):
        assert re.search(rf"\b{key}\b", done.stdout), key


def test_the_readme_shows_this_command():
    assert "python -m readiness.rules.band FILE.json" in (ROOT / "README.md").read_text()
