"""An export can be checked with ordinary tools, shows any change, and comes back as it was."""

import hashlib
import io
import json
import shutil
import subprocess
import zipfile

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from readiness.actions.fixing import accept_fix, say_fixed
from readiness.actions.photos import add_photo, remove_photo, save_markup
from readiness.evidence.checking import chain_break
from readiness.evidence.verification import verify_all
from readiness.handover import BadExport
from readiness.handover.contents import PARTS
from readiness.handover.export import export_site
from readiness.handover.restore import import_site
from readiness.handover.verify import verify_export
from readiness.models import BuilderContact, FingerprintBand, RecordEntry, Site
from readiness.models.freeze import thawed
from tests.factories import make_draft, make_issued, make_item, make_site
from tests.photos.pictures import jpeg, scene

pytestmark = pytest.mark.django_db

ARROW = {"kind": "arrow", "from": [0.1, 0.1], "to": [0.5, 0.5]}
BLUR = {"kind": "blur", "box": [0.2, 0.2, 0.6, 0.6]}


@pytest.fixture
def site(applicator, contact, builder):
    """A site with an issued report, a fix, marks, a deleted photo, and a new draft."""
    site = make_site(builder)
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    site.notify.add(contact.contact)
    first = report.items.order_by("number").first()
    shown = add_photo(contact, site, io.BytesIO(jpeg(scene(1), lat=-37.5, lon=145.0)))
    say_fixed(contact, first, photos=[shown], note="Cleaned off.")
    accept_fix(applicator, first)
    save_markup(applicator, shown, [ARROW, BLUR], seen_version=0)
    extra = add_photo(applicator, site, io.BytesIO(jpeg(scene(2))))
    remove_photo(applicator, extra, "Sent by mistake.")
    for photo in site.photos.kept().exclude(pk=shown.pk):
        restore_bytes(photo)
    draft = make_draft(applicator, site)
    make_item(applicator, draft, photo=False)
    return site


def restore_bytes(photo):
    """The factories make rows only; give such a photo an original that is really there."""
    from readiness.photos import intake

    kept = intake.receive(
        io.BytesIO(jpeg(scene(hash(photo.pk) % 1000))),
        site=photo.site,
        uploaded_by=photo.uploaded_by,
    )
    photo.original = kept.original
    photo.save()
    kept.delete()


def rewritten(path, target, change):
    """A copy of the export in which ``change(name, content)`` gives each file's new content."""
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            content = change(name, old.read(name))
            if content is not None:
                new.writestr(name, content)
    return target


def with_sums(path):
    """The same export with SHA256SUMS made to fit, as a forger would."""
    with zipfile.ZipFile(path) as bundle:
        files = {name: bundle.read(name) for name in bundle.namelist() if name != "SHA256SUMS"}
    sums = "".join(f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in files.items())
    with zipfile.ZipFile(path, "w") as bundle:
        for name, content in {**files, "SHA256SUMS": sums.encode()}.items():
            bundle.writestr(name, content)
    return path


def test_ordinary_tools_find_nothing_to_doubt(site, tmp_path):
    done = export_site(site, tmp_path / "out.zip")
    assert done.missing == []
    folder = tmp_path / "unpacked"
    with zipfile.ZipFile(tmp_path / "out.zip") as bundle:
        bundle.extractall(folder)
    summed = subprocess.run(
        ["sha256sum", "-c", "SHA256SUMS"], cwd=folder, capture_output=True, text=True, check=True
    )
    assert all(line.endswith(": OK") for line in summed.stdout.splitlines())
    originals = list((folder / "originals").iterdir())
    assert len(originals) == 3
    listed = subprocess.run(["sha256sum", *originals], capture_output=True, text=True, check=True)
    for line in listed.stdout.splitlines():
        digest, name = line.split(maxsplit=1)
        assert f"/{digest}." in name
    loop = "while IFS= read -r line; do printf '%s' \"$line\" | sha256sum; done < record.jsonl"
    chain = subprocess.run(
        ["bash", "-c", loop], cwd=folder, capture_output=True, text=True, check=True
    )
    digests = [line.split()[0] for line in chain.stdout.splitlines()]
    entries = [json.loads(line) for line in (folder / "record.jsonl").read_text().splitlines()]
    assert [entry["previous"] for entry in entries] == ["0" * 64, *digests[:-1]]
    assert json.loads((folder / "manifest.json").read_text())["record_last_sha256"] == digests[-1]


