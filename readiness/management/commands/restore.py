"""Brings a back-up into an empty installation and checks all of it."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from readiness.management.commands.backup import sentence
from readiness.operations import Trouble, layout
from readiness.operations.restore import restore


class Command(BaseCommand):
    help = (
        "Restore a back-up into an empty installation: its digests are checked before, the Record, "
        "photos and papers after. Nothing in use is ever overwritten."
    )

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, metavar="DIR", help="The folder of back-ups.")
        parser.add_argument(
            "--at", default="", metavar="WHICH", help="The back-up's name (default: the latest)."
        )

    def handle(self, *, folder, at, **options):
        try:
            backup = layout.find(folder.absolute(), at)
            done = restore(backup, say=self.stdout.write)
        except Trouble as trouble:
            raise CommandError(str(trouble)) from trouble
        for words in done.notes:
            self.stderr.write(words)
        if done.waiting_mail:
            self.stderr.write(
                f"{done.waiting_mail} e-mails had not been sent at the time of the back-up. The "
                "worker sends them when it starts; those that left since then leave twice."
            )
        for one in layout.manifest_of(backup)["missing"]:
            self.stderr.write(f"Was lost when the back-up was made: {sentence(one)}")
        checked = done.checked
        if checked.first_break:
            raise CommandError(
                f"{backup} is restored, but verify_record says: {checked.first_break}"
            )
        self.stdout.write(
            f"Restored {backup}, as it was at that time (UTC). Whole: {checked.sites} sites, "
            f"{checked.entries} entries, {checked.photos} photos and {checked.papers} papers "
            "checked. Start the site and the worker."
        )
