"""Rows by the thousand, to see how the portal behaves with them: told houses, copied.

One house for each stage that a site can be at is told through the portal's own actions, and its
photos and papers are stored. Its rows are then copied under other ids, with a Record that holds;
the copies have no files. `fill` wants an empty database that may be thrown away.
"""

import hashlib
import io
import json
import re
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random
from uuid import UUID

from django.apps import apps
from django.core.files.storage import storages
from django.db import connection, models, transaction

from readiness import clock, priorities
from readiness.actions.fixing import fixes
from readiness.actions.photos.keeping import photo_data
from readiness.actions.reporting import drafts, issuing
from readiness.actions.sites import sites
from readiness.actions.visits import booking
from readiness.evidence.in_migrations import RecordOfThatTime
from readiness.evidence.record import append
from readiness.models import (
    Booking,
    Builder,
    Commitment,
    DefectItem,
    FingerprintBand,
    Fix,
    Message,
    Original,
    Paper,
    Photo,
    ReadinessConfirmation,
    RecordEntry,
    RunCheck,
    Site,
    SiteReport,
    TradeLink,
    User,
    WallRun,
    freeze,
)
from readiness.models.record import GENESIS
from readiness.photos import fingerprint
from readiness.rules.calendar import calendar_of
from readiness.rules.defects.catalogue import STATES
from tests.factories import confirm, make_applicator, make_contact

BUILDERS = 20
FULL_PAGES = 60
CHUNK = 200
ITEMS, PHOTOS_AN_ITEM = 10, 3
KINDS = ("mortar_drop", "weep_hole_blocked", "timber_against_wall", "access_blocked")
WALLS = ("North wall", "East wall", "South wall", "West wall")
TREATED = "treated"
OPEN = ("fixing", "review", "clean", "confirmed", "offered", "booked")
STAGES = (TREATED, *OPEN)
OFTEN = (*OPEN, *OPEN[:1] * 4)
"""Of the open sites most have something to fix."""
OPEN_EVERY = 5
"""One site in so many still has work to come; the others are treated and put away."""
COUNTED = (Site, DefectItem, Photo, FingerprintBand, RecordEntry, Paper, Message, Builder)
BANDS = """
INSERT INTO readiness_fingerprintband ("key", fingerprint, original_id)
SELECT band.n * 65536 + ((fingerprint >> (band.n * 16)) & 65535), fingerprint, digest
FROM readiness_original, (SELECT 0 AS n UNION SELECT 1 UNION SELECT 2 UNION SELECT 3) AS band
"""
"""The index rows of every fingerprint, as `readiness.photos.fingerprint.band_keys` has them."""


@dataclass(frozen=True)
class People:
    """Who acts: the owner of the business, and a contact of each builder."""

    owner: User
    contacts: list[User]


def fill(sites_wanted: int, seed: int = 1, tell: Callable[[str], None] = print) -> dict[str, int]:
    """Make the rows, and return how many there are of each.

    ValueError where there are people already: such rows go into no database that is in use.
    """
    if User.objects.exists():
        raise ValueError("This database has people in it. Use an empty one.")
    people = _people()
    now = clock.now()
    told = {stage: _house(people, stage, now) for stage in STAGES}
    tell(f"{len(told)} houses told")
    rng = Random(seed)
    with freeze.without_triggers():
        for first in range(len(told), sites_wanted, CHUNK):
            _copy_some(range(first, min(first + CHUNK, sites_wanted)), told, people, rng)
            tell(f"{min(first + CHUNK, sites_wanted)} of {sites_wanted} sites")
    priorities.mark_all()
    priorities.renew()
    with connection.cursor() as cursor:
        cursor.execute(BANDS)
        cursor.execute("ANALYZE")
    return {model.__name__: model.objects.count() for model in COUNTED}


def _people() -> People:
    owner = make_applicator("owner@bench.example", "Bench Owner", is_owner=True)
    contacts = []
    for number in range(BUILDERS):
        builder = Builder.objects.create(name=f"Bench Builder {number:02d}")
        contacts.append(make_contact(builder, f"contact{number}@bench.example"))
    return People(owner, contacts)


# Telling


@transaction.atomic
def _house(people: People, stage: str, now: datetime) -> "House":
    site = _told(people, stage, now)
    _make_papers(site)
    Message.objects.filter(site=site).update(state=Message.State.SENT, sent_at=now)
    return House(site)


