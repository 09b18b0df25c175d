"""One house with all that belongs to it: its rows, and the Record of how they came about."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from random import Random
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Model

from readiness.models import (
    Booking,
    DefectItem,
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
    WallRun,
)
from readiness.models.record import GENESIS
from readiness.models.search import search_text
from readiness.rules.band import geometry
from readiness.rules.defects.catalogue import KINDS, STATES
from readiness.rules.site.assessment import (
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    ReportFacts,
    SiteFacts,
)
from readiness.rules.site.priority import TREATED, SitePriority, priority_of
from readiness.rules.values.rule_values import RuleValues

ITEMS_A_SITE = 10
PHOTOS_AN_ITEM = 3
FULL_PAGES = 60
OPEN_EVERY = 5
"""One site in so many still has work to come; the others are treated and archived."""
WALLS = ("North wall", "East wall", "South wall", "West wall")
KIND_ENTRIES = list(KINDS.values())
STATE_CODES = list(STATES)
VALUES = RuleValues.defaults()
TICKS = ["clean", "clear", "dry"]
PAPERS = ("site_report", "photo_record", "guide", "confirmation", "treatment")

COLUMNS: dict[type[Model], tuple[str, ...]] = {
    Site: (
        "id", "builder_id", "street", "suburb", "state", "postcode", "job_number", "house_type",
        "treatment_wanted_on", "created_by_id", "created_at", "closed_at", "search_text",
        "need", "need_first_due", "need_until", "to_review", "to_fix",
    ),
    WallRun: ("id", "site_id", "position", "label", "length_mm", "finish"),
    SiteReport: (
        "id", "site_id", "number", "visited_on", "treatment_wanted_on", "prepared_by_id",
        "created_at", "issued_at", "issued_by_id", "digest",
    ),
    RunCheck: ("id", "report_id", "wall_run_id", "checked_at", "checked_by_id"),
    DefectItem: (
        "id", "report_id", "number", "wall_run_id", "kind", "from_mm", "required_fix", "trade",
        "effect", "due_on", "created_at", "state", "state_changed_at",
    ),
    Fix: ("id", "item_id", "said_by_id", "said_at", "reviewed_at", "reviewed_by_id", "outcome"),
    Original: (
        "digest", "byte_size", "media_type", "width_px", "height_px", "received_at",
        "sizes_made_at", "fingerprint",
    ),
    Photo: ("id", "site_id", "original_id", "item_id", "uploaded_by_id", "filename", "received_at"),
    ReadinessConfirmation: (
        "id", "report_id", "confirmed_by_id", "statement", "name", "position", "signature", "ticks",
        "confirmed_at", "valid_until",
    ),
    Booking: (
        "id", "site_id", "state", "asked_by_id", "asked_at", "preferences", "day", "half",
        "offered_at", "confirmed_at", "confirmation_id", "closed_at", "used_ml",
    ),
    Paper: (
        "id", "site_id", "kind", "report_id", "confirmation_id", "booking_id", "subject", "state",
        "requested_at", "made_at", "pages", "byte_size", "digest", "storage_name",
    ),
    Message: (
        "id", "site_id", "to_id", "kind", "about", "key", "queued_at", "state", "sent_at",
    ),
    RecordEntry: (
        "site_id", "sequence", "at", "actor_id", "verb", "data", "previous_digest", "digest",
    ),
}  # fmt: skip
"""What is filled of each model, in the order in which rows can be inserted."""


@dataclass(frozen=True)
class World:
    """What all houses share."""

    now: datetime
    sites: int
    owner: UUID
    builders: list[tuple[UUID, str, UUID]]
    """Each builder's id, name, and the user who signs in for it."""


