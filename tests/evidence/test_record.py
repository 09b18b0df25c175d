"""The Record's chain, and what the database itself refuses."""

import hashlib
from io import StringIO
from itertools import pairwise

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction

from readiness.evidence.record import append
from readiness.models import RecordEntry, SiteReport, freeze
from readiness.models.report import FrozenReport
from tests.factories import make_issued, make_photo, make_runs, make_site
from tests.recorded import broken, record_rows_by_hand

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(applicator, builder):
    site = make_site(builder)
    make_runs(site)
    return make_issued(applicator, site)


def test_sha_256_is_the_published_one():
    # FIPS 180-4: the digest of "abc".
    assert hashlib.sha256(b"abc").hexdigest() == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )


def test_each_entry_carries_the_digest_of_the_one_before(report):
    entries = list(RecordEntry.objects.filter(site=report.site))
    assert [entry.sequence for entry in entries] == list(range(1, len(entries) + 1))
    assert entries[0].previous_digest == "0" * 64
    for before, after in pairwise(entries):
        assert after.previous_digest == before.digest
    assert broken(report.site) == ""


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"data": {"number": 9}}, "was changed"),
        ({"verb": "treated"}, "was changed"),
        ({"previous_digest": "f" * 64}, "does not follow"),
    ],
)
def test_a_changed_entry_is_found(report, change, sentence):
    third = RecordEntry.objects.get(site=report.site, sequence=3)
    with freeze.without_triggers():
        RecordEntry.objects.filter(pk=third.pk).update(**change)
    assert broken(report.site).startswith("entry 3 ")
    assert sentence in broken(report.site)


def test_a_missing_entry_is_found(report):
    with freeze.without_triggers():
        RecordEntry.objects.filter(site=report.site, sequence=2).delete()
    assert broken(report.site) == "entry 2 is missing; the next one kept is 3."


def test_verify_record_names_the_photo_that_is_missing(report):
    photo = make_photo(report.site)
    record_rows_by_hand()
    with pytest.raises(CommandError, match=r"photo .* is missing or was changed"):
        call_command("verify_record")
    assert photo.short_digest


def test_verify_record_says_how_much_it_checked(applicator, builder):
    site = make_site(builder)
    with transaction.atomic():
        append(site, applicator, "site_added", {}, rows=[site])
    record_rows_by_hand()
    out = StringIO()
    call_command("verify_record", stdout=out)
    assert out.getvalue().startswith("Whole: 1 sites, 2 entries, 0 photos")


@pytest.mark.parametrize("verb", ["update", "delete"])
def test_the_database_refuses_to_change_the_record(report, verb):
    entries = RecordEntry.objects.filter(site=report.site)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        entries.update(verb="treated") if verb == "update" else entries.delete()


@pytest.mark.parametrize("field", ["notes", "weather", "digest"])
def test_the_database_refuses_to_change_an_issued_report(report, field):
    with pytest.raises(IntegrityError, match="never changes"), transaction.atomic():
        SiteReport.objects.filter(pk=report.pk).update(**{field: "a" * 64})


def test_the_database_refuses_to_change_what_was_found(report):
    with pytest.raises(IntegrityError, match="never changes"), transaction.atomic():
        report.items.update(required_fix="Nothing.")
    with pytest.raises(IntegrityError, match="never changes"), transaction.atomic():
        report.items.all()._raw_delete(report.items.db)
    with pytest.raises(IntegrityError, match="never changes"), transaction.atomic():
        report.checks.all()._raw_delete(report.checks.db)


def test_the_model_refuses_too(report):
    item = report.items.get()
    item.required_fix = "Nothing."
    with pytest.raises(FrozenReport):
        item.save()
    report.notes = "Something else"
    with pytest.raises(FrozenReport):
        report.save()


@pytest.mark.rows_by_hand
def test_the_state_of_an_item_still_moves(report):
    item = report.items.get()
    item.state = "accepted"
    item.save()
    item.refresh_from_db()
    assert item.state == "accepted"
