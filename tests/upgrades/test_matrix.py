"""Data of each earlier version, upgraded to this one: nothing lost, every page opens, all papers.

Runs on whatever database the tests use; tests/test_postgres.py runs it on a real PostgreSQL.
"""

import hashlib
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from readiness import models
from readiness.handover import BadExport
from readiness.handover.restore import import_site
from readiness.handover.verify import verify_export
from readiness.models import Paper, RecordEntry, Site, SiteReport, User, freeze
from readiness.papers.render import render_paper
from readiness.snapshots import snapshot_digest
from tests.portal.test_access_walk import NEEDS_A_QUERY
from tests.upgrades import kept
from tests.upgrades.test_triggers import assert_frozen
from tests.upgrades.walk import FOR_BUILDERS, FOR_STAFF, NOT_THERE, broken, never_opened, opened

COUNTED = (
    models.Site,
    models.WallRun,
    models.RunCheck,
    models.DefectItem,
    models.Fix,
    models.ReadinessConfirmation,
    models.Booking,
    models.Photo,
    models.Paper,
    models.Message,
    models.TradeLink,
    models.User,
)
"""Tables whose rows nobody may lose."""


def records():
    """Every entry as its own digest and the one it follows, by site."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT site_id, sequence, digest, previous_digest FROM readiness_recordentry"
        )
        return {(str(site), sequence): digests for site, sequence, *digests in cursor.fetchall()}


def frozen_reports():
    """The digest of every issued report, by its id."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT id, digest FROM readiness_sitereport WHERE issued_at IS NOT NULL")
        return {str(report).replace("-", ""): digest for report, digest in cursor.fetchall()}


def ids_of(model):
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {model._meta.pk.column} FROM {model._meta.db_table}")
        return {str(pk).replace("-", "") for (pk,) in cursor.fetchall()}


def test_there_is_data_of_every_released_version():
    assert "0.1.0" in kept.VERSIONS


def test_an_upgrade_loses_nothing_and_the_record_stays_whole(old):
    before, issued = records(), frozen_reports()
    rows = {model: ids_of(model) for model in COUNTED}
    assert before
    assert issued
    assert all(rows.values())
    call_command("migrate", verbosity=0, interactive=False)
    after = records()
    assert before.items() <= after.items()
    assert frozen_reports().keys() == issued.keys()
    for model, ids in rows.items():
        assert ids <= ids_of(model), model
    assert_frozen()
    out = StringIO()
    call_command("verify_record", stdout=out)
    assert out.getvalue().startswith(f"Whole: {Site.objects.count()} sites, {len(after)} entries")


def test_nothing_is_left_to_migrate(upgraded):
    call_command("migrate", check_unapplied=True, verbosity=0)
    call_command("check", databases=["default"], fail_level="WARNING", stdout=StringIO())
    assert freeze.missing() == []


def test_every_issued_report_is_what_its_digest_says(upgraded):
    for report in SiteReport.objects.issued():
        assert report.digest == snapshot_digest(report.snapshot)
        entry = RecordEntry.objects.get(verb="report_issued", data__report=str(report.pk))
        assert entry.data["sha256"] == report.digest


@pytest.mark.long
def test_every_page_opens_for_the_office(upgraded, client_for):
    owner = User.objects.get(is_owner=True)
    codes = opened(client_for(owner), owner, FOR_STAFF)
    assert broken(codes) == set()
    posted = {name for name, seen in codes.items() if seen.keys() == {405}}
    assert never_opened(codes) - posted - NEEDS_A_QUERY - NOT_THERE == set()


@pytest.mark.long
def test_every_page_opens_for_the_builders(upgraded, client_for):
    everywhere = {}
    for contact in models.BuilderContact.objects.filter(user__is_active=True):
        client = client_for(contact.user)
        codes = opened(client, contact.user, FOR_BUILDERS)
        assert broken(codes) == set(), contact
        for name, seen in codes.items():
            everywhere.setdefault(name, {}).update(seen)
    posted = {name for name, seen in everywhere.items() if seen.keys() <= {404, 405}}
    assert never_opened(everywhere) - posted == set()


@pytest.mark.long
def test_every_paper_is_made_again_and_those_there_are_unchanged(upgraded, tmp_path):
    papers = Paper.objects.all()
    assert papers
    for paper in papers:
        made = render_paper(paper)
        assert made.content.startswith(b"%PDF-")
        assert made.pages > 0
    call_command("make_papers", out=tmp_path / "out", stdout=StringIO())
    copied = {hashlib.sha256(path.read_bytes()).hexdigest() for path in tmp_path.glob("out/*/*")}
    assert copied >= set(papers.made().values_list("digest", flat=True))


@pytest.mark.long
@pytest.mark.parametrize("version", kept.VERSIONS)
def test_an_export_of_then_is_verified_and_read_now(version, todays_database, tmp_path):
    kept.unpack(version, tmp_path)
    verified = verify_export(tmp_path / "export.zip")
    assert verified.photos
    assert verified.papers
    site = import_site(tmp_path / "export.zip")
    out = StringIO()
    call_command("verify_record", str(site.pk), stdout=out)
    entries = verified.entries + 1  # the one that says it was imported
    assert out.getvalue().startswith(f"Whole: 1 sites, {entries} entries")


@pytest.mark.long
def test_an_export_of_a_builders_namesake_is_refused_in_words(todays_database, tmp_path):
    """Each demo makes the same builder under a number of its own."""
    first, second, *_ = kept.VERSIONS
    for version in (first, second):
        kept.unpack(version, tmp_path / version)
    import_site(tmp_path / first / "export.zip")
    with pytest.raises(BadExport, match="Another builder here is called"):
        import_site(tmp_path / second / "export.zip")
