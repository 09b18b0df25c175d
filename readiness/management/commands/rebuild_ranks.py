"""Works out again what lists of sites are sorted by, and says where it was not as the rules say."""

from django.core.management.base import BaseCommand, CommandError

from readiness import priorities
from readiness.models import Site


class Command(BaseCommand):
    help = (
        "Work out the rank of every open site again. Run it after an upgrade; it may run beside "
        "the portal."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "--check",
            action="store_true",
            help="Change nothing: exit with 1 where a stored rank is not what the rules say.",
        )

    def handle(self, *args, check, **options):
        if check:
            return self._check()
        priorities.mark_all()
        self.stdout.write(f"Worked out the ranks of {priorities.renew()} open sites.")
        return None

    def _check(self):
        wrong = priorities.differences(Site.objects.all())
        for site, need in wrong[:20]:
            self.stderr.write(f"{site} ({site.pk}): stored {priorities.stored(site)}, now {need}.")
        if wrong:
            raise CommandError(f"{len(wrong)} ranks differ. Mend it with: manage.py rebuild_ranks")
        self.stdout.write("The stored ranks are what the rules say.")
