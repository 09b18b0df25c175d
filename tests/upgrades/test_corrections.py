"""Changing rows of issued reports in a migration: the Record says what, and stays whole.

Runs on whatever database the tests use; tests/test_postgres.py runs it on a real PostgreSQL.
"""

import hashlib
import json

import pytest
from django.apps import apps
from django.core.management import call_command
from django.urls import reverse

from readiness.evidence.corrections import NotCorrectable, corrections
from readiness.models import DefectItem, RecordEntry, Site
from readiness.version import VERSION
from tests.factories import make_applicator, make_issued
from tests.recorded import broken
from tests.upgrades.test_triggers import assert_frozen


@pytest.fixture
def report(todays_database):
    """An issued report with a measured item, and one of another site with none."""
    applicator = make_applicator(is_owner=True)
    issued = make_issued(applicator, kinds=("soil_against_brick", "mortar_drop"))
    make_issued(applicator)
    assert issued.items.exclude(measured_value=None).count() == 0
    with corrections(apps, "So that there is something to correct.") as record:
        record.change(issued.items.get(kind="soil_against_brick"), measured_value=4)
    return issued


def digest(value):
    return hashlib.sha256(json.dumps(value).encode()).hexdigest()


def test_a_migration_corrects_issued_rows_and_the_record_tells(report, settings, client_for):
    entries = RecordEntry.objects.count()
    settings.MIGRATION_MODULES = {"readiness": "tests.upgrades.corrected"}
    call_command("migrate", verbosity=0, interactive=False)
    item = report.items.get(kind="soil_against_brick")
    assert item.measured_value == 40
    entry = RecordEntry.objects.filter(site=report.site).latest("sequence")
    assert RecordEntry.objects.count() == entries + 1  # the other site has none
    assert (entry.verb, entry.actor) == ("corrected", None)
    assert entry.data["reason"] == "An earlier version stored this measurement in cm."
    assert entry.data["version"] == VERSION
    assert entry.data["rows"] == [
        {
            "table": "readiness_defectitem",
            "row": str(item.pk),
            "column": "measured_value",
            "before": digest(4),
            "after": digest(40),
        }
    ]
    assert [broken(site) for site in Site.objects.all()] == ["", ""]
    assert_frozen()
    page = client_for(make_applicator()).get(reverse("office:record", args=[report.site_id]))
    assert "Corrected stored data in an upgrade" in page.content.decode()


@pytest.mark.long
def test_a_row_that_is_corrected_twice_goes_on_from_the_first_time(report):
    item = report.items.get(kind="soil_against_brick")
    with corrections(apps, "Why.") as record:
        record.change(item, measured_value=40)
        record.change(item, measured_value=40)
        record.change(item, measured_value=41)
    rows = RecordEntry.objects.filter(site=report.site).latest("sequence").data["rows"]
    assert [(row["before"], row["after"]) for row in rows] == [
        (digest(4), digest(40)),
        (digest(40), digest(41)),
    ]


@pytest.mark.long
def test_what_the_report_said_is_never_corrected(report):
    for row, column in ((report, "snapshot"), (report, "digest"), (report, "issued_at")):
        with pytest.raises(NotCorrectable, match="stays"), corrections(apps, "Why.") as record:
            record.change(row, **{column: "other"})
    report.refresh_from_db()
    assert report.digest != "other"
    assert_frozen()


@pytest.mark.long
def test_what_is_not_frozen_needs_no_correction(report):
    item = report.items.first()
    with pytest.raises(NotCorrectable, match="not frozen"), corrections(apps, "Why.") as record:
        record.change(item, state="accepted")
    with pytest.raises(NotCorrectable, match="not frozen"), corrections(apps, "Why.") as record:
        record.change(item.wall_run, length_mm=9)  # of a report it is frozen


@pytest.mark.long
def test_a_reason_is_needed(report):
    with pytest.raises(NotCorrectable, match="Say why"), corrections(apps, " ") as record:
        record.change(report, notes="other")


@pytest.mark.long
def test_nothing_changes_where_one_of_the_changes_fails(report):
    item, entries = report.items.first(), RecordEntry.objects.count()
    before = item.note

    def correct():
        with corrections(apps, "Why.") as record:
            record.change(item, note="other")
            record.change(item, digest="other")

    with pytest.raises(AttributeError):
        correct()
    assert DefectItem.objects.get(pk=item.pk).note == before
    assert RecordEntry.objects.count() == entries
    assert_frozen()


@pytest.mark.long
def test_a_value_that_is_right_already_leaves_no_entry(report):
    entries = RecordEntry.objects.count()
    with corrections(apps, "Why.") as record:
        record.change(report, notes=report.notes)
    assert RecordEntry.objects.count() == entries
