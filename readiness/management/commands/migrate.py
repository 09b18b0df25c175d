"""Django's `migrate`, with the triggers of issued reports and the Record out of its way."""

from django.core.management.base import CommandError
from django.core.management.commands import migrate

from readiness.models import freeze
from readiness.models.versions import migrating
from readiness.operations import Trouble, roles


class Command(migrate.Command):
    def execute(self, *args, **options):
        running = migrating.set(True)  # the checks come before `handle`
        try:
            return super().execute(*args, **options)
        finally:
            migrating.reset(running)

    def handle(self, *args, **options):
        if not (options["plan"] or options["check_unapplied"]):
            try:
                roles.refuse_another(options["database"])
            except Trouble as trouble:
                raise CommandError(str(trouble)) from trouble
        with freeze.without_triggers_in_migrations(options["database"]):
            super().handle(*args, **options)
