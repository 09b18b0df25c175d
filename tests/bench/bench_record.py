"""How fast the Record is checked: by parts and on two processes, against site by site.

    .venv/bin/python tests/bench/bench_record.py [--sites 1000]

Makes the rows in a folder that goes away (about 75 entries a site), or uses those that DATABASE_URL
names. The baseline is one site a call, as version 0.1 read them; the floor is hashing the same
bytes and nothing else. Prints entries a second and ratios.
"""

import argparse
import hashlib
import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).resolve().parents[2]


def timed(what, task):
    started = perf_counter()
    entries = task()
    return what, entries / (perf_counter() - started)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sites", type=int, default=1000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="readiness-bench-") as folder:
        os.environ.update(READINESS_DEMO="1", READINESS_DATA=folder)
        os.environ["DJANGO_SETTINGS_MODULE"] = "portal.settings"
        sys.path.insert(0, str(ROOT))
        import django

        django.setup()
        measure(options.sites)


def measure(count):
    from django.core.management import call_command

    from readiness.evidence.checking import Checked, check_sites
    from readiness.evidence.verification import Scope, verify
    from readiness.models import RecordEntry, Site, User
    from tests.bench.rows import fill, hold_copies

    call_command("migrate", verbosity=0)
    if not User.objects.exists():
        fill(count)
        hold_copies()
    keys = list(Site.objects.order_by("created_at").values_list("pk", flat=True)[:count])
    scope = Scope(sites=tuple(keys), files=False)

    def one_by_one():
        checked = Checked()
        for key in keys:
            checked.add(check_sites([key], files=False))
        return checked.entries

    contents = [entry.canonical() for entry in RecordEntry.objects.filter(site__in=keys[:100])]

    def floor():
        for content in contents:
            hashlib.sha256(content).hexdigest()
        return len(contents)

    found = [
        timed("one site a call (baseline)", one_by_one),
        timed("by parts", lambda: verify(scope).entries),
        timed("by parts, 2 processes", lambda: verify(scope, jobs=2).entries),
        timed("floor: hashing alone", floor),
    ]
    baseline = found[0][1]
    for what, pace in found:
        print(f"{what:30} {pace:>12,.0f} entries/s {pace / baseline:>7.1f}x")


if __name__ == "__main__":
    main()
