"""Queues again background work that was never started, or was cut off by a crash."""

from django.core.management.base import BaseCommand

from readiness.actions.catching_up import catch_up


class Command(BaseCommand):
    help = (
        "Queue what is due and in no queue: papers, e-mails, photo sizes. The worker does it too."
    )

    def handle(self, *args, **options):
        self.stdout.write(f"Queued {catch_up()} things. A worker does them.")
