"""Filling an empty database with many houses, on as many processors as asked."""

import multiprocessing
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from datetime import datetime
from functools import partial

from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.db import connection, connections, transaction
from django.db.models import Model

from readiness.demo.many.bulk import Writer, unguarded
from readiness.demo.many.house import COLUMNS, House, World, files_of
from readiness.models import (
    Builder,
    BuilderContact,
    DefectItem,
    FingerprintBand,
    Message,
    Paper,
    Photo,
    RecordEntry,
    Site,
    User,
)

BUILDERS = 20
CHUNK = 500
COUNTED = (Site, DefectItem, Photo, FingerprintBand, RecordEntry, Paper, Message, Builder)
BANDS = """
INSERT INTO readiness_fingerprintband ("key", fingerprint, original_id)
SELECT band.n * 65536 + ((fingerprint >> (band.n * 16)) & 65535), fingerprint, digest
FROM readiness_original, (SELECT 0 AS n UNION SELECT 1 UNION SELECT 2 UNION SELECT 3) AS band
"""
"""The index rows of every fingerprint, as `readiness.photos.fingerprint.band_keys` has them."""


def fill(
    sites: int,
    seed: int,
    now: datetime,
    jobs: int = 1,
    with_files: int = 0,
    tell: Callable[[str], None] = lambda text: None,
) -> dict[str, int]:
    """Make the rows and return how many there are of each; the first `with_files` have files."""
    world = _people(World(now, sites, None, []))
    models: list[type[Model]] = [*COLUMNS, FingerprintBand]
    with unguarded(model._meta.db_table for model in models) as each_connection:
        fill_part = partial(_fill_part, world, seed, with_files, each_connection)
        for done in _run(fill_part, range(0, sites, CHUNK), jobs):
            tell(f"{min(done + CHUNK, sites)} of {sites} sites")
        with connection.cursor() as cursor:
            cursor.execute(BANDS)
        tell("Indexes")
    _analyze()
    return {model.__name__: model.objects.count() for model in COUNTED}


def _people(world: World) -> World:
    owner = User.objects.create_user(
        "owner@bench.example", name="Bench Owner", role=User.Role.APPLICATOR, is_owner=True
    )
    builders = []
    for number in range(BUILDERS):
        builder = Builder.objects.create(name=f"Bench Builder {number:02d}")
        user = User.objects.create_user(
            f"contact{number}@bench.example", name=f"Contact {number}", role=User.Role.BUILDER
        )
        BuilderContact.objects.create(user=user, builder=builder, position="Supervisor")
        builders.append((builder.pk, builder.name, user.pk))
    return World(world.now, world.sites, owner.pk, builders)


def _run(task: Callable[[int], int], arguments: range, jobs: int):
    """Each result in order, from this process or from several."""
    if jobs == 1:
        yield from map(task, arguments)
        return
    connections.close_all()
    with ProcessPoolExecutor(jobs, mp_context=multiprocessing.get_context("fork")) as pool:
        yield from pool.map(task, arguments)


def _fill_part(
    world: World, seed: int, with_files: int, each_connection: Callable[[], None], first: int
) -> int:
    """Make the houses from `first` on, in one transaction; returns `first`."""
    each_connection()
    rows: dict[type, list[tuple]] = defaultdict(list)
    for number in range(first, min(first + CHUNK, world.sites)):
        house = House(world, number, seed).build()
        for model, of_house in house.items():
            rows[model] += of_house
        if number < with_files:
            _put_files(house)
    with transaction.atomic():
        for model, columns in COLUMNS.items():
            Writer(model, columns).write(rows[model])
    return first


def _put_files(house: dict[type, list[tuple]]) -> None:
    for store, name, content in files_of(house):
        if not storages[store].exists(name):
            storages[store].save(name, ContentFile(content))


def _analyze() -> None:
    """PostgreSQL's autovacuum would by and by; SQLite never does by itself."""
    vacuum = connection.vendor == "postgresql" and not connection.in_atomic_block
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE" if vacuum else "ANALYZE")
