"""The background worker: papers, e-mails, photo sizes, and what has to be done again and again."""

import os
import signal

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from readiness.operations.worker import Worker


class Command(BaseCommand):
    help = "Make papers, send e-mails, catch up and sweep up, until stopped. Keep one running."

    def handle(self, *args, **options):
        if "django_tasks_db" not in settings.TASKS["default"]["BACKEND"]:
            raise CommandError("READINESS_TASKS=immediate does the work in each request instead.")
        # A thread that hangs can't be ended; the service manager starts the process anew.
        worker = Worker(on_stuck=lambda: os._exit(1))

        def stop(signum, frame):
            if worker.is_stopping:  # asked a second time: others take over what it has in hand
                os._exit(1)
            worker.stop()

        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, stop)
        self.stdout.write(f"Working as {worker.name}. SIGTERM or Ctrl-C ends it.")
        self.stdout.flush()
        worker.run()
