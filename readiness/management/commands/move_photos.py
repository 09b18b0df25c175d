"""Moves photos that wait on this machine to the object store; the background worker does it too."""

from django.core.management.base import BaseCommand

from readiness.photos.moving import move_waiting


class Command(BaseCommand):
    help = "Move photos kept on this machine, while the object store did not answer, to it."

    def handle(self, *args, **options):
        done = move_waiting()
        self.stdout.write(f"{done.moved} files moved, {done.left} stay here for now.")
