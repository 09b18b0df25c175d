"""Brings an exported site into this installation, after checking all of it."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from readiness.handover import BadExport
from readiness.handover.restore import import_site


class Command(BaseCommand):
    help = "Import a site that export_site wrote. All of it comes in, or nothing does."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file, **options):
        try:
            site = import_site(file)
        except BadExport as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{site.address} is in, with its Record.")
