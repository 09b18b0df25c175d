"""What an issued report keeps, and that every version of it is read."""

import copy

import pytest

from readiness.models import SiteReport
from readiness.models.freeze import without_triggers
from readiness.papers.render import render_paper
from readiness.papers.sample import NoPhotos
from readiness.papers.site_report import PHOTO
from readiness.papers.views import Snapshot
from readiness.rules.values.sources import Source, SourceKind
from readiness.rules.vocabulary import Caution
from readiness.snapshots import READERS, VERSION, UnknownSnapshot, read, snapshot_digest
from readiness.wording.cautions import caution
from tests.papers import reports

pytestmark = pytest.mark.django_db
ANOTHER = Source(SourceKind.SEEN, "another source", "2031")


def papers_of(report):
    """Every paper about the report, made now, by what it is about."""
    return {paper.subject: render_paper(paper).content for paper in report.site.papers.all()}


def change_tables(later):
    later.take_out_kind("mortar_drop")
    later.take_out_kind("gap_too_wide")
    later.change_kind("unfilled_joint", name="Open joint", measurement=None, cautions=())
    later.change_rule("line_above_ground_mm", label="Height", source=ANOTHER)
    later.change_rule("drying_hours", maximum=12, default=6)
    later.take_out_rule("unfilled_depth_max_mm")
    later.take_out_rule("pumps_per_5_l")


@pytest.mark.long
def test_the_papers_of_an_old_report_are_made_again_byte_for_byte(later):
    report, confirmation, _ = reports.story()
    reports.treat(report, confirmation)
    before = papers_of(report)
    assert len(before) > 5
    change_tables(later)
    after = papers_of(report)
    differ = [subject for subject, content in before.items() if content != after[subject]]
    assert differ == []


def test_a_report_of_version_1_is_still_made_with_todays_words(later):
    report = as_version_1(reports.issue(walls=2, items=4))
    assert "kinds" not in report.snapshot
    assert papers_of(report)
    change_tables(later)
    text = "".join(reports.text_of(content) for content in papers_of(report).values())
    assert "Open joint" in text
    assert "Mortar drop" in text


def test_a_report_of_version_2_says_of_cautions_what_its_fixes_say():
    """Its fixes have them in their own words, and keep them."""
    report = reports.issue(items=1)
    kinds = copy.deepcopy(report.snapshot["kinds"])
    assert kinds["unfilled_joint"]["cautions"] == ["no_mortar", "silica_dust"]
    del kinds["unfilled_joint"]["cautions"]
    content = {**report.snapshot, "version": 2, "kinds": kinds, "rules": []}
    old = Snapshot(content, album=NoPhotos())
    new = Snapshot(report.snapshot, album=NoPhotos())
    (before,), (today,) = old.items(PHOTO), new.items(PHOTO)
    assert before.fix == today.fix
    assert before.cautions == ()
    assert today.cautions == tuple(map(caution, (Caution.NO_MORTAR, Caution.SILICA)))


def as_version_1(report):
    old = {key: part for key, part in report.snapshot.items() if key not in ("kinds", "rules")}
    old["version"] = 1
    with without_triggers():
        SiteReport.objects.filter(pk=report.pk).update(snapshot=old, digest=snapshot_digest(old))
    report.refresh_from_db()
    return report


def test_a_report_of_version_2_keeps_its_published_sources_and_no_memories():
    """Its rules as version 0.2 wrote them."""
    content = copy.deepcopy(reports.issue(items=1).snapshot)
    for words in content["kinds"].values():
        del words["cautions"]
    shared = {"unit": "mm", "group": "Ground and surroundings"}
    content |= {
        "version": 2,
        "rules": [
            {"key": "ground_fall_mm", "label": "Fall", "default": 50, "source_kind": "published",
             "source": "NCC 2019 Volume Two 3.1.3.3", **shared},
            {"key": "slab_above_soil_mm", "label": "Slab", "default": 150,
             "source_kind": "from memory", "source": "NCC 2019 Volume Two 3.1.3.3", **shared},
            {"key": "soil_on_brick_max_mm", "label": "Soil", "default": 0,
             "source_kind": "common practice", "source": "", **shared},
        ],
    }  # fmt: skip
    content["rule_values"] |= {"slab_above_soil_mm": 100}
    values = Snapshot(content).facts.values
    assert values.source_words("ground_fall_mm") == "NCC 2019 Volume Two 3.1.3.3"
    assert values.source_words("slab_above_soil_mm") == "this business's own setting"
    assert values.source_words("soil_on_brick_max_mm") == "this business's own setting"
    assert values["slab_above_soil_mm"] == 100, "as it was issued, though looser than today's least"


def test_an_issued_report_keeps_the_editions_of_its_sources(later):
    report = reports.issue(items=1)
    later.change_rule("ground_fall_mm", source=ANOTHER, default=60, minimum=60)
    values = Snapshot(report.snapshot).facts.values
    assert values["ground_fall_mm"] == 50
    assert values.rule("ground_fall_mm").source.edition == "2022"
    assert values.source_words("ground_fall_mm") == "ABCB Housing Provisions 3.3.3(a), 2022"


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
