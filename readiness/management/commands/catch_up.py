"""Starts again background work that was never started, or was cut off by a crash."""

from django.core.management.base import BaseCommand

from readiness.actions.tasks import catch_up


class Command(BaseCommand):
    help = "Queue again papers, e-mails and photo sizes that have waited for over ten minutes."

    def handle(self, *args, **options):
        self.stdout.write(f"Started {catch_up()} things again.")
