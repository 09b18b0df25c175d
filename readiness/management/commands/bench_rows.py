"""`manage.py bench_rows`: many sites, items and photo rows, to see how pages behave with them.

Rows only: no picture files, no papers, and no Record. Never for use.
"""

from __future__ import annotations

import hashlib
import json
import random
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction

from readiness import clock
from readiness.models import (
    Booking,
    Builder,
    BuilderContact,
    DefectItem,
    Fix,
    Original,
    Photo,
    RunCheck,
    Site,
    SiteReport,
    User,
    WallRun,
)
from readiness.rules.catalogue import KINDS, STATES

ITEMS_A_SITE = 10
PHOTOS_AN_ITEM = 3
BUILDERS = 20
FULL_PAGES = 60
OPEN_EVERY = 5
"""One site in so many still has work to come; the others are treated and put away."""
WALLS = ("North wall", "East wall", "South wall", "West wall")
CHUNK = 250


class Command(BaseCommand):
    help = "Fill an empty database with many sites, items and photo rows, for benchmarks."

    def add_arguments(self, parser):
        parser.add_argument("--sites", type=int, default=10_000)
        parser.add_argument(
            "--seed", type=int, default=1, help="The same seed gives the same rows."
        )

    def handle(self, *, sites, seed, **options):
        if User.objects.exists():
            raise CommandError("This database has people in it. Use an empty one: READINESS_DATA.")
        made = fill(sites, random.Random(seed), clock.now())  # noqa: S311
        self.stdout.write(json.dumps(made))


def fill(sites: int, rng: random.Random, now: datetime) -> dict[str, int]:
    """Make the rows and return how many there are of each."""
    owner, builders = _people()
    first = 0
    while first < sites:
        batch = _Batch(rng, now, owner, builders, first, min(CHUNK, sites - first), sites)
        with transaction.atomic():
            batch.store()
        first += CHUNK
    if connection.vendor == "postgresql":  # its autovacuum would; SQLite never does by itself
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    counted = {model.__name__: model.objects.count() for model in (Site, DefectItem, Photo)}
    return {**counted, "Builder": len(builders)}


def _people() -> tuple[User, list[tuple[Builder, User]]]:
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
        builders.append((builder, user))
    return owner, builders


