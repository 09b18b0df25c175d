"""What a checkpoint costs over a long Record, against hashing all of it anew.

    .venv/bin/python tests/bench/bench_checkpoints.py [--entries 1000000]

Makes the entries in a folder that goes away, with digests of their own. The baseline reads every
leaf and hashes the whole tree, as one without kept tiles has to. Prints times and ratios.
"""

import argparse
import hashlib
import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).resolve().parents[2]
NEW = 1000
ROWS_AT_ONCE = 10_000


def timed(task):
    started = perf_counter()
    task()
    return perf_counter() - started


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--entries", type=int, default=1_000_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="readiness-bench-") as folder:
        os.environ.update(READINESS_DEMO="1", READINESS_DATA=folder)
        os.environ["DJANGO_SETTINGS_MODULE"] = "portal.settings"
        sys.path.insert(0, str(ROOT))
        import django

        django.setup()
        measure(options.entries)


def fill(site, start, count):
    from readiness import clock
    from readiness.models import RecordEntry

    now = clock.now()
    for first in range(start, start + count, ROWS_AT_ONCE):
        RecordEntry.objects.bulk_create(
            RecordEntry(
                site=site, sequence=number + 1, at=now, verb="levels_changed",
                previous_digest="0" * 64,
                digest=hashlib.sha256(str(number).encode()).hexdigest(),
            )
            for number in range(first, min(first + ROWS_AT_ONCE, start + count))
        )  # fmt: skip


def measure(count):
    from django.core.management import call_command

    from readiness.evidence import anchors, checkpoints, merkle
    from readiness.evidence.checkpoints import Reason, digests, make
    from tests.factories import make_site

    call_command("migrate", verbosity=0)
    site = make_site()
    fill(site, 0, count)
    first = timed(lambda: make(Reason.DAILY))
    fill(site, count, NEW)
    rounds = [timed(lambda: make(Reason.ISSUED))]
    for again in range(1, 3):
        fill(site, count + again * NEW, NEW)
        rounds.append(timed(lambda: make(Reason.ISSUED)))
    nothing = timed(lambda: make(Reason.DAILY))
    size = checkpoints.newest().size
    proof = timed(lambda: checkpoints.tree(size).inclusion(size // 3))
    root = checkpoints.newest().root

    def anew():
        leaves = digests(0, size)
        assert merkle.root_of(leaves).hex() == root

    baseline = timed(anew)
    against = timed(lambda: anchors.check_own())
    print(f"{size:,} entries")
    for what, seconds in (
        ("all hashed anew (baseline)", baseline),
        ("the first checkpoint, all placed", first),
        (f"a checkpoint after {NEW} new entries", min(rounds)),
        ("the daily look with nothing new", nothing),
        ("an inclusion proof", proof),
        ("all held against 4 checkpoints", against),
    ):
        print(f"{what:40} {seconds * 1000:>10,.0f} ms {seconds / baseline:>8.3f} of the baseline")


if __name__ == "__main__":
    main()
