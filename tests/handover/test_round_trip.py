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

from readiness import clock
from readiness.actions.catching_up import catch_up
from readiness.actions.fixing.fixes import accept_fix, report_fixed
from readiness.actions.people import inviting
from readiness.actions.photos.keeping import add_photo, remove_photo, save_markup
from readiness.evidence.checking import chain_break
from readiness.evidence.verification import verify_all
from readiness.handover import BadExport
from readiness.handover.contents import PARTS
from readiness.handover.export import export_site
from readiness.handover.restore import import_site
from readiness.handover.verify import verify_export
from readiness.models import (
    BuilderContact,
    FingerprintBand,
    Message,
    Paper,
    RecordEntry,
    Site,
    User,
)
from readiness.models.freeze import without_triggers
from tests.factories import make_applicator, make_draft, make_issued, make_item, make_site
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
    report_fixed(contact, first, photos=[shown], note="Cleaned off.")
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
    with without_triggers():
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
    # Sizes are made anew, so only when they were made differs, and people come in as names only.
    differing = {
        n
        for n in first
        if n.startswith("data/") and without_times(first[n]) != without_times(second[n])
    }
    assert differing <= {"data/contacts.jsonl", "data/users.jsonl"}
    for name in first:
        if name.startswith(("originals/", "papers/")):
            assert first[name] == second[name]
    assert FingerprintBand.objects.exists()
    with pytest.raises(BadExport, match="here already"):
        import_site(tmp_path / "out.zip")


def as_version_0_1_wrote_it(name: str, content: bytes) -> bytes:
    """Without the columns that came since, and by the name of its format."""
    if name == "manifest.json":
        return json.dumps({**json.loads(content), "format": "site-export-1"}).encode()
    since = {
        "data/messages.jsonl": "state attempts next_try_at claimed_by started_at given_up_at "
        "handed_over_at unsure invitation_id",
        "data/papers.jsonl": "next_try_at claimed_by given_up_at",
        "data/originals.jsonl": "sizes_attempts sizes_next_try_at sizes_given_up_at",
    }
    rows = [json.loads(line) for line in content.splitlines()] if name in since else []
    for row in rows:
        for column in since[name].split():
            del row[column]
    return b"".join(json.dumps(row).encode() + b"\n" for row in rows) if rows else content


@pytest.mark.django_db(transaction=True)
def test_what_had_not_gone_where_it_comes_from_does_not_go_from_here(
    site, contact, applicator, tmp_path, mailoutbox
):
    """Nor is a paper that failed there, in version 0.1, a row that the database refuses."""
    sent = Message.objects.filter(site=site).first()
    for state, changes in (
        ("waiting", {"sent_at": None}),
        ("given_up", {"sent_at": None, "given_up_at": clock.now(), "error": "away"}),
    ):
        Message.objects.create(
            site=site, to=contact, kind="fix_said", about=site.pk, key=state, state=state,
            queued_at=clock.now(), **changes,
        )  # fmt: skip
    for state, changes in (("queued", {}), ("failed", {"given_up_at": clock.now()})):
        Paper.objects.create(
            site=site, kind="guide", subject=f"{state}/x//1", state=state,
            requested_at=clock.now(), **changes,
        )  # fmt: skip
    export_site(site, tmp_path / "new.zip")
    old = with_sums(rewritten(tmp_path / "new.zip", tmp_path / "old.zip", as_version_0_1_wrote_it))
    for path, given_up in ((tmp_path / "new.zip", "given_up"), (old, "dropped")):
        empty_the_installation(tmp_path)
        mailoutbox.clear()
        import_site(path)
        states = dict(Message.objects.values_list("key", "state"))
        assert states["waiting"] == "dropped"
        assert states["given_up"] == given_up
        assert states[sent.key] == "sent"
        assert Paper.objects.failed().get().subject == "failed/x//1"
        assert Paper.objects.due(clock.now()).get().subject == "queued/x//1"
        catch_up()
        assert not mailoutbox


def without_times(content: bytes) -> list:
    rows = [json.loads(line) for line in content.splitlines()]
    for row in rows:
        if isinstance(row, dict):
            row.pop("sizes_made_at", None)
    return rows


FORGED = {
    "role": "applicator", "is_active": True, "is_owner": True, "is_superuser": True,
    "last_login": "2026-01-01T00:00:00+00:00", "session_epoch": 7, "password": "!x",
}  # fmt: skip


def promoted(name, content):
    """An export in which everybody is an owner who can sign in."""
    if name not in ("data/users.jsonl", "data/contacts.jsonl"):
        return content
    more = FORGED if name == "data/users.jsonl" else {"is_active": True, "all_sites": True}
    rows = [json.loads(line) | more for line in content.splitlines()]
    return b"".join(json.dumps(row).encode() + b"\n" for row in rows)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("forged", [False, True])
def test_imported_people_are_names_only_until_somebody_lets_them_in(site, tmp_path, forged):
    export_site(site, tmp_path / "out.zip")
    if forged:
        with_sums(rewritten(tmp_path / "out.zip", tmp_path / "forged.zip", promoted))
    empty_the_installation(tmp_path)
    import_site(tmp_path / ("forged.zip" if forged else "out.zip"))
    people = list(User.objects.all())
    assert len(people) == 2
    for person in people:
        assert (person.role, person.is_active, person.is_owner, person.is_superuser) == (
            "", False, False, False,
        )  # fmt: skip
        assert not person.has_usable_password()
        assert person.last_login is None
    contact = BuilderContact.objects.get()
    assert (contact.is_active, contact.all_sites) == (False, False)


@pytest.mark.django_db(transaction=True)
def test_somebody_who_is_here_already_stays_as_they_are(site, applicator, tmp_path):
    export_site(site, tmp_path / "out.zip")
    empty_the_installation(tmp_path)
    applicator.save(force_insert=True)
    import_site(tmp_path / "out.zip")
    here = User.objects.get(pk=applicator.pk)
    assert (here.role, here.is_active) == ("applicator", True)


@pytest.mark.django_db(transaction=True)
def test_imported_people_can_be_let_in(site, applicator, contact, tmp_path):
    export_site(site, tmp_path / "out.zip")
    empty_the_installation(tmp_path)
    import_site(tmp_path / "out.zip")
    owner = make_applicator(is_owner=True)
    invited = inviting.invite_staff(owner, applicator.email)
    back = inviting.accept_invitation(invited.token, name="Alex", password="three random words")
    assert (back.pk, back.role, back.is_active) == (applicator.pk, "applicator", True)
    inviting.switch_contact(owner, BuilderContact.objects.get(), on=True)
    again = User.objects.get(pk=contact.pk)
    assert (again.role, again.is_active) == ("builder", True)


def test_levels_of_a_version_to_come_are_refused_with_the_export(site, tmp_path):
    run = site.wall_runs.first()
    run.levels = {"version": 99}
    run.save()
    export_site(site, tmp_path / "out.zip")
    empty_the_installation(tmp_path)
    with pytest.raises(BadExport, match="versions 1 to 2 can be read"):
        import_site(tmp_path / "out.zip")
    assert not Site.objects.exists()
