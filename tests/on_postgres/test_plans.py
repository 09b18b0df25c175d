"""What is asked again and again is answered by an index, however many sites there are."""

import pytest
from django.db import connection
from django.utils import timezone

from readiness import priorities
from readiness.models import (
    Booking,
    Builder,
    DefectItem,
    FingerprintBand,
    Photo,
    RecordEntry,
    Site,
    SiteReport,
    User,
)
from readiness.models.local_days import LocalDays
from readiness.photos.fingerprint import probe_keys
from tests.bench.rows import fill

pytestmark = [pytest.mark.django_db, pytest.mark.rows_by_hand]


@pytest.fixture
def rows():
    """Few enough to make, so that PostgreSQL has to be told not to read and sort them all."""
    fill(150, tell=lambda words: None)
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off; SET LOCAL enable_sort = off")


def mine():
    builder = Builder.objects.get(name="Bench Builder 00")
    contact = User.objects.get(memberships__builder=builder)
    return Site.objects.visible_to(contact).open()


def first_site():
    return Site.objects.order_by("created_at").first()


QUESTIONS = {
    "sites that time has overtaken": (
        lambda: mine().order_by("need_until").stale(timezone.now())[:1000],
        "site_need_until",
    ),
    "all sites, newest first": (lambda: Site.objects.all()[:25], "site_newest"),
    "a search": (lambda: Site.objects.matching("b-000077").order_by(), "site_search_trigrams"),
    "what was said fixed, oldest first": (
        lambda: DefectItem.objects.filter(state="said_fixed").order_by("state_changed_at")[:25],
        "item_state_since",
    ),
    "what is due": (
        lambda: DefectItem.objects.filter(state="to_fix", due_on__isnull=False).order_by("due_on"),
        "item_state_due",
    ),
    "the current report of a site": (
        lambda: SiteReport.objects.current().filter(site=first_site()),
        "readiness_siterep",
    ),
    "the items of a report": (
        lambda: DefectItem.objects.filter(report=SiteReport.objects.first()).order_by(),
        "item_",
    ),
    "the last entry of a Record": (
        lambda: RecordEntry.objects.filter(site=first_site()).order_by("-sequence")[:1],
        "record_sequence_once",
    ),
    "the photos of a site": (
        lambda: Photo.objects.filter(site=first_site()).order_by("-received_at")[:25],
        "photo_site_received",
    ),
    "photos that look alike": (
        lambda: FingerprintBand.objects.filter(key__in=probe_keys(12345)),
        "fingerprint_band_key",
    ),
    "who asked for a day": (lambda: Booking.objects.asked()[:11], "booking_asked"),
    "the coming days": (
        lambda: Booking.objects.of_priority("6_later", LocalDays.at(timezone.now()))[:25],
        "booking_coming",
    ),
    "sites to review": (lambda: Site.objects.filter(to_review=True)[:25], "site_to_review"),
    "sites with things to fix": (lambda: Site.objects.filter(to_fix=True)[:25], "site_to_fix"),
}


def test_the_index_made_for_it_answers(rows):
    """All questions in one test: the rows take seconds to make."""
    plans = {question: ask().explain() for question, (ask, _) in QUESTIONS.items()}
    missed = {
        question: plan
        for question, plan in plans.items()
        if QUESTIONS[question][1] not in plan
        or "Seq Scan on readiness_" in plan.replace("Seq Scan on readiness_builder", "")
    }
    assert not missed
    a_builders_list_can_be_read_in_its_order_without_sorting()


def a_builders_list_can_be_read_in_its_order_without_sorting():
    """With thousands of rows that is what PostgreSQL does; a few it would sort."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_bitmapscan = off")
    plan = priorities.by_priority(mine())[:25].explain()
    assert "site_by_need" in plan
    assert "Sort" not in plan, plan
