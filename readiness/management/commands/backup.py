"""Makes a back-up of the whole installation while people work, or checks one."""

import argparse
import sqlite3
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from readiness.operations import Trouble, layout
from readiness.operations.backup import make_backup
from readiness.operations.verify import verify_backup

LATEST = ""


class Command(BaseCommand):
    help = (
        "Back up the database and then the photos and papers that it names into a folder, which "
        "may hold many back-ups: a file that is in it already is not copied again."
    )

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, metavar="DIR", help="The folder of back-ups.")
        parser.add_argument(
            "--keep", type=_at_least_one, metavar="N", help="Afterwards keep the latest N only."
        )
        parser.add_argument(
            "--verify",
            nargs="?",
            const=LATEST,
            metavar="WHICH",
            help="Make none: read all of the latest one (or WHICH) and compare the digests.",
        )

    def handle(self, *, folder, keep, verify, **options):
        try:
            if verify is not None:
                self._verify(layout.find(folder.absolute(), verify))
            else:
                self._make(folder.absolute(), keep)
        except Trouble as trouble:
            raise CommandError(str(trouble)) from trouble
        except (DatabaseError, sqlite3.Error) as error:
            raise CommandError(
                f"The database can't be read: {error}".rstrip()
                + "\nIs it of this version? python manage.py check --database default"
            ) from error

    def _make(self, folder: Path, keep: int | None) -> None:
        made = make_backup(folder, keep=keep, say=self.stdout.write)
        for name in made.pruned:
            self.stdout.write(f"Taken away: {name}")
        self.stdout.write(f"Back-up {made.path}: {made.files} files, {megabytes(made.bytes)}.")
        self.stdout.write("Not in it, keep them elsewhere:")
        for words in layout.manifest_of(made.path)["not_in_it"]:
            self.stdout.write(f"  {words}")
        if _same_disk(folder):
            self.stderr.write("It lies on the disk of the installation: copy it elsewhere, too.")
        if made.missing:
            raise CommandError(
                "\n".join(sentence(one) for one in made.missing)
                + f"\nThe back-up is made, without these {len(made.missing)}. If a back-up in "
                "another folder has them, keep that one and put them back from there."
            )

    def _verify(self, backup: Path) -> None:
        verified = verify_backup(backup)
        if verified.faults:
            raise CommandError("\n".join([f"{backup} is not whole:", *verified.faults]))
        self.stdout.write(f"Whole: {backup}, {verified.files} files checked.")
        for one in verified.manifest["missing"]:
            self.stderr.write(f"When it was made: {sentence(one)}")


def sentence(missing: dict) -> str:
    """What could not be copied, in words."""
    return f"{missing['store']}: {missing['name']} {missing['why']}."


def megabytes(size: int) -> str:
    return f"{size / 1e6:.1f} MB"


def _same_disk(folder: Path) -> bool:
    data = Path(settings.READINESS_DATA)
    return data.exists() and data.stat().st_dev == folder.stat().st_dev


def _at_least_one(text: str) -> int:
    number = int(text) if text.isascii() and text.isdigit() else 0
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text} is no number of back-ups: keep 1 or more.")
    return number
