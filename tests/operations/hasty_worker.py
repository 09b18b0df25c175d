"""A worker in a hurry, to be killed: what takes minutes in use takes parts of a second here."""

import os
from datetime import timedelta

import django
from django.core.management import call_command

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
django.setup()

from readiness import clock, errands  # noqa: E402
from readiness.operations import watch, worker  # noqa: E402

watch.BEAT_SECONDS, watch.LEASE_SECONDS = 0.3, 1.5
worker.PAUSE_SECONDS = 0.1
errands.next_try = lambda attempts, pauses: clock.now() + timedelta(seconds=0.3)

if __name__ == "__main__":
    call_command("worker")
