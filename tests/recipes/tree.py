"""A copy of the project to follow a recipe in, and to run a few of its tests."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from tests import migrated
from tests.recipes.guide import GUIDE, Hunk, WrongGuide

PROJECT = migrated.PROJECT
COPIED = ("readiness", "portal", "templates", "tests", "manage.py", "pyproject.toml", GUIDE)
LEFT_OUT = shutil.ignore_patterns("__pycache__", "*.tar.xz", "node_modules", "approved")

OF_THIS_RUN = ("PYTEST_", "DJANGO_", "READINESS_", "DATABASE_URL", "COV_")
"""Of the environment what belongs to the tests that run now, not to those in the copy."""


@dataclass(frozen=True)
class Ran:
    """How a command ended, and what it printed, with all white space as single blanks."""

    code: int
    text: str


class Tree:
    """The project in a folder of its own."""

    def __init__(self, folder: Path):
        self.folder = folder
        folder.mkdir(parents=True)
        for name in COPIED:
            source = PROJECT / name
            if source.is_dir():
                shutil.copytree(source, folder / name, ignore=LEFT_OUT)
            else:
                shutil.copy2(source, folder / name)
        (folder / ".venv").symlink_to(sys.prefix)

    def apply(self, hunks: Iterable[Hunk]) -> None:
        """Make these changes. Raises WrongGuide where a place is not there, or there twice."""
        for hunk in hunks:
            path = self.folder / hunk.path
            if not hunk.old:
                if path.exists():
                    raise WrongGuide(f"{hunk.path} is there already.")
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(hunk.new)
                continue
            text = path.read_text() if path.exists() else ""
            found = f"\n{text}".count(f"\n{hunk.old}")
            if found != 1:
                raise WrongGuide(f"In {hunk.path} this stands {found} times:\n{hunk.old}")
            path.write_text(f"\n{text}".replace(f"\n{hunk.old}", f"\n{hunk.new}")[1:])

    def bring_database(self) -> None:
        """Spare the copy the migrations, where no recipe has brought one: they take seconds."""
        kept = self.folder / migrated.KEPT.relative_to(PROJECT)
        kept.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(migrated.database(), kept / migrated.name_of(self.folder))

    def run(self, *command: str) -> Ran:
        """Run a command in the copy."""
        environment = {
            name: value for name, value in os.environ.items() if not name.startswith(OF_THIS_RUN)
        }
        done = subprocess.run(
            command,
            cwd=self.folder,
            env={**environment, "COLUMNS": "400", "PYTHONDONTWRITEBYTECODE": "1"},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        return Ran(done.returncode, " ".join(done.stdout.split()))

    def test(self, *what: str) -> Ran:
        """Run some tests of the copy."""
        self.bring_database()
        return self.run(sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *what)
