"""The recipes of DEVELOPERS.md: numbered steps, each with the change it makes, as a diff.

A step is a number, words, one fenced `diff` for each file that it changes, and what tells that it
was forgotten:

    Forgotten? `tests/where.py::test_name` says “...”

or, for one line of the change, "Without `that`, `tests/where.py::test_name` says “...”". A fenced
`sh` after the steps has the commands that must pass once all of them are done.
"""

import re
from dataclasses import dataclass
from pathlib import Path

GUIDE = "DEVELOPERS.md"
ADDING = "## Adding things"

_FENCE = re.compile(r"^ *```(\w+)\n(.*?)^ *```$", re.M | re.S)
_FORGOTTEN = re.compile(r"(?:Forgotten\?|Without `([^`]+)`,) `([^`]+)` says “([^”]+)”")


class WrongGuide(Exception):
    """The guide can't be followed as it stands; the text says where."""


@dataclass(frozen=True)
class Hunk:
    """A change of one place in a file, as the lines of a diff; a new file has added ones only."""

    path: str
    lines: tuple[str, ...]

    @property
    def old(self) -> str:
        """What stands there before."""
        return "".join(f"{line[1:]}\n" for line in self.lines if line[0] in " -")

    @property
    def new(self) -> str:
        """What stands there afterwards."""
        return "".join(f"{line[1:]}\n" for line in self.lines if line[0] in " +")

    def without(self, words: str) -> "Hunk":
        """The same change but for the added lines that have these words."""
        kept = (line for line in self.lines if line[0] != "+" or words not in line)
        return Hunk(self.path, tuple(kept))


@dataclass(frozen=True)
class Forgotten:
    """What tells that a step, or the added line with the words `only`, was left out."""

    only: str
    test: str
    says: str


@dataclass(frozen=True)
class Step:
    """One numbered step: what it changes, and what tells that it was forgotten."""

    number: int
    hunks: tuple[Hunk, ...]
    forgotten: tuple[Forgotten, ...]

    @property
    def name(self) -> str:
        return self.hunks[0].path


@dataclass(frozen=True)
class Recipe:
    """A way to add one thing, as the guide tells it."""

    name: str
    steps: tuple[Step, ...]
    commands: tuple[str, ...]


def recipes(project: Path) -> list[Recipe]:
    """Every recipe that the guide spells out in steps, by its order there."""
    _, _, text = (project / GUIDE).read_text().partition(f"\n{ADDING}\n")
    chapter = text.partition("\n## ")[0]
    sections = re.split(r"^### (.+)\n", chapter, flags=re.M)[1:]
    named = zip(sections[::2], sections[1::2], strict=True)
    return [_recipe(name, section) for name, section in named if "```diff" in section]


def _recipe(name: str, section: str) -> Recipe:
    steps, commands = [], ()
    for number, part in enumerate(re.split(r"^\d+\. ", section, flags=re.M)[1:], start=1):
        fences = _FENCE.findall(part)
        hunks = tuple(h for kind, body in fences if kind == "diff" for h in _hunks(body))
        words = " ".join(_FENCE.sub("", part).split())
        forgotten = tuple(Forgotten(*found) for found in _FORGOTTEN.findall(words))
        if not hunks or not forgotten:
            raise WrongGuide(f"{name}, step {number}: no change, or nothing tells it is forgotten.")
        steps.append(Step(number, hunks, forgotten))
        commands += tuple(
            line.strip() for kind, body in fences if kind == "sh" for line in body.splitlines()
        )
    if not commands:
        raise WrongGuide(f"{name}: it does not say what to run in the end.")
    return Recipe(name, tuple(steps), commands)


def _hunks(body: str) -> list[Hunk]:
    """The changes of one fence: `+++ path`, then lines as in a diff, `@@` between two places."""
    lines = body.splitlines()
    indent = len(lines[0]) - len(lines[0].lstrip())
    head, *lines = (line[indent:] for line in lines)
    if not head.startswith("+++ "):
        raise WrongGuide(f"A change has to name its file first, not {head!r}.")
    hunks: list[list[str]] = [[]]
    for line in lines:
        if line.startswith("@@"):
            hunks.append([])
        else:
            hunks[-1].append(line or " ")
    return [_hunk(head[4:].strip(), hunk) for hunk in hunks]


def _hunk(path: str, lines: list[str]) -> Hunk:
    strange = [line for line in lines if line[0] not in " +-"]
    if strange:
        raise WrongGuide(f"{path}: neither context nor a change: {strange[0]!r}.")
    return Hunk(path, tuple(lines))