def test_the_index_needs_no_network_and_names_every_file(site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip") as bundle:
        index = bundle.read("index.html").decode()
        names = set(bundle.namelist())
    assert "http" not in index.replace("http-equiv", "")
    assert "<script" not in index
    assert "Deleted." in index
    for name in names:
        if name.startswith(("originals/", "pictures/", "papers/")):
            assert name in index


def test_verify_counts_what_is_there(site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    done = verify_export(tmp_path / "out.zip")
    assert done.entries == RecordEntry.objects.filter(site=site).count()
    assert (done.photos, done.deleted) == (4, 1)


@pytest.mark.parametrize(
    ("spoil", "resealed", "words"),
    [
        (lambda n, c: c[:-1] + b"x" if n.startswith("originals/") else c, False, "was changed"),
        (lambda n, c: c[:-1] + b"x" if n.startswith("originals/") else c, True, "its name says"),
        (lambda n, c: None if n.startswith("originals/") else c, True, "is missing"),
        (
            lambda n, c: b"\n".join(c.splitlines()[1:]) + b"\n" if n == "record.jsonl" else c,
            True,
            "missing or out of place",
        ),
        (
            lambda n, c: b"\n".join(c.splitlines()[:-1]) + b"\n" if n == "record.jsonl" else c,
            True,
            "does not end where",
        ),
        (
            lambda n, c: c.replace(b"Cleaned off.", b"Nothing done.") if n == "record.jsonl" else c,
            True,
            "does not follow",
        ),
        (lambda n, c: b"{}" if n == "manifest.json" else c, True, "not that of a site export"),
        (lambda n, c: None if n == "record.jsonl" else c, True, "record.jsonl is missing"),
        (lambda n, c: None if n == "README.txt" else c, False, "README.txt is missing"),
    ],
)
def test_any_change_is_found_and_named(spoil, resealed, words, site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    bad = rewritten(tmp_path / "out.zip", tmp_path / "bad.zip", spoil)
    if resealed:
        with_sums(bad)
    with pytest.raises(BadExport, match=words):
        verify_export(bad)
    with pytest.raises(CommandError, match=words):
        call_command("verify_export", str(bad))


def test_a_file_that_was_added_is_named(site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip", "a") as bundle:
        bundle.writestr("more.txt", "x")
    with pytest.raises(BadExport, match=r"more.txt does not belong"):
        verify_export(tmp_path / "out.zip")


@pytest.mark.parametrize("name", ["../evil", "/etc/evil", "a\\b", "data/../../x"])
def test_names_that_leave_the_folder_are_refused(name, tmp_path):
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as bundle:
        bundle.writestr(name, "x")
    with pytest.raises(BadExport, match="name that no export has"):
        verify_export(tmp_path / "bad.zip")


def test_half_a_file_is_refused_in_words(site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    content = (tmp_path / "out.zip").read_bytes()
    (tmp_path / "half.zip").write_bytes(content[: len(content) // 2])
    with pytest.raises(BadExport, match="not a whole zip"):
        verify_export(tmp_path / "half.zip")


def empty_the_installation(folder):
    """Another installation: no rows, no files."""
    for links in (Site.notify.through, BuilderContact.sites.through):
        links.objects.all().delete()
    with thawed():
        RecordEntry.objects.all().delete()
        FingerprintBand.objects.all().delete()
        for part in reversed(PARTS):
            part.model.objects.all()._raw_delete(using="default")
    for name in ("photos", "papers"):
        shutil.rmtree(folder / name, ignore_errors=True)


@pytest.mark.django_db(transaction=True)
def test_an_import_into_an_empty_installation_round_trips(site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip") as bundle:
        first = {name: bundle.read(name) for name in bundle.namelist()}
    empty_the_installation(tmp_path)
    again = import_site(tmp_path / "out.zip")
    assert chain_break(again) == ""
    assert verify_all().first_break in ("", None)
    export_site(again, tmp_path / "again.zip")
    with zipfile.ZipFile(tmp_path / "again.zip") as bundle:
        second = {name: bundle.read(name) for name in bundle.namelist()}
    assert set(first) == set(second)
    assert second["record.jsonl"].startswith(first["record.jsonl"])
    assert len(second["record.jsonl"].splitlines()) == len(first["record.jsonl"].splitlines()) + 1
    # Sizes are made anew, so only when they were made differs, and who was added to the site.
    differing = {
        n
        for n in first
        if n.startswith("data/") and without_times(first[n]) != without_times(second[n])
    }
    assert differing <= {"data/contacts.jsonl"}
    for name in first:
        if name.startswith(("originals/", "papers/")):
            assert first[name] == second[name]
    assert FingerprintBand.objects.exists()
    with pytest.raises(BadExport, match="here already"):
        import_site(tmp_path / "out.zip")


def without_times(content: bytes) -> list:
    rows = [json.loads(line) for line in content.splitlines()]
    for row in rows:
        if isinstance(row, dict):
            row.pop("sizes_made_at", None)
    return rows
