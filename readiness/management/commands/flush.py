"""Django's `flush`, which the triggers would refuse; for tests and demos, never an installation."""

from django.conf import settings
from django.core.management.base import CommandError
from django.core.management.commands import flush

from readiness.models import freeze


class Command(flush.Command):
    def handle(self, **options):
        if not settings.EMBEDDED:
            raise CommandError(
                "An installation is never emptied: its Record is append-only. For a new one, name "
                "an empty database and another folder in READINESS_DATA."
            )
        with freeze.without_triggers(options["database"]):
            super().handle(**options)
