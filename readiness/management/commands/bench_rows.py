"""`manage.py bench_rows`: an installation of years, to see how pages and commands behave with it.

Rows with a Record that holds; picture files and papers only where asked for. Never for use.
"""

import json
from time import monotonic

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from readiness import clock
from readiness.demo.many.fill import fill
from readiness.models import User


class Command(BaseCommand):
    help = (
        "Fill an empty database with many sites, their items, photo rows, Record, papers and "
        "e-mails, for benchmarks."
    )

    def add_arguments(self, parser):
        parser.add_argument("--sites", type=int, default=10_000)
        parser.add_argument(
            "--seed", type=int, default=1, help="The same seed gives the same rows."
        )
        parser.add_argument(
            "--jobs", type=int, default=1, help="Processes that write (PostgreSQL only)."
        )
        parser.add_argument(
            "--with-files", type=int, default=0, metavar="N",
            help="Also store files for the photos and papers of the first N sites.",
        )  # fmt: skip

    def handle(self, *, sites, seed, jobs, with_files, **options):
        if User.objects.exists():
            raise CommandError("This database has people in it. Use an empty one: READINESS_DATA.")
        if jobs > 1 and connection.vendor != "postgresql":
            raise CommandError("SQLite has one writer at a time: --jobs 1.")
        started = monotonic()

        def tell(text):
            self.stderr.write(f"{monotonic() - started:6.0f} s  {text}")

        made = fill(sites, seed, clock.now(), jobs, with_files, tell)
        self.stdout.write(json.dumps(made))
