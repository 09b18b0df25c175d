"""One house with a row of each kind and state, and what of each may still change."""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.db.models import Field, Model

from readiness import clock
from readiness.actions import referrals, sharing
from readiness.actions.fixing import fixes
from readiness.actions.people import inviting
from readiness.actions.photos import keeping
from readiness.actions.visits import booking, confirming, putting_off
from readiness.evidence import checkpoints
from readiness.evidence.record import append
from readiness.models import (
    Booking,
    Commitment,
    DefectItem,
    Fix,
    Leaf,
    Paper,
    PhotoMeasurement,
    RecordEntry,
    RunCheck,
    Said,
    SecurityEvent,
    Tile,
    Timestamp,
    freeze,
)
from readiness.models.verbs import Verb
from tests.factories import (
    confirm,
    make_applicator,
    make_builder,
    make_contact,
    make_draft,
    make_issued,
    make_item,
    make_photo,
    make_runs,
    make_site,
)

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
VISIT = datetime(2026, 11, 25, 0, 0, tzinfo=UTC)

WITHDRAWAL = {"withdrawn_at", "withdrawn_by_id", "withdrawn_reason"}
REVIEW = {"taken_back_at", "reviewed_at", "reviewed_by_id", "outcome", "reason"}
SHOWN = {
    "item_id", "fix_id", "run_check_id", "referral_id", "referral_decision_id", "on_site",
    "before_id", "alignment",
}  # fmt: skip
STANDING = {
    "cleaned_wet_at", "state", "state_changed_at", "disputed_at", "disputed_by_id",
    "dispute_reason", "decided_at", "decided_by_id", "decision", "decision_reason",
}  # fmt: skip
ALL = {"*"}

WORDS = {rule.message for rule in freeze.RULES} | {freeze.TAKEN}
"""What the rules say when they refuse."""


@dataclass
class Row:
    """A row, the columns that may change (`ALL` but `never`), and whether it may be deleted."""

    called: str
    row: Model
    may: set[str] = field(default_factory=set)
    never: set[str] = field(default_factory=set)
    goes: bool = False

    @property
    def columns(self) -> list[Field]:
        return list(self.row._meta.concrete_fields)

    def may_change(self, column: str) -> bool:
        return column in self.may or (self.may == ALL and column not in self.never)


