"""Rows for benchmarks are such as the portal itself would have made."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from readiness.models import DefectItem, FingerprintBand, Original, Photo, RecordEntry, Site, freeze
from readiness.photos import fingerprint
from readiness.rules.site.priority import TREATED

pytestmark = pytest.mark.django_db
SITES = 70


@pytest.fixture
def made():
    out = StringIO()
    call_command("bench_rows", sites=SITES, with_files=2, stdout=out, stderr=StringIO())
    return json.loads(out.getvalue())


def test_the_record_and_the_files_hold(made):
    assert made["RecordEntry"] == RecordEntry.objects.count() > SITES * 60
    call_command("verify_record", "--records-only", stdout=StringIO())
    first = Site.objects.order_by("created_at")[:2]
    said = StringIO()
    call_command("verify_record", *(str(site.pk) for site in first), stdout=said)
    assert "60 photos" in said.getvalue()


def test_there_is_as_much_of_each_as_it_says(made):
    assert made["DefectItem"] == DefectItem.objects.count() == SITES * 10
    assert made["Photo"] == Photo.objects.count() == SITES * 30
    assert made["FingerprintBand"] == SITES * 30 * 4


def test_the_stored_ranks_are_those_of_the_rules_and_of_every_kind(made):
    call_command("rebuild_ranks", "--check", stdout=StringIO())
    ranks = set(Site.objects.open().values_list("need", flat=True))
    assert len(ranks) >= 4
    assert TREATED not in ranks


def test_sites_are_found_by_their_words(made):
    assert Site.objects.matching("B-000007 bench").count() == 1


def test_the_fingerprint_index_is_the_portals_own(made):
    original = Original.objects.exclude(fingerprint__gte=0).first()
    found = FingerprintBand.objects.filter(original=original)
    assert set(found.values_list("key", flat=True)) == set(
        fingerprint.band_keys(original.fingerprint)
    )


def test_the_triggers_are_back(made):
    assert freeze.missing() == []


def test_a_database_with_people_in_it_is_left_alone(applicator):
    with pytest.raises(CommandError, match="has people in it"):
        call_command("bench_rows", sites=1)