@dataclass
class _Batch:
    """A few hundred sites with all that belongs to them."""

    rng: random.Random
    now: datetime
    owner: User
    builders: list[tuple[Builder, User]]
    first: int
    count: int
    of: int

    def store(self) -> None:
        # Reports are stored as drafts: the database takes no items of an issued one.
        places = [self._site(self.first + index) for index in range(self.count)]
        Site.objects.bulk_create(places)
        walls = {place.pk: self._walls(place) for place in places}
        WallRun.objects.bulk_create([wall for group in walls.values() for wall in group])
        reports = [self._report(place) for place in places]
        SiteReport.objects.bulk_create(reports)
        RunCheck.objects.bulk_create(
            RunCheck(report=report, wall_run=wall, checked_at=report.created_at)
            for report in reports
            for wall in walls[report.site_id]
        )
        items = [item for report in reports for item in self._items(report, walls[report.site_id])]
        DefectItem.objects.bulk_create(items)
        fixes = [self._fix(item) for item in items if item.state in ("said_fixed", "accepted")]
        Fix.objects.bulk_create(fixes)
        self._photos(items)
        for report in reports:
            report.number, report.issued_at = 1, report.created_at + timedelta(hours=2)
            report.issued_by, report.digest = self.owner, "0" * 64
        SiteReport.objects.bulk_update(reports, ["number", "issued_at", "issued_by", "digest"])
        Booking.objects.bulk_create(self._bookings(places))

    def _site(self, number: int) -> Site:
        # The first builder's pages are full at every size: like is compared with like.
        builder, _ = self.builders[number % BUILDERS if number >= FULL_PAGES else 0]
        age = timedelta(days=700 * (self.of - number) / self.of)
        state = list(STATES)[number % len(STATES)]
        closed = number % OPEN_EVERY != 0
        return Site(
            builder=builder,
            street=f"{number + 1} Bench Street",
            suburb=f"Suburb {number % 97}",
            state=state,
            postcode=f"{1000 + number % 8000}",
            job_number=f"B-{number:06d}",
            house_type=f"Type {number % 7}",
            treatment_wanted_on=(self.now - age + timedelta(days=30)).date(),
            created_by=self.owner,
            created_at=self.now - age,
            closed_at=self.now - age + timedelta(days=40) if closed else None,
        )

    def _walls(self, place: Site) -> list[WallRun]:
        return [
            WallRun(site=place, position=at, label=label, length_mm=12_000, finish="face_brick")
            for at, label in enumerate(WALLS, 1)
        ]

    def _report(self, place: Site) -> SiteReport:
        return SiteReport(
            site=place,
            visited_on=place.created_at.date(),
            treatment_wanted_on=place.treatment_wanted_on,
            prepared_by=self.owner,
            created_at=place.created_at + timedelta(days=1),
        )

    def _items(self, report: SiteReport, walls: list[WallRun]) -> Iterator[DefectItem]:
        finished = report.site.closed_at is not None
        for number in range(1, ITEMS_A_SITE + 1):
            kind = self.rng.choice(list(KINDS.values()))
            states = ("accepted",) if finished else ("to_fix", "said_fixed", "accepted")
            yield DefectItem(
                report=report,
                number=number,
                wall_run=self.rng.choice(walls),
                kind=kind.slug,
                from_mm=self.rng.randrange(12_000),
                required_fix=kind.fix or "Put it right.",
                trade=kind.trade,
                effect="holds",
                due_on=report.treatment_wanted_on - timedelta(days=kind.working_days),
                created_at=report.created_at,
                state=self.rng.choice(states),
                state_changed_at=report.created_at,
            )

    def _fix(self, item: DefectItem) -> Fix:
        said_at = item.created_at + timedelta(days=3)
        accepted = item.state == "accepted"
        return Fix(
            item=item,
            said_at=said_at,
            reviewed_at=said_at + timedelta(days=1) if accepted else None,
            outcome="accepted" if accepted else "",
        )

    def _photos(self, items: list[DefectItem]) -> None:
        originals, photos = [], []
        for item in items:
            for number in range(PHOTOS_AN_ITEM):
                digest = hashlib.sha256(f"{item.pk}/{number}".encode()).hexdigest()
                originals.append(
                    Original(
                        digest=digest,
                        byte_size=3_000_000,
                        media_type="image/jpeg",
                        width_px=4032,
                        height_px=3024,
                        received_at=item.created_at,
                        sizes_made_at=item.created_at,
                        fingerprint=self.rng.getrandbits(63),
                    )
                )
                photos.append(
                    Photo(
                        site_id=item.report.site_id,
                        original_id=digest,
                        item=item,
                        uploaded_by=self.owner,
                        filename=f"wall-{number}.jpg",
                        received_at=item.created_at,
                    )
                )
        Original.objects.bulk_create(originals)
        Photo.objects.bulk_create(photos)

    def _bookings(self, places: list[Site]) -> Iterator[Booking]:
        for place in places:
            day = (self.now + timedelta(days=self.rng.randrange(1, 30))).date()
            common = {"site": place, "asked_at": place.created_at, "id": uuid.uuid4()}
            if place.closed_at:
                yield Booking(
                    **common, state="treated", day=place.closed_at.date(), half="morning",
                    confirmed_at=place.created_at, closed_at=place.closed_at, used_ml=6_000,
                )  # fmt: skip
            elif self.rng.random() < 0.3:
                yield Booking(
                    **common, state="asked",
                    preferences=[{"date": day.isoformat(), "half": "morning"}],
                )  # fmt: skip
