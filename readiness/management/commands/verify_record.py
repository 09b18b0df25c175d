"""Checks every site's chain and every photo's and paper's digest; names the first break."""

from django.core.management.base import BaseCommand, CommandError

from readiness.actions.record import verify_all


class Command(BaseCommand):
    help = "Check all Record chains and the digests of all photos and papers."

    def add_arguments(self, parser):
        parser.add_argument("sites", nargs="*", help="Site ids; all sites by default.")

    def handle(self, *args, sites, **options):
        checked = verify_all(sites or None)
        if checked.first_break:
            raise CommandError(checked.first_break)
        self.stdout.write(
            f"Whole: {checked.sites} sites, {checked.entries} entries, {checked.photos} photos "
            f"and {checked.papers} papers checked."
        )
        if checked.elsewhere:
            self.stdout.write(
                f"{checked.elsewhere} photos lie on other machines, still to be moved to the "
                "store, and were not looked at: run this there."
            )
