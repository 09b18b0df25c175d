"""Rows for benchmarks are such as the portal itself would have made."""

from io import StringIO

import pytest
from django.core.management import call_command

from readiness.models import DefectItem, FingerprintBand, Original, Photo, RecordEntry, Site, freeze
from readiness.photos import fingerprint
from readiness.rules.site.priority import TREATED
from tests.bench.rows import ITEMS, STAGES, fill, hold_copies
from tests.recorded import record_rows_by_hand

pytestmark = [pytest.mark.django_db, pytest.mark.rows_by_hand]
SITES = 60


@pytest.mark.long  # tells whole houses, for what only benches make
def test_rows_are_such_as_the_portal_makes():
    """One test, as telling the houses takes seconds; what each part is about is its name."""
    made = fill(SITES, tell=lambda words: None)
    hold_copies()
    record_rows_by_hand()
    there_is_as_much_of_each_as_it_says(made)
    the_record_holds_and_the_told_houses_have_their_files()
    stored_ranks_are_those_of_the_rules_and_of_many_kinds()
    a_copy_belongs_to_its_builder_alone()
    the_fingerprint_index_is_the_portals_own()
    assert Site.objects.matching("B-000007 bench").count() == 1
    assert freeze.missing() == []


def there_is_as_much_of_each_as_it_says(made):
    assert made["Site"] == Site.objects.count() == SITES
    assert made["DefectItem"] == DefectItem.objects.count() == SITES * ITEMS
    assert made["Photo"] == Photo.objects.count() == Original.objects.count() > SITES * 30
    assert made["FingerprintBand"] == FingerprintBand.objects.count() == made["Photo"] * 4
    assert made["RecordEntry"] < RecordEntry.objects.count() <= made["RecordEntry"] + SITES + 1
    assert Site.objects.closed().count() > SITES * 0.6


def the_record_holds_and_the_told_houses_have_their_files():
    call_command("verify_record", "--records-only", stdout=StringIO())
    told = Site.objects.filter(job_number__lt=f"B-{len(STAGES):06d}")
    photos = Photo.objects.filter(site__in=told).count()
    said = StringIO()
    call_command("verify_record", *(str(site.pk) for site in told), stdout=said)
    assert f"{len(STAGES)} sites" in said.getvalue()
    assert f"{photos} photos" in said.getvalue()


def stored_ranks_are_those_of_the_rules_and_of_many_kinds():
    call_command("rebuild_ranks", "--check", stdout=StringIO())
    ranks = set(Site.objects.open().values_list("need", flat=True))
    assert len(ranks) >= 4
    assert TREATED not in ranks


def a_copy_belongs_to_its_builder_alone():
    for site in Site.objects.select_related("builder"):
        [report] = site.reports.all()
        assert report.items.filter(wall_run__site=site).count() == ITEMS
        assert report.snapshot["site"]["id"] == str(site.pk)
        assert {contact.builder for contact in site.notify.all()} == {site.builder}
        of_builder = [one for m in site.messages.all() for one in m.to.active_memberships]
        assert {contact.builder for contact in of_builder} == {site.builder}


def the_fingerprint_index_is_the_portals_own():
    for original in Original.objects.exclude(fingerprint__gte=0)[:2]:
        found = FingerprintBand.objects.filter(original=original)
        assert set(found.values_list("key", flat=True)) == set(
            fingerprint.band_keys(original.fingerprint)
        )


def test_a_database_with_people_in_it_is_left_alone(applicator):
    with pytest.raises(ValueError, match="has people in it"):
        fill(1)
