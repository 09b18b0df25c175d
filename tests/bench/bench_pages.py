"""How list pages behave as the installation grows: 100 sites beside 10 000.

    .venv/bin/python tests/bench/bench_pages.py [--sites 100 10000] [--rounds 15] [--keep FOLDER]
    .venv/bin/python tests/bench/bench_pages.py --postgres URL --sites 10000 100000

Makes the rows in a folder that goes away (10 items a site, 3 photos an item), asks for each page
through Django's test client in this process, and prints the median time and the number of queries.
With the URL of a PostgreSQL server (as a superuser) it makes them there, in databases of their own
that stay: 100 000 sites take an hour and 13 GB, and are used again by the next run.
The figures to look at are the ratios: how much slower the page is with the many sites, by the
clock, and by processor time (which other work on the machine disturbs less).
"""

import argparse
import json
import logging
import os
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from urllib.parse import quote, urlsplit, urlunsplit

ROOT = Path(__file__).resolve().parents[2]


def pages(owner, contact, sites):
    """The pages to ask for: (words, user, address)."""
    from django.urls import reverse

    newest = sites.order_by("-created_at").first()
    own = sites.filter(builder=contact.memberships.get().builder, closed_at=None)
    far = max(1, min(sites.filter(closed_at=None).count(), 400) // 25)
    lists = reverse("office:sites")
    return [
        ("applicator: home", owner, reverse("office:home")),
        ("applicator: sites", owner, lists),
        (f"applicator: sites, page {far}", owner, f"{lists}?page={far}"),
        ("applicator: sites, search", owner, f"{lists}?q={newest.job_number}"),
        ("applicator: sites, search, words", owner, f"{lists}?q=bench+street+suburb+3"),
        ("applicator: sites, search, address", owner, f"{lists}?q={quote(newest.address)}"),
        ("applicator: sites, search, nothing", owner, f"{lists}?q=wombat+street"),
        ("applicator: sites, to review", owner, f"{lists}?show=review"),
        ("applicator: sites, with builders", owner, f"{lists}?show=builder"),
        ("applicator: sites, all", owner, f"{lists}?show=all"),
        ("applicator: bookings", owner, reverse("office:bookings")),
        ("applicator: builders", owner, reverse("office:builders")),
        ("applicator: a builder", owner, reverse("office:builder", args=[newest.builder_id])),
        ("applicator: a site", owner, reverse("office:site", args=[own.first().pk])),
        ("applicator: photos of a site", owner, reverse("office:photos", args=[newest.pk])),
        ("applicator: record of a site", owner, reverse("office:record", args=[newest.pk])),
        ("builder: home", contact, reverse("builder:home")),
        ("builder: home, search", contact, f"{reverse('builder:home')}?q=bench+street+1"),
        ("builder: all sites", contact, reverse("builder:sites")),
        ("builder: a site", contact, reverse("builder:site", args=[own.first().pk])),
    ]


def measure(count, rounds):
    """Make the rows in this process's own folder, ask for each page, print JSON."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "portal.settings"
    sys.path.insert(0, str(ROOT))
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from readiness.models import Site, User
    from tests.bench.rows import fill

    logging.getLogger("django.request").setLevel(logging.CRITICAL)  # the table shows the status
    call_command("migrate", verbosity=0)
    started = perf_counter()
    if not User.objects.exists():
        fill(count, tell=lambda words: print(words, file=sys.stderr))
    made_in = perf_counter() - started
    owner = User.objects.get(email="owner@bench.example")
    contact = User.objects.get(email="contact0@bench.example")
    found = []
    for words, user, address in pages(owner, contact, Site.objects.all()):
        client = Client(raise_request_exception=False, headers={"host": "127.0.0.1"})
        client.force_login(user)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            status = client.get(address).status_code
        asked = len(queries)  # now: the next request empties the log
        times, busy = [], []
        for _ in range(rounds):
            started, work = perf_counter(), process_time()
            client.get(address)
            times.append((perf_counter() - started) * 1000)
            busy.append((process_time() - work) * 1000)
        found.append((words, status, asked, median(times), median(busy)))
    json.dump({"made_in": made_in, "pages": found}, sys.stdout)


@contextmanager
def folder_for(count, kept):
    """A folder for the rows: one that goes away, or one below `kept`."""
    if kept is None:
        with tempfile.TemporaryDirectory(prefix="readiness-bench-") as folder:
            yield folder
    else:
        yield str(kept.absolute() / str(count))


def database_for(count, server):
    """The URL of this count's own database on the server, made where it is not there yet."""
    import psycopg

    address = urlsplit(server)
    name = f"bench_pages_{count}"
    with psycopg.connect(server, autocommit=True) as connection:
        if not connection.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name]).rowcount:
            connection.execute(f"CREATE DATABASE {name}")
    return urlunsplit(address._replace(path=f"/{name}"))


def in_its_own_process(count, rounds, kept, server):
    with folder_for(count, kept) as folder:
        environment = {**os.environ, "READINESS_DEMO": "1", "READINESS_DATA": folder}
        if server:
            environment["DATABASE_URL"] = database_for(count, server)
        run = subprocess.run(
            [sys.executable, __file__, "--measure", str(count), "--rounds", str(rounds)],
            env=environment,
            stdout=subprocess.PIPE,
            check=True,
        )
    return json.loads(run.stdout)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sites", type=int, nargs=2, default=[100, 10_000])
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--keep", type=Path, help="Keep the rows here, and use them again.")
    parser.add_argument("--postgres", metavar="URL", help="Make the rows on this server.")
    parser.add_argument("--measure", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.measure:
        measure(options.measure, options.rounds)
        return
    few, many = (
        in_its_own_process(count, options.rounds, options.keep, options.postgres)
        for count in options.sites
    )
    names = [f"{count} sites" for count in options.sites]
    head = f"{'page':34} {'queries':>10} {names[0]:>13} {names[1]:>13} {'ratio':>6} {'of CPU':>7}"
    print(head)
    for first, second in zip(few["pages"], many["pages"], strict=True):
        words, status, queries, time, busy = first
        _, status_too, queries_too, time_too, busy_too = second
        flag = "" if {status, status_too} == {200} else f"  status {status}, {status_too}"
        print(
            f"{words:34} {f'{queries}, {queries_too}':>10} {time:>10.1f} ms {time_too:>10.1f} ms "
            f"{time_too / time:>5.1f}x {busy_too / busy:>6.1f}x{flag}"
        )
    print(f"\nRows made in {few['made_in']:.0f} s and {many['made_in']:.0f} s.")


if __name__ == "__main__":
    main()