def _told(people: People, stage: str, now: datetime) -> Site:
    """A house at a stage, told through the actions as it would be by the people."""
    owner, contact = people.owner, people.contacts[0]
    start = now - timedelta(days=60 if stage == TREATED else 7)

    def after(days: float):
        return clock.at(start + timedelta(days=days))

    with after(0):
        site = _site(owner, contact, number=STAGES.index(stage))
    with after(1):
        report = _report(owner, site)
    items = list(report.items.all())
    left = {"fixing": 6, "review": 0}.get(stage, 0)
    with after(4):
        for item in items[left:]:
            fixes.report_fixed(contact, item, photos=[_photo(owner, site)])
    waiting = {"fixing": 8, "review": 1}.get(stage, 0)
    with after(5):
        fixes.accept_fixes(owner, items[waiting:])
    if stage in ("confirmed", "offered", "booked", TREATED):
        with after(6):
            confirm(contact, report)
    # Near enough that the confirmation covers it over any weekend and holiday.
    day = calendar_of(site.state).add_working_days((start + timedelta(days=6)).date(), 3)
    if stage in ("fixing", "offered", "booked", TREATED):
        with after(6.1):
            booking.ask_for_booking(contact, site, preferences=[(day, "morning")])
    if stage in ("offered", "booked", TREATED):
        with after(6.2):
            offered = booking.offer_date(owner, site, day=day, half="morning")
    if stage in ("booked", TREATED):
        with after(6.3):
            booked = booking.accept_offer(contact, offered)
    if stage == TREATED:
        with after(15):
            booking.record_treatment(owner, booked, used_ml=6_000)
        with after(40):
            sites.close_site(owner, site)
    return site


def _site(owner: User, contact: User, number: int) -> Site:
    states, member = list(STATES), contact.memberships.get()
    site = sites.add_site(
        owner, member.builder, notify=[member], **_address(number),
        state=states[number % len(states)], house_type=f"Type {number % 7}",
        treatment_wanted_on=clock.now().date() + timedelta(days=30),
    )  # fmt: skip
    walls = [sites.RunEntry(label, 12_000, "face_brick") for label in WALLS]
    sites.set_wall_runs(owner, site, walls)
    return site


def _address(number: int) -> dict[str, str]:
    return {
        "street": f"{number + 1} Bench Street",
        "suburb": f"Suburb {number % 97}",
        "postcode": f"{1000 + number % 8000}",
        "job_number": f"B-{number:06d}",
    }


def _report(owner: User, site: Site) -> SiteReport:
    report = drafts.start_report(owner, site, visited_on=clock.now().date())
    runs = list(site.wall_runs.all())
    for run in runs:
        drafts.check_run(owner, report, run)
    for number in range(ITEMS):
        drafts.add_item(
            owner, report, kind=KINDS[number % len(KINDS)], wall_run=runs[number % len(runs)],
            from_mm=1000 * number, photos=[_photo(owner, site) for _ in range(PHOTOS_AN_ITEM)],
        )  # fmt: skip
    return issuing.issue_report(owner, report, notify=site.notify.all())


def _photo(owner: User, site: Site) -> Photo:
    """A photo as `add_photo` leaves it, of bytes that stand for a picture: nothing decodes them."""
    content = b"bench photo %d" % Original.objects.count()
    digest = hashlib.sha256(content).hexdigest()
    original = Original.objects.create(
        digest=digest, byte_size=len(content), media_type="image/jpeg", width_px=4032,
        height_px=3024, received_at=clock.now(), sizes_made_at=clock.now(),
        fingerprint=_look(digest),
    )  # fmt: skip
    storages["photos"].save(original.storage_name, io.BytesIO(content))
    photo = Photo.objects.create(
        site=site, original=original, uploaded_by=owner, filename="wall.jpg",
        received_at=clock.now(),
    )  # fmt: skip
    append(site, owner, "photo_added", photo_data(photo))
    return photo


def _look(digest: str) -> int:
    """A fingerprint that no other photo is near."""
    return fingerprint.to_signed(int(digest[:16], 16))


def _make_papers(site: Site) -> None:
    """Every paper as made, of bytes that stand for a PDF."""
    for paper in Paper.objects.filter(site=site):
        content = b"bench paper %s" % paper.pk.bytes
        paper.digest, paper.byte_size = hashlib.sha256(content).hexdigest(), len(content)
        paper.storage_name = storages["papers"].save(f"{paper.digest}.pdf", io.BytesIO(content))
        paper.state, paper.made_at, paper.pages = Paper.State.MADE, clock.now(), 2
        paper.save()
        data = {"paper": str(paper.pk), "kind": paper.kind, "edition": 1, "trade": paper.trade}
        append(site, None, "paper_made", {**data, "sha256": paper.digest}, rows=[paper])


# Copying