@dataclass
class House:
    """The rows of one house, drawn from its own random numbers: the same in any order of making."""

    world: World
    number: int
    seed: int
    rows: dict[type, list[tuple]] = field(default_factory=lambda: defaultdict(list))

    def __post_init__(self):
        self.rng = Random(f"{self.seed}/{self.number}")  # noqa: S311
        # The first builder's pages are full at every size: like is compared with like.
        which = self.number % len(self.world.builders) if self.number >= FULL_PAGES else 0
        self.builder, self.builder_name, self.contact = self.world.builders[which]
        # Days apart from one another, in the morning: as people work, and sorted by number.
        age = timedelta(days=700 * (self.world.sites - self.number) / self.world.sites)
        self.at = self.world.now - age
        self.is_closed = self.number % OPEN_EVERY != 0
        self.previous, self.sequence = GENESIS, 0
        self.id = self._uuid()

    def build(self) -> dict[type, list[tuple]]:
        """All rows by model."""
        self._site()
        self._report()
        self._fixes()
        if self.is_closed or self.stage in ("confirmed", "offered", "booked"):
            self._confirmation()
        self._booking()
        self._papers_and_messages()
        if self.is_closed:
            self._record(self.at + timedelta(days=40), self.world.owner, "site_closed", {})
        self.rows[Site].append(self._site_row())
        return self.rows

    def _uuid(self) -> UUID:
        return UUID(int=self.rng.getrandbits(128), version=4)

    def _record(self, at: datetime, actor: UUID | None, verb: str, data: dict) -> None:
        """An entry as `RecordEntry.canonical` has it; the keys stand in their order already."""
        self.sequence += 1
        text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        who = f'"{actor}"' if actor else "null"
        canonical = (
            f'{{"actor":{who},"at":"{at.isoformat(timespec="microseconds")}","data":{text},'
            f'"previous":"{self.previous}","sequence":{self.sequence},"site":"{self.id}",'
            f'"verb":"{verb}"}}'
        )
        digest = hashlib.sha256(canonical.encode()).hexdigest()
        row = (self.id, self.sequence, at, actor, verb, text, self.previous, digest)
        self.rows[RecordEntry].append(row)
        self.previous = digest

    def _site(self) -> None:
        at = self.at
        self.wanted = (at + timedelta(days=30)).date()
        # An open site of each stage, those with things to fix the most.
        self.stage = self.rng.choice(
            ("fixing",) * 5 + ("review", "clean", "confirmed", "offered", "booked")
        )
        self._record(at, self.world.owner, "site_added", {"builder": str(self.builder)})
        self.walls = [self._uuid() for _ in WALLS]
        for place, (wall, label) in enumerate(zip(self.walls, WALLS, strict=True), 1):
            self.rows[WallRun].append((wall, self.id, place, label, 12_000, "face_brick"))
        walls = [{"id": str(wall)} for wall in self.walls]
        self._record(at, self.world.owner, "walls_changed", {"walls": walls})

    def _site_row(self) -> tuple:
        number, state = self.number, STATE_CODES[self.number % len(STATE_CODES)]
        street, suburb = f"{number + 1} Bench Street", f"Suburb {number % 97}"
        postcode, job = f"{1000 + number % 8000}", f"B-{number:06d}"
        address = f"{street}, {suburb} {state} {postcode}"
        need = SitePriority(TREATED) if self.is_closed else priority_of(self._facts(state))
        return (
            self.id, self.builder, street, suburb, state, postcode, job, f"Type {number % 7}",
            self.wanted, self.world.owner, self.at,
            self.at + timedelta(days=40) if self.is_closed else None,
            search_text(address, job, self.builder_name),
            need.rank, need.first_due, need.until, need.to_review, need.to_fix,
        )  # fmt: skip

    def _facts(self, state: str) -> SiteFacts:
        """An open site as the rules take it: what `readiness.facts` reads from these rows."""
        walls = [str(wall) for wall in self.walls]
        items = [
            ItemFacts(
                id=str(row[0]), number=row[2], run_id=str(row[3]), kind=row[4], state=row[11],
                due_on=row[9], issued_at=self.issued_at,
            )
            for row in self.rows[DefectItem]
        ]  # fmt: skip
        stated = [
            ConfirmationFacts(row[8], 1, row[9], ticked_run_ids=frozenset(walls))
            for row in self.rows[ReadinessConfirmation]
        ]
        zone = STATES[state].zone
        booked = [
            BookingFacts(
                state=row[2], treat_on=row[6],
                treat_at=row[6] and datetime.combine(row[6], time(7), ZoneInfo(zone)),
            )
            for row in self.rows[Booking]
        ]  # fmt: skip
        return SiteFacts(
            runs=tuple(
                geometry.WallRun(wall, label, 12_000)
                for wall, label in zip(walls, WALLS, strict=True)
            ),
            report=ReportFacts(1, self.issued_at, tuple(map(CheckFacts, walls))),
            now=self.world.now,
            items=tuple(items),
            confirmation=stated[0] if stated else None,
            booking=booked[0] if booked else None,
            zone=zone,
            values=VALUES,
        )

    def _report(self) -> None:
        owner, at = self.world.owner, self.at + timedelta(days=1)
        self.report, self.issued_at = self._uuid(), at + timedelta(hours=2)
        self._record(at, owner, "report_started", {"report": str(self.report)})
        for wall in self.walls:
            self.rows[RunCheck].append((self._uuid(), self.report, wall, at, owner))
            data = {"report": str(self.report), "wall": str(wall), "note": ""}
            self._record(at, owner, "run_checked", data)
        self.items = [self._item(number, at) for number in range(1, ITEMS_A_SITE + 1)]
        digest = hashlib.sha256(self.report.bytes).hexdigest()
        self.rows[SiteReport].append(
            (
                self.report, self.id, 1, at.date(), self.wanted, owner, at, self.issued_at, owner,
                digest,
            )
        )  # fmt: skip
        issued: dict = {"report": str(self.report), "number": 1, "sha256": digest}
        issued["items"] = ITEMS_A_SITE
        self._record(self.issued_at, owner, "report_issued", issued)

    def _item(self, number: int, at: datetime) -> tuple[UUID, int, str]:
        item, kind = self._uuid(), self.rng.choice(KIND_ENTRIES)
        which = self.rng.randrange(len(WALLS))
        for photo in range(PHOTOS_AN_ITEM):
            self._photo(item, photo, at)
        state = self._item_state(number)
        self.rows[DefectItem].append(
            (
                item, self.report, number, self.walls[which], kind.slug,
                self.rng.randrange(12_000), kind.fix or "Put it right.", kind.trade, "holds",
                self.wanted - timedelta(days=kind.working_days), at, state,
                at + timedelta(days=3),
            )
        )  # fmt: skip
        data = {
            "item": str(item), "report": str(self.report), "number": number, "kind": kind.slug,
            "wall": WALLS[which], "effect": "holds", "measured": None,
        }  # fmt: skip
        self._record(at, self.world.owner, "item_added", data)
        return item, number, state

    def _item_state(self, number: int) -> str:
        if self.is_closed or self.stage in ("clean", "confirmed", "offered", "booked"):
            return "accepted"
        if self.stage == "review":
            return "said_fixed" if number == 1 else "accepted"
        return "to_fix" if number == 1 else self.rng.choice(("to_fix", "said_fixed", "accepted"))

    def _photo(self, item: UUID, number: int, at: datetime) -> None:
        content = photo_content(item, number)
        digest, photo = hashlib.sha256(content).hexdigest(), self._uuid()
        self.rows[Original].append(
            (digest, len(content), "image/jpeg", 4032, 3024, at, at, self._fingerprint())
        )
        self.rows[Photo].append(
            (photo, self.id, digest, item, self.world.owner, f"wall-{number}.jpg", at)
        )
        data = {
            "photo": str(photo), "sha256": digest, "bytes": len(content),
            "media_type": "image/jpeg", "width_px": 4032, "height_px": 3024,
            "received_at": at.isoformat(timespec="microseconds"),
        }  # fmt: skip
        self._record(at, self.world.owner, "photo_added", data)

    def _fingerprint(self) -> int:
        return self.rng.getrandbits(64) - (1 << 63)

    def _fixes(self) -> None:
        said_at = self.at + timedelta(days=4)
        for item, number, state in self.items:
            if state == "to_fix":
                continue
            fix, accepted = self._uuid(), state == "accepted"
            about = {"item": str(item), "report": str(self.report), "number": number}
            more: dict = {"fix": str(fix), "photos": [], "note": ""}
            self._record(said_at, self.contact, "said_fixed", {**about, **more})
            reviewed_at = said_at + timedelta(days=1) if accepted else None
            if accepted:
                more = {"fix": str(fix), "note": "", "on_site": False}
                self._record(reviewed_at, self.world.owner, "fix_accepted", {**about, **more})
            self.rows[Fix].append(
                (
                    fix, item, self.contact, said_at, reviewed_at,
                    self.world.owner if accepted else None, "accepted" if accepted else "",
                )
            )  # fmt: skip

    confirmation: UUID | None = None

    def _confirmation(self) -> None:
        at = self.at + timedelta(days=6) if self.is_closed else self.world.now - timedelta(days=1)
        self.confirmation, self.confirmed_at = self._uuid(), at
        until = at + timedelta(days=7)
        ticks = json.dumps({str(wall): TICKS for wall in self.walls})
        self.rows[ReadinessConfirmation].append(
            (
                self.confirmation, self.report, self.contact, "The perimeter is ready.",
                "Bench Contact", "Supervisor", "Bench Contact", ticks, at, until,
            )
        )  # fmt: skip
        data = {"confirmation": str(self.confirmation), "report": str(self.report), "number": 1}
        self._record(at, self.contact, "ready_confirmed", data)

    booking: UUID | None = None

    def _booking(self) -> None:
        """Treated; or what an open site's stage asks for, and of the others every third asks."""
        offered = self.stage in ("offered", "booked")
        if not self.is_closed and not offered and self.rng.random() > 0.3:
            return
        self.booking = self._uuid()
        asked_at = self.at + timedelta(days=5)
        day = (self.world.now + timedelta(days=self.rng.randrange(1, 6))).date()
        wanted = [{"date": day.isoformat(), "half": "morning"}]
        state, confirmed_at, closed_at, used_ml = "asked", None, None, None
        data: dict = {"booking": str(self.booking), "preferences": wanted}
        self._record(asked_at, self.contact, "booking_asked", data)
        if self.is_closed:
            state, used_ml = "treated", 6_000
            confirmed_at, closed_at = self.at + timedelta(days=7), self.at + timedelta(days=10)
            day = closed_at.date()
        elif offered:
            state = "offered" if self.stage == "offered" else "confirmed"
            confirmed_at = self.world.now if self.stage == "booked" else None
        self.rows[Booking].append(
            (
                self.booking, self.id, state, self.contact, asked_at, json.dumps(wanted),
                day if state != "asked" else None, "morning" if state != "asked" else "",
                confirmed_at or (self.world.now if offered else None), confirmed_at,
                self.confirmation if confirmed_at else None, closed_at, used_ml,
            )
        )  # fmt: skip
        data = {"booking": str(self.booking), "day": day.isoformat(), "half": "morning"}
        if confirmed_at:
            self._record(confirmed_at, self.contact, "booking_confirmed", data)
        if closed_at:
            data = {"booking": str(self.booking), "used_ml": used_ml, "batch": ""}
            self._record(closed_at, self.world.owner, "treated", data)

    def _papers_and_messages(self) -> None:
        self._message("report_issued", self.report, self.issued_at)
        for kind in PAPERS:
            links = {"confirmation": self.confirmation, "treatment": self.booking}
            about = links.get(kind, self.report)
            if about is None or (kind == "treatment" and not self.is_closed):
                continue
            self._paper(kind, about)
            if kind in links:
                said = "ready_confirmed" if kind == "confirmation" else "site_treated"
                self._message(said, about, self.at + timedelta(days=10))

    def _paper(self, kind: str, about: UUID) -> None:
        paper, made_at = self._uuid(), self.at + timedelta(days=11)
        content = paper_content(paper)
        digest = hashlib.sha256(content).hexdigest()
        self.rows[Paper].append(
            (
                paper, self.id, kind, self.report if about == self.report else None,
                self.confirmation if kind == "confirmation" else None,
                self.booking if kind == "treatment" else None, f"{kind}/{about}//1", "made",
                made_at, made_at, 2, len(content), digest, f"bench/{paper}.pdf",
            )
        )  # fmt: skip
        data = {"paper": str(paper), "kind": kind, "edition": 1, "trade": "", "sha256": digest}
        self._record(made_at, None, "paper_made", data)

    def _message(self, kind: str, about: UUID, at: datetime) -> None:
        key = f"{kind}/{about}/{self.contact}"
        self.rows[Message].append(
            (self._uuid(), self.id, self.contact, kind, about, key, at, "sent", at)
        )


def photo_content(item: UUID, number: int) -> bytes:
    """What stands for a photo's bytes; it follows from the rows, so that no file is needed."""
    return b"bench photo %s %d" % (item.bytes, number)


def paper_content(paper: UUID) -> bytes:
    """What stands for a paper's bytes."""
    return b"bench paper %s" % paper.bytes


def files_of(rows: dict[type, list[tuple]]) -> Iterator[tuple[str, str, bytes]]:
    """The files of a house: their store, their name there, and their bytes."""
    for photo in rows[Photo]:
        digest, item, number = photo[2], photo[3], int(photo[5].split("-")[1].split(".")[0])
        yield "photos", Original(digest=digest).storage_name, photo_content(item, number)
    for paper in rows[Paper]:
        yield "papers", paper[-1], paper_content(paper[0])
