"""Checks an export: every digest, the Record's chain, and that nothing is missing or added."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from readiness.handover import BadExport
from readiness.handover.verify import verify_export


class Command(BaseCommand):
    help = "Check an exported site; names the first thing that is wrong."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file, **options):
        try:
            done = verify_export(file)
        except BadExport as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"Whole: {done.manifest['address']}, {done.files} files, {done.entries} entries, "
            f"{done.photos} photos ({done.deleted} of them deleted, with their entry) and "
            f"{done.papers} papers checked.\n"
            f"The Record ends with {done.manifest['record_last_sha256']}"
        )
        for name in done.manifest.get("missing", []):
            self.stderr.write(f"Was missing when it was made: {name}")
