"""Django's dumpdata, refused for the portal's own rows: what it writes can't be brought back."""

from django.core.management.base import CommandError
from django.core.management.commands import dumpdata

OURS = "readiness"


class Command(dumpdata.Command):
    help = f"{dumpdata.Command.help} Refused for the portal's own rows: use backup or move_data."

    def handle(self, *app_labels, **options):
        if self._includes_ours(app_labels, options["exclude"]):
            raise CommandError(
                "dumpdata cuts times to milliseconds, which breaks the Record's chain, and issued "
                "reports can't be loaded again. Use manage.py backup for a copy, manage.py "
                "move_data for another database, manage.py export_site for one site. Other apps: "
                f"add --exclude {OURS}."
            )
        super().handle(*app_labels, **options)

    def _includes_ours(self, app_labels: tuple[str, ...], excluded: list[str]) -> bool:
        if app_labels:
            return any(label.split(".")[0] == OURS for label in app_labels)
        return OURS not in excluded
