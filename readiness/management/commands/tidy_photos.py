"""Sweeps what crashes and abandoned forms leave behind; shows it only, unless told to delete."""

from datetime import timedelta

from django.core.management.base import BaseCommand

from readiness import clock
from readiness.actions.photos.keeping import past_retention, sweep_unattached
from readiness.models import Photo
from readiness.photos import tidying


class Command(BaseCommand):
    help = "Find photo files that nothing needs, and uploads that were never used."

    def add_arguments(self, parser):
        parser.add_argument("--delete", action="store_true", help="Delete them (else only shown).")
        parser.add_argument(
            "--hours", type=float, default=24, help="Leave alone what is younger than this (24)."
        )

    def handle(self, *, delete, hours, **options):
        found = tidying.look(older_than_seconds=hours * 3600)
        age = max(timedelta(hours=hours), timedelta(0))
        unused = list(
            Photo.objects.unattached().filter(received_at__lt=clock.now() - age).order_by("pk")
        )
        for name in found.orphans:
            self.stdout.write(f"File without a row: {name}")
        for photo in unused:
            self.stdout.write(f"Upload never used: {photo.pk} ({photo.short_digest})")
        for digest in found.lost:
            self.stderr.write(f"LOST: the original {digest} is not in the storage. Restore it.")
        for digest, machine in found.waiting:
            self.stdout.write(f"Still to be moved to the photo store, on {machine}: {digest}")
        if delete:
            tidying.delete(found.orphans)
            sweep_unattached(older_than=age)
        done = "deleted" if delete else "found; nothing was deleted (use --delete)"
        self.stdout.write(f"{len(found.orphans)} files and {len(unused)} unused uploads {done}.")
        old = past_retention().count()
        if old:
            self.stdout.write(
                f"{old} photos are older than the business keeps them. Deleting them is for a "
                "person to decide: each photo's page has it."
            )
