"""A report from the first wall to the issued, frozen thing."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.reporting import drafts, issuing
from readiness.models import DefectItem, Message, Paper, RecordEntry, SiteReport, WallRun
from readiness.snapshots import snapshot_digest
from tests.factories import (
    make_contact,
    make_draft,
    make_issued,
    make_item,
    make_photo,
    make_runs,
    make_site,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(builder):
    site = make_site(builder)
    make_runs(site, "North wall", "East wall")
    return site


def sentences(refused) -> list[str]:
    return [problem.sentence for problem in refused.value.problems]


def test_a_kind_fills_in_fix_trade_effect_and_due_date(applicator, site):
    report = make_draft(applicator, site, treatment_wanted_on=date(2026, 12, 18))
    item = make_item(applicator, report, kind="unfilled_joint", from_mm=2400, to_mm=5100)
    assert item.trade == "bricklayer"
    assert item.effect == "holds"
    assert item.state == "to_fix"
    assert "from 2.4 m to 5.1 m" in item.required_fix
    # Three working days before Friday 18 December 2026; counted by hand: 17, 16, 15.
    assert item.due_on == date(2026, 12, 15)


@pytest.mark.parametrize(("from_mm", "to_mm"), [(2400, 2399), (None, 2400)])
def test_an_item_ends_after_it_starts(applicator, site, from_mm, to_mm):
    report = make_draft(applicator, site)
    with pytest.raises(Refused, match="The end must come after the start"):
        make_item(applicator, report, from_mm=from_mm, to_mm=to_mm)
    assert make_item(applicator, report, from_mm=2400, to_mm=2400).to_mm == 2400


def test_a_report_is_not_issued_with_an_item_that_asks_for_nothing(applicator, site):
    report = make_draft(applicator, site)
    item = make_item(applicator, report, required_fix=" ")
    with pytest.raises(Refused) as refused:
        issuing.issue_report(applicator, report)
    (problem,) = [one for one in refused.value.problems if one.about_id == str(item.pk)]
    assert "write what has to be done" in problem.sentence


def test_a_report_is_not_issued_with_an_item_on_a_wall_that_was_taken_away(applicator, site):
    report = make_draft(applicator, site)
    item = make_item(applicator, report)
    WallRun.objects.filter(pk=item.wall_run_id).update(removed_at=clock.now())
    with pytest.raises(Refused) as refused:
        issuing.issue_report(applicator, report)
    (problem,) = [one for one in refused.value.problems if one.about_id == str(item.pk)]
    assert "that wall was removed" in problem.sentence


def test_a_builder_contact_cannot_write_a_report(contact, site):
    with pytest.raises(PermissionDenied):
        make_draft(contact, site)


def test_the_same_item_sent_twice_is_one_item(applicator, site):
    report = make_draft(applicator, site)
    first = make_item(applicator, report)
    again = make_item(applicator, report, item_id=first.pk)
    assert again == first
    assert report.items.count() == 1


def test_two_people_at_one_wall_write_one_draft(applicator, site):
    assert make_draft(applicator, site) == make_draft(applicator, site)


def test_a_report_with_gaps_names_each_and_points_at_it(applicator, site):
    report = make_draft(applicator, site)
    north, east = site.wall_runs.all()
    drafts.check_run(applicator, report, north)
    item = make_item(applicator, report, kind="render_line_low", run=north, photo=False)
    with pytest.raises(Refused) as refused:
        issuing.issue_report(applicator, report)
    problems = {(problem.about, problem.about_id) for problem in refused.value.problems}
    assert problems == {("run", str(east.pk)), ("item", str(item.pk))}
    assert "East wall is not checked yet. Check it, then issue the report." in sentences(refused)
    assert "add a photo and measure it" in " ".join(sentences(refused))


@pytest.mark.parametrize("effect", ["record", "applicator"])
def test_what_nobody_has_to_fix_needs_no_photo(applicator, site, effect):
    report = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, report, run)
    make_item(applicator, report, photo=False, effect=effect)
    assert issuing.issue_report(applicator, report).number == 1


def test_a_report_without_walls_cannot_be_issued(applicator, builder):
    report = make_draft(applicator, make_site(builder))
    with pytest.raises(Refused, match="no walls yet"):
        issuing.issue_report(applicator, report)


def test_an_issued_report_has_a_number_a_digest_and_papers_to_come(applicator, site):
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    assert report.number == 1
    assert report.digest == snapshot_digest(report.snapshot)
    kinds = set(report.papers.values_list("kind", flat=True))
    assert kinds == {Paper.Kind.SITE_REPORT, Paper.Kind.PHOTO_RECORD, Paper.Kind.FIX_LIST}
    assert RecordEntry.objects.filter(site=site, verb="report_issued").count() == 1


def test_issuing_twice_is_one_issue(applicator, site):
    report = make_issued(applicator, site)
    assert issuing.issue_report(applicator, report).number == 1
    assert RecordEntry.objects.filter(site=site, verb="report_issued").count() == 1


@pytest.mark.parametrize("change", ["add", "change", "remove", "check", "head"])
def test_an_issued_report_does_not_change_through_any_action(applicator, site, change):
    report = make_issued(applicator, site)
    item = report.items.get()
    doors = {
        "add": lambda: make_item(applicator, report, photo=False),
        "change": lambda: drafts.change_item(applicator, item, note="Something else"),
        "remove": lambda: drafts.remove_item(applicator, item),
        "check": lambda: drafts.check_run(applicator, report, item.wall_run),
        "head": lambda: drafts.change_report(applicator, report, notes="Something else"),
    }
    with pytest.raises(Refused, match="Report 1 is issued and can't change"):
        doors[change]()


def test_the_contacts_chosen_are_written_to_once_the_papers_exist(applicator, site, contact):
    report = make_issued(applicator, site, notify=[contact.memberships.get()])
    message = Message.objects.get(kind="report_issued")
    assert message.to == contact
    assert message.about == report.pk
    assert message.sent_at is None


def test_a_contact_of_another_builder_is_never_written_to(applicator, site):
    stranger = make_contact()
    with pytest.raises(Refused, match="another builder"):
        make_issued(applicator, site, notify=[stranger.memberships.get()])
    assert not SiteReport.objects.issued().exists()


def test_a_later_report_supersedes_and_carries_over_what_is_chosen(applicator, site):
    first = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    kept, left = first.items.order_by("number")
    second = make_draft(applicator, site, carry_over=[kept])
    for run in site.wall_runs.all():
        drafts.check_run(applicator, second, run)
    issuing.issue_report(applicator, second)
    first.refresh_from_db()
    assert first.superseded_at is not None
    carried = second.items.get()
    assert carried.carried_from == kept
    assert carried.photos.get().original_id == kept.photos.get().original_id
    assert list(DefectItem.objects.current()) == [carried]
    assert left.carried_to.count() == 0


def test_a_measurement_nobody_would_believe_is_refused_with_what_would_be(applicator, site):
    report = make_draft(applicator, site)
    with pytest.raises(Refused, match="can't be right"):
        make_item(applicator, report, kind="render_line_low", measured_value=9000)


def test_a_place_past_the_end_of_the_wall_is_refused(applicator, site):
    report = make_draft(applicator, site)
    with pytest.raises(Refused, match="past the end of North wall, which is 12 m long"):
        make_item(applicator, report, from_mm=12_500)


def test_a_dropped_draft_leaves_its_photos_with_the_site(applicator, site):
    report = make_draft(applicator, site)
    make_item(applicator, report)
    drafts.drop_report(applicator, report)
    assert site.reports.count() == 0
    assert site.photos.get().on_site


def test_a_checked_wall_can_be_shown_to_be_right(applicator, site):
    report = make_draft(applicator, site)
    run = site.wall_runs.first()
    drafts.check_run(applicator, report, run)
    photo = make_photo(site, applicator)
    check = drafts.check_run(applicator, report, run, note="Joints full.", photos=[photo])
    again = drafts.check_run(applicator, report, run)
    assert again.pk == check.pk
    assert again.note == "Joints full."
    assert list(check.photos.all()) == [photo]
    said = site.record.get(verb="run_check_noted").told
    assert said["note"] == "Joints full."
    attached = site.record.get(verb="photo_attached").data
    assert attached["run_check"] == str(check.pk)


def test_photos_of_a_check_must_be_of_the_site_and_free(applicator, site):
    report = make_draft(applicator, site)
    run = site.wall_runs.first()
    used = make_item(applicator, report, run=run).photos.get()
    with pytest.raises(Refused, match="is used already"):
        drafts.check_run(applicator, report, run, photos=[used])
    with pytest.raises(Refused, match="another site"):
        drafts.check_run(applicator, report, run, photos=[make_photo(make_site(), applicator)])
    with pytest.raises(Refused, match="the limit is 200"):
        drafts.check_run(applicator, report, run, note="x" * 201)
    assert not report.checks.exists()


def test_what_shows_a_wall_right_is_frozen_when_the_report_is_issued(applicator, site):
    report = make_draft(applicator, site)
    for run in site.wall_runs.all():
        photo = make_photo(site, applicator)
        drafts.check_run(applicator, report, run, note=f"{run.label} clear", photos=[photo])
    issued = issuing.issue_report(applicator, report)
    first = issued.snapshot["checks"][0]
    assert first["note"].endswith("clear")
    assert len(first["photos"]) == 1