OF_A_SITE: dict[type[models.Model], str] = {
    Site: "pk", Site.notify.through: "site", WallRun: "site", SiteReport: "site",
    RunCheck: "report__site", DefectItem: "report__site", Fix: "item__report__site",
    Original: "photos__site", Photo: "site", ReadinessConfirmation: "report__site",
    Booking: "site", TradeLink: "site", Paper: "site", Message: "site", RecordEntry: "site",
}  # fmt: skip
"""What belongs to a site and how it is found, in the order in which rows can be inserted."""
_ID = re.compile(r"\b(?:[0-9a-f]{64}|[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})\b")


class House:
    """The rows of a told house, to make copies of."""

    def __init__(self, site: Site):
        self.rows = {
            model: list(model.objects.filter(**{path: site.pk}).order_by("pk").distinct())
            for model, path in OF_A_SITE.items()
        }


class Copy:
    """One copy of a house: each id and digest is another one, each time is `earlier`.

    `kept` says which ids stay, or what stands for them.
    """

    def __init__(self, number: int, earlier: timedelta, kept: dict[str, str]):
        self._number, self._earlier, self._ids = number, earlier, dict(kept)

    def of(self, row: models.Model) -> models.Model:
        fields = row._meta.concrete_fields
        return type(row)(
            **{
                field.attname: self._changed(getattr(row, field.attname))
                for field in fields
                if not isinstance(field, models.AutoField)
            }
        )

    def _changed(self, value):
        if isinstance(value, UUID):
            return UUID(self._other(str(value)))
        if isinstance(value, str):
            return _ID.sub(lambda found: self._other(found[0]), value)
        if isinstance(value, dict | list):
            return json.loads(self._changed(json.dumps(value)))
        return value - self._earlier if isinstance(value, date) else value

    def _other(self, known: str) -> str:
        if known not in self._ids:
            digest = hashlib.sha256(f"{known}/{self._number}".encode()).hexdigest()
            is_uuid = len(known) != len(digest)
            self._ids[known] = str(UUID(digest[:32], version=4)) if is_uuid else digest
        return self._ids[known]


def _copy_some(numbers: range, told: dict[str, House], people: People, rng: Random) -> None:
    made: dict[type[models.Model], list] = defaultdict(list)
    for number in numbers:
        is_open = number % OPEN_EVERY == 0
        stage = rng.choice(OFTEN) if is_open else TREATED
        # Open sites were visited this week; the others were finished over two years.
        earlier = timedelta(days=rng.randrange(6 if is_open else 700))
        # The first builder's pages are full at every size: like is compared with like.
        contact = people.contacts[number % BUILDERS if number >= FULL_PAGES else 0]
        copy = Copy(number, earlier, _kept(people, contact))
        rows = {model: list(map(copy.of, told[stage].rows[model])) for model in OF_A_SITE}
        _make_its_own(rows, number, contact)
        for model, of_house in rows.items():
            made[model] += of_house
    for model in OF_A_SITE:
        model.objects.bulk_create(made[model])


def _kept(people: People, contact: User) -> dict[str, str]:
    """The ids that all houses share, and those of the builder whose house the copy is."""
    told_for = people.contacts[0]
    return {
        GENESIS: GENESIS,
        str(people.owner.pk): str(people.owner.pk),
        str(told_for.pk): str(contact.pk),
        str(told_for.memberships.get().builder_id): str(contact.memberships.get().builder_id),
    }


def _make_its_own(rows: dict[type[models.Model], list], number: int, contact: User) -> None:
    """What follows from other ids: address, builder, looks of its photos, digests of its Record."""
    [site] = rows[Site]
    for name, value in _address(number).items():
        setattr(site, name, value)
    member = contact.memberships.get()
    site.builder = member.builder
    for told_contact in rows[Site.notify.through]:
        told_contact.buildercontact_id = member.pk
    for original in rows[Original]:
        original.fingerprint = _look(original.digest)
    previous = GENESIS
    for entry in rows[RecordEntry]:
        entry.previous_digest, entry.rows = previous, {}  # `hold_copies` tells of the rows
        entry.digest = previous = entry.computed_digest()


def hold_copies() -> None:
    """Hold the copied rows by their digests, as an upgrade does with what it finds."""
    told = Commitment.objects.exclude(site=None).values("site")
    keys = list(Site.objects.exclude(pk__in=told).values_list("pk", flat=True))
    record = RecordOfThatTime(apps)
    for at in range(0, len(keys), CHUNK):
        with transaction.atomic():
            record.begin_sites(keys[at : at + CHUNK])
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # that of `fill` was of a table with a few hundred rows