@pytest.fixture
def rows(db, settings):
    """The rows; nothing is handed to a worker."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    with transaction.atomic():
        return make_rows()


def refused(act) -> bool:
    """Whether the act is refused by a rule; nothing of it is kept."""
    try:
        with transaction.atomic():
            act()
            transaction.set_rollback(True)
    except IntegrityError as error:
        return any(words in str(error) for words in WORDS)
    return False


def make_rows() -> list[Row]:
    """Told through the actions; papers and the withdrawn state of some rows by hand."""
    owner, builder = make_applicator("owner@frozen.example", is_owner=True), make_builder()
    contact = make_contact(builder, "contact@frozen.example")
    with clock.at(NOW):
        return [
            *_of_issued(owner, contact, builder),
            *_of_draft(owner, builder),
            *_bookings(owner, contact, builder),
            *_invitations(owner),
            Row("event of the security log", SecurityEvent.objects.first(), goes=True),
            *_of_record(),
            *_checkpoints(),
        ]


def _of_issued(owner, contact, builder) -> list[Row]:
    site = make_site(builder)
    make_runs(site)
    report = make_issued(owner, site, kinds=("mortar_drop",) * 4)
    items = list(report.items.all())
    made = [_fix(contact, item) for item in items]
    fixes.accept_fix(owner, items[1])
    fixes.send_back(owner, items[2], reason="Soil is still there.")
    fixes.take_back_fix(contact, made[3])
    return [
        Row("issued report", report, {"superseded_at"}),
        Row("item", items[0], STANDING),
        Row("check", report.checks.first()),
        Row("open fix", made[0], REVIEW),
        Row("accepted fix", made[1]),
        Row("fix sent back", made[2]),
        Row("fix taken back", made[3]),
        *_photos(owner, site, items[0]),
        *_links(contact, site),
        *_referrals(owner, site),
        *_papers(site, report),
        *_confirmations(owner, contact, builder),
    ]


def _fix(contact, item) -> Fix:
    site = item.report.site
    return fixes.report_fixed(contact, item, photos=[make_photo(site, contact)], note="Done.")


def _confirmations(owner, contact, builder) -> list[Row]:
    site = make_site(builder)
    make_runs(site)
    report = make_issued(owner, site, kinds=())
    withdrawn = confirm(contact, report)
    confirming.withdraw_confirmation(contact, withdrawn, reason="It rained.")
    return [
        Row("confirmation", confirm(contact, report), WITHDRAWAL),
        Row("withdrawn confirmation", withdrawn),
    ]


def _photos(owner, site, item) -> list[Row]:
    place = {"latitude": Decimal("-33.1"), "longitude": Decimal("151.2")}
    kept, removed = make_photo(site, owner, **place), make_photo(site, owner)
    keeping.remove_photo(owner, removed, "A face.")
    measurement = PhotoMeasurement.objects.create(
        photo=kept, item=item, marks={}, value_mm=12, uncertainty_mm=2, reference="A brick"
    )
    return [
        Row("photo", kept, SHOWN | {"removed_at"}),
        Row("removed photo", removed, SHOWN),
        Row("measurement", measurement, {"item_id"}),
    ]


def _links(contact, site) -> list[Row]:
    link = sharing.share_trade_list(contact, site, "bricklayer")
    cancelled = sharing.share_trade_list(contact, site, "renderer")
    sharing.revoke_trade_link(contact, cancelled)
    return [Row("link", link, {"revoked_at"}), Row("cancelled link", cancelled)]


def _referrals(owner, site) -> list[Row]:
    owner.licence_number = "T-2208"
    owner.save()
    found = referrals.note_live_termites(owner, site, note="Mud tube.")
    decided = referrals.decide_referral(owner, found, outcome="not_termites", reason="Ants.")
    return [Row("referral", found), Row("decision", decided)]


def _papers(site, report) -> list[Row]:
    now = clock.now()

    def paper(edition: int, **fields) -> Paper:
        return Paper.objects.create(
            site=site, kind=Paper.Kind.GUIDE, report=report, edition=edition,
            subject=f"guide of {site.pk}, edition {edition}", requested_at=now, **fields,
        )  # fmt: skip

    done = {"state": "made", "digest": "d" * 64, "made_at": now, "storage_name": "dd/d.pdf"}
    return [
        Row("paper to make", paper(7), ALL, goes=True),
        Row("made paper", paper(8, **done), {"withheld_at"}),
        Row("withheld paper", paper(9, **done, withheld_at=now)),
    ]


def _of_draft(owner, builder) -> list[Row]:
    site = make_site(builder)
    run = make_runs(site)[0]
    report = make_draft(owner, site)
    item = make_item(owner, report, run=run)
    check = RunCheck.objects.create(report=report, wall_run=run, checked_at=clock.now())
    return [
        Row("draft report", report, ALL, goes=True),
        Row("draft item", DefectItem.objects.get(pk=item.pk), ALL, goes=True),
        Row("draft check", check, ALL, goes=True),
    ]


def _bookings(owner, contact, builder) -> list[Row]:
    ends = {
        "treated booking": lambda one: booking.record_treatment(owner, one, used_ml=90_000),
        "booking turned away": lambda one: booking.turn_away(owner, one, reason="Soil is back."),
        "cancelled booking": lambda one: booking.cancel_booking(contact, one, reason="Too wet."),
    }
    ended = [(name, _booked(owner, contact, builder), end) for name, end in ends.items()]
    with clock.at(VISIT):
        rows = [Row(name, end(booked)) for name, booked, end in ended]
    never = {"id", "site_id"}
    off = putting_off.put_off(owner, _booked(owner, contact, builder), cause="rain", note="Wet.")
    never_again = Row("day that was put off", off)
    return [*rows, never_again, Row("booking", _booked(owner, contact, builder), ALL, never)]


def _booked(owner, contact, builder) -> Booking:
    site = make_site(builder)
    make_runs(site)
    confirm(contact, make_issued(owner, site, kinds=()))
    offered = booking.offer_date(owner, site, day=VISIT.date(), half="morning")
    return booking.accept_offer(contact, offered)


def _invitations(owner) -> list[Row]:
    invited = inviting.invite_staff(owner, "new@frozen.example")
    never = {"id", "email", "role", "builder_id", "invited_by_id", "created_at"}
    return [Row("invitation", invited, ALL, never, goes=True)]


def _of_record() -> list[Row]:
    return [
        Row("entry", RecordEntry.objects.first()),
        Row("text of an entry", Said.objects.first()),
        Row("commitment", Commitment.objects.exclude(site=None).first(), ALL, {"row", "site_id"}),
        Row("business's entry", RecordEntry.objects.filter(site=None).first()),
    ]


def _checkpoints() -> list[Row]:
    made = checkpoints.make(checkpoints.Reason.COMMAND)
    with clock.at(VISIT):
        append(None, None, Verb.PERSON_INVITED, {})
        later = checkpoints.make(checkpoints.Reason.COMMAND)
    tile = Tile.objects.create(number=900, root="a" * 64)
    asked = {"asked_at": NOW, "authority": "An authority", "answer": "AA=="}
    stamped = Timestamp.objects.create(checkpoint=made, state="made", stamped_at=NOW, **asked)
    waiting = Timestamp.objects.create(checkpoint=later, asked_at=NOW)
    return [
        Row("leaf", Leaf.objects.first()),
        Row("tile", tile),
        Row("checkpoint", later),
        Row("key", made.key),
        Row("timestamp", stamped),
        Row("timestamp to ask for", waiting, ALL, goes=True),
    ]
