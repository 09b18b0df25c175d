"""Which photos a builder's contact may see: those of what they may see, and their own."""

from datetime import date

import pytest

from readiness.actions.fixing import fixes
from readiness.actions.reporting import drafts
from readiness.models import Photo, SiteReport
from tests.factories import make_draft, make_issued, make_item, make_photo


def seen_by(user):
    return set(Photo.objects.visible_to(user))


def drop_the_report(applicator, report, item, run):
    drafts.drop_report(applicator, report)


def drop_item_and_check(applicator, report, item, run):
    drafts.remove_item(applicator, item)
    drafts.uncheck_run(applicator, report, run)


@pytest.mark.parametrize("drop", [drop_the_report, drop_item_and_check])
def test_what_was_taken_out_of_a_draft_stays_the_applicators(
    drop, applicator, contact, site, client_for
):
    report, run = make_draft(applicator, site), site.wall_runs.first()
    item = make_item(applicator, report)
    drafts.check_run(applicator, report, run, photos=[make_photo(site, applicator)])
    drop(applicator, report, item, run)
    kept = set(site.photos.all())
    assert len(kept) == 2
    assert all(photo.on_site for photo in kept)
    assert seen_by(applicator) == kept
    assert seen_by(contact) == set()
    for photo in kept:
        for page in ("", "small/", "large/", "compare/"):
            address = f"/photos/{photo.pk}/{page}"
            assert client_for(contact).get(address).status_code == 404
    assert client_for(applicator).get(f"/photos/{photo.pk}/").status_code == 200


def test_photos_of_a_draft_are_seen_once_it_is_issued(applicator, contact, other_contact, site):
    make_issued(applicator, site)
    shown = set(site.photos.all())
    assert seen_by(contact) == shown != set()
    draft = make_draft(applicator, site, visited_on=date(2026, 11, 24))
    make_item(applicator, draft)
    assert seen_by(contact) == shown
    assert seen_by(other_contact) == set()


def test_photos_of_a_report_that_was_superseded_are_still_seen(applicator, contact, site):
    make_issued(applicator, site)
    first = set(site.photos.all())
    make_issued(applicator, site, visited_on=date(2026, 11, 24))
    assert SiteReport.objects.filter(superseded_at__isnull=False).exists()
    assert first < seen_by(contact) == set(site.photos.all())


def test_a_photo_of_a_check_is_seen_once_its_report_is_issued(applicator, contact, site):
    photo = make_photo(site, applicator)
    report = make_issued(applicator, site)
    Photo.objects.filter(pk=photo.pk).update(run_check=report.checks.first())
    assert photo in seen_by(contact)


def test_a_contact_sees_fixes_and_their_own_uploads(applicator, contact, other_contact, site):
    item = make_issued(applicator, site).items.get()
    fix, loose = make_photo(site, contact), make_photo(site, contact)
    theirs = make_photo(site, applicator)
    fixes.report_fixed(contact, item, photos=[fix])
    seen = seen_by(contact)
    assert {fix, loose} <= seen
    assert theirs not in seen
    assert seen_by(other_contact) == set()


def test_a_photo_kept_from_a_draft_is_seen_when_it_is_issued_after_all(applicator, contact, site):
    draft = make_draft(applicator, site)
    item = make_item(applicator, draft)
    photo = item.photos.get()
    drafts.remove_item(applicator, item)
    drafts.drop_report(applicator, draft)
    report = make_issued(applicator, site)
    assert photo not in seen_by(contact)
    Photo.objects.filter(pk=photo.pk).update(item=report.items.get())
    assert photo in seen_by(contact)
