"""Which papers show a photo, and which of them show what has been hidden since."""

from datetime import timedelta

import pytest

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.papers.replacing import outdated_papers, papers_showing, replace_papers
from readiness.actions.photos.keeping import save_markup
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import booking
from readiness.models import Paper, freeze
from tests.factories import confirm, make_draft, make_issued, make_item, make_photo

pytestmark = pytest.mark.django_db

BLUR = {"kind": "blur", "box": [0.25, 0.25, 0.5, 0.5]}


def made(site, hours_ago=1):
    """All papers of the site are made by now."""
    at = clock.now() - timedelta(hours=hours_ago)
    site.papers.update(state=Paper.State.MADE, digest="0" * 64, pages=1, started_at=at, made_at=at)


def shown_on(photo):
    return sorted((paper.kind, paper.trade) for paper in papers_showing(photo))


def test_a_blur_that_was_taken_off_again_makes_no_paper_outdated(applicator, site):
    photo = make_issued(applicator, site).items.get().photos.get()
    made(site)
    save_markup(applicator, photo, [BLUR], seen_version=0)
    assert len(outdated_papers(photo)) == 3
    save_markup(applicator, photo, [], seen_version=1)
    assert outdated_papers(photo) == []
    assert replace_papers(applicator, photo, reason="Blurred.") == []


def test_a_paper_begun_from_when_it_was_blurred_is_not_outdated(applicator, site):
    photo = make_issued(applicator, site).items.get().photos.get()
    made(site)
    save_markup(applicator, photo, [BLUR], seen_version=0)
    photo.refresh_from_db()
    blurred_at = photo.markup.blurred_at
    with freeze.without_triggers():
        site.papers.filter(kind=Paper.Kind.PHOTO_RECORD).update(started_at=blurred_at)
    assert {paper.kind for paper in outdated_papers(photo)} == {"site_report", "fix_list"}


def test_what_is_only_recorded_stands_on_no_list_to_fix(applicator, site):
    report = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, report, run)
    make_item(applicator, report)
    noted = make_item(applicator, report, effect="record", due_on=None)
    issuing.issue_report(applicator, report)
    made(site)
    assert shown_on(noted.photos.get()) == [("photo_record", ""), ("site_report", "")]


def test_a_list_to_fix_shows_the_photos_of_its_own_report_only(applicator, site):
    first = make_issued(applicator, site)
    photo = first.items.get().photos.get()
    fixes.accept_on_site(applicator, first.items.get())
    second = make_issued(applicator, site)
    made(site)
    lists = [paper for paper in papers_showing(photo) if paper.kind == Paper.Kind.FIX_LIST]
    assert {paper.report for paper in lists} == {first}
    assert {paper.report for paper in papers_showing(photo)} == {first}
    assert second.papers.filter(kind=Paper.Kind.FIX_LIST).exists()


def test_a_photo_of_a_wall_that_was_right_stands_on_the_report(applicator, site):
    report = make_draft(applicator, site)
    photo = make_photo(site, applicator)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, report, run, photos=[photo] if run.position == 1 else [])
    make_item(applicator, report)
    issuing.issue_report(applicator, report)
    made(site)
    photo.refresh_from_db()
    assert shown_on(photo) == [("photo_record", ""), ("site_report", "")]


def test_a_photo_of_a_fix_stands_on_what_was_signed_and_treated_after_it(applicator, contact, site):
    report = make_issued(applicator, site)
    item = report.items.get()
    fix = fixes.report_fixed(contact, item, photos=[make_photo(site, contact)])
    fixes.accept_fix(applicator, item)
    confirm(contact, report)
    today = clock.now().astimezone(site.zone).date()
    offered = booking.offer_date(applicator, site, day=today, half="afternoon")
    visit = booking.accept_offer(contact, offered)
    booking.record_treatment(applicator, visit, used_ml=5000)
    made(site)
    assert shown_on(fix.photos.get()) == [("confirmation", ""), ("treatment", "")]
    assert shown_on(item.photos.get()) == [
        ("confirmation", ""),
        ("fix_list", item.trade),
        ("photo_record", ""),
        ("site_report", ""),
        ("treatment", ""),
    ]


def test_a_photo_that_nobody_marked_makes_no_paper_outdated(applicator, site):
    photo = make_issued(applicator, site).items.get().photos.get()
    made(site)
    assert outdated_papers(photo) == []
