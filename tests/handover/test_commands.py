"""Export and import as the commands that people type."""

from io import StringIO

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import CommandError, call_command
from django.urls import reverse

from readiness.handover import waiting
from readiness.models import Checkpoint, Commitment, Leaf, RecordEntry, Said, Site, Tile
from readiness.models.freeze import without_triggers
from tests.factories import make_applicator, make_draft, make_item, make_site
from tests.recorded import broken, record_rows_by_hand

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(applicator, contact, site):
    make_draft(applicator, site)
    record_rows_by_hand()
    return site


def run(name: str, *arguments, **options) -> tuple[str, str]:
    """What a command says, and what it complains of."""
    out, err = StringIO(), StringIO()
    call_command(name, *arguments, stdout=out, stderr=err, **options)
    return out.getvalue(), err.getvalue()


def take_away(site):
    """As in another installation, which has never heard of the site."""
    with without_triggers():
        for model in (Leaf, Tile, Checkpoint):
            model.objects.all()._raw_delete(using="default")
        Said.objects.all().delete()
        Commitment.objects.filter(site=site).delete()
        RecordEntry.objects.filter(site=site).delete()
        for report in site.reports.all():
            report.items.all().delete()
            report.delete()
        site.wall_runs.all().delete()
        Site.objects.filter(pk=site.pk).delete()


@pytest.mark.parametrize("words", ["pk", "job_number", "street"])
def test_a_site_is_exported_by_its_id_job_number_or_address(site, tmp_path, words):
    file = tmp_path / "site.zip"
    said, complained = run("export_site", str(getattr(site, words)), out=file)
    last = site.record.last()
    assert said.startswith(f"{file}: {site.address}, 0 photos, 0 papers, 2 entries.")
    assert last.digest in said
    assert complained == ""
    assert file.is_file()


def test_what_is_exported_comes_in_again_once_an_owner_approves(site, tmp_path, client):
    file = tmp_path / "site.zip"
    run("export_site", str(site.pk), f"--out={file}")
    take_away(site)
    said, _ = run("import_site", str(file))
    assert said.startswith(f"{site.address} is checked. An owner approves it at ")
    assert not Site.objects.exists()
    owner = make_applicator(is_owner=True)
    client.force_login(owner)
    page = client.get(reverse("office:imports")).content.decode()
    assert "Signed by this portal." in page
    [one] = waiting.waiting()
    client.post(reverse("office:import_decide"), {"digest": one.digest, "approve": ""})
    again = Site.objects.get(pk=site.pk)
    verbs = [entry.verb for entry in again.record.all()]
    assert verbs == ["report_started", "imported", "imported"]
    assert again.record.last().actor == owner
    assert broken(again) == ""
    assert again.wall_runs.count() == 4
    assert waiting.waiting() == []


def test_only_an_owner_decides_what_comes_in(site, tmp_path, client):
    applicator = make_applicator()
    run("export_site", str(site.pk), out=tmp_path / "site.zip")
    take_away(site)
    run("import_site", str(tmp_path / "site.zip"))
    [one] = waiting.waiting()
    client.force_login(applicator)
    for choice in ("approve", "discard"):
        answer = client.post(reverse("office:import_decide"), {"digest": one.digest, choice: ""})
        assert answer.status_code == 403
    with pytest.raises(PermissionDenied):
        waiting.approve(applicator, one.digest)
    client.force_login(make_applicator(is_owner=True))
    client.post(reverse("office:import_decide"), {"digest": one.digest, "discard": ""})
    assert waiting.waiting() == []
    assert not Site.objects.exists()


def test_who_signed_in_long_ago_is_asked_again_before_a_site_comes_in(site, tmp_path, client):
    run("export_site", str(site.pk), out=tmp_path / "site.zip")
    take_away(site)
    run("import_site", str(tmp_path / "site.zip"))
    [one] = waiting.waiting()
    owner = make_applicator(is_owner=True)
    owner.set_password("three random words")
    owner.save()
    client.force_login(owner)
    answer = client.post(reverse("office:import_decide"), {"digest": one.digest, "approve": ""})
    assert "/reauthenticate/" in answer["Location"]
    assert not Site.objects.exists()


def test_a_site_that_is_here_already_is_refused_in_words(site, tmp_path):
    run("export_site", str(site.pk), out=tmp_path / "site.zip")
    with pytest.raises(CommandError, match="This site is here already"):
        run("import_site", tmp_path / "site.zip")
    assert site.record.count() == 2


def test_a_file_that_is_no_export_is_refused_in_words(site, tmp_path):
    (tmp_path / "site.zip").write_bytes(b"PK, or so it says")
    with pytest.raises(CommandError, match="not a whole zip"):
        run("import_site", tmp_path / "site.zip")


def test_a_file_that_is_not_there_is_named(db, tmp_path):
    with pytest.raises(CommandError, match=r"nowhere\.zip"):
        run("import_site", tmp_path / "nowhere.zip")


def test_a_photo_that_is_missing_here_is_named_and_the_rest_goes(applicator, site, tmp_path):
    item = make_item(applicator, site.reports.get())
    said, complained = run("export_site", str(site.pk), out=tmp_path / "site.zip")
    assert "0 photos" in said
    assert (
        f"Missing here, so missing there: originals/{item.photos.get().original_id}" in complained
    )


def test_a_place_that_can_t_be_written_is_said_in_words(site, tmp_path):
    with pytest.raises(CommandError, match=r"no_folder/site\.zip can't be written: No such file"):
        run("export_site", str(site.pk), out=tmp_path / "no_folder" / "site.zip")


@pytest.mark.parametrize("words", ["dbab3bab-eafe-4d9e-9928-3a19d251b01b", "no such street"])
def test_words_that_no_site_matches_are_refused(site, tmp_path, words):
    with pytest.raises(CommandError, match=f"No site matches “{words}”"):
        run("export_site", words, out=tmp_path / "site.zip")
    assert not (tmp_path / "site.zip").exists()


def test_words_that_several_sites_match_list_them(site, builder, tmp_path):
    other = make_site(builder)
    with pytest.raises(CommandError, match="Give one id") as refused:
        run("export_site", "Tallowood", out=tmp_path / "site.zip")
    assert str(site.pk) in str(refused.value)
    assert str(other.pk) in str(refused.value)
