"""What an issued report keeps, and that every version of it is read."""

import copy

import pytest

from readiness.models import SiteReport
from readiness.models.freeze import without_triggers
from readiness.papers.render import render_paper
from readiness.papers.views import Snapshot
from readiness.snapshots import READERS, VERSION, UnknownSnapshot, read, snapshot_digest
from tests.papers import reports

pytestmark = pytest.mark.django_db


def papers_of(report):
    """Every paper about the report, made now, by what it is about."""
    return {paper.subject: render_paper(paper).content for paper in report.site.papers.all()}


def change_tables(later):
    later.take_out_kind("mortar_drop")
    later.take_out_kind("gap_too_wide")
    later.change_kind("unfilled_joint", name="Open joint", measurement=None)
    later.change_rule("line_above_ground_mm", label="Height", source="another source")
    later.change_rule("drying_hours", maximum=12, default=6)
    later.take_out_rule("unfilled_depth_max_mm")
    later.take_out_rule("pumps_per_5_l")


def test_the_papers_of_an_old_report_are_made_again_byte_for_byte(later):
    report, confirmation, _ = reports.story(items=8)
    reports.treat(report, confirmation)
    before = papers_of(report)
    assert len(before) > 5
    change_tables(later)
    after = papers_of(report)
    differ = [subject for subject, content in before.items() if content != after[subject]]
    assert differ == []


def test_a_report_of_version_1_is_still_made_with_todays_words(later):
    report = as_version_1(reports.issue(items=8))
    assert "kinds" not in report.snapshot
    assert papers_of(report)
    change_tables(later)
    text = "".join(reports.text_of(content) for content in papers_of(report).values())
    assert "Open joint" in text
    assert "Mortar drop" in text


def as_version_1(report):
    old = {key: part for key, part in report.snapshot.items() if key not in ("kinds", "rules")}
    old["version"] = 1
    with without_triggers():
        SiteReport.objects.filter(pk=report.pk).update(snapshot=old, digest=snapshot_digest(old))
    report.refresh_from_db()
    return report


def test_reading_leaves_the_stored_snapshot_alone():
    report = as_version_1(reports.issue(items=1))
    before = copy.deepcopy(report.snapshot)
    Snapshot(report.snapshot, report.digest)
    assert report.snapshot == before
    assert snapshot_digest(report.snapshot) == report.digest


def test_every_version_has_its_reader():
    assert set(READERS) == set(range(1, VERSION + 1))


@pytest.mark.parametrize("version", [0, VERSION + 1, None, "2"])
def test_a_snapshot_of_a_later_version_is_refused_in_words(version):
    with pytest.raises(UnknownSnapshot, match="Upgrade the portal first"):
        read({"version": version})


def test_a_report_keeps_the_words_of_its_own_kinds_only():
    report = reports.issue(items=2)
    assert set(report.snapshot["kinds"]) == {item.kind for item in report.items.all()}
    assert report.snapshot["kinds"]["unfilled_joint"]["name"]
