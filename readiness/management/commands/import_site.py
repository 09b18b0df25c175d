"""Checks an exported site and lets it wait for an owner, who approves it on the portal."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from readiness.handover import BadExport, waiting


class Command(BaseCommand):
    help = (
        "Check a site that export_site wrote, and let it wait for an owner: nothing of it is "
        "stored before an owner approves it on the portal."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file, **options):
        try:
            _, plan = waiting.put(file)
        except BadExport as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            raise CommandError(f"{file} can't be read: {error.strerror or error}.") from error
        self.stdout.write(
            f"{plan.verified.manifest['address']} is checked. An owner approves it at "
            f"{settings.SITE_URL}{reverse('office:imports')}"
        )
