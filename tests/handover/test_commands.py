"""Export and import as the commands that people type."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from readiness.evidence.checking import chain_break
from readiness.models import RecordEntry, Site
from readiness.models.freeze import without_triggers
from tests.factories import make_draft, make_item, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(applicator, contact, site):
    make_draft(applicator, site)
    return site


def run(name: str, *arguments, **options) -> tuple[str, str]:
    """What a command says, and what it complains of."""
    out, err = StringIO(), StringIO()
    call_command(name, *arguments, stdout=out, stderr=err, **options)
    return out.getvalue(), err.getvalue()


def take_away(site):
    """As in another installation, which has never heard of the site."""
    with without_triggers():
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
    assert said.startswith(f"{file}: {site.address}, 0 photos, 0 papers, 1 entries.")
    assert last.digest in said
    assert complained == ""
    assert file.is_file()


def test_what_is_exported_comes_in_again_with_its_record(site, tmp_path):
    file = tmp_path / "site.zip"
    run("export_site", str(site.pk), f"--out={file}")
    take_away(site)
    said, _ = run("import_site", str(file))
    again = Site.objects.get(pk=site.pk)
    assert said == f"{again.address} is in, with its Record.\n"
    assert [entry.verb for entry in again.record.all()] == ["report_started", "imported"]
    assert chain_break(again) == ""
    assert again.wall_runs.count() == 4


def test_a_site_that_is_here_already_is_refused_in_words(site, tmp_path):
    run("export_site", str(site.pk), out=tmp_path / "site.zip")
    with pytest.raises(CommandError, match="This site is here already"):
        run("import_site", tmp_path / "site.zip")
    assert site.record.count() == 1


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
