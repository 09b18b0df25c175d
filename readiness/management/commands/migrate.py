"""Django's `migrate`, with the triggers of issued reports and the Record out of its way."""

from django.core.management.commands import migrate

from readiness.models import freeze


class Command(migrate.Command):
    def handle(self, *args, **options):
        with freeze.thawed_in_migrations(options["database"]):
            super().handle(*args, **options)
