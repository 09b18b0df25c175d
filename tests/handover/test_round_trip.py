"""An export can be checked with ordinary tools, shows any change, and comes back as it was."""

import io
import json
import shutil
import subprocess
import zipfile

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from readiness import clock
from readiness.actions import referrals
from readiness.actions.catching_up import catch_up
from readiness.actions.fixing.fixes import accept_fix, report_fixed
from readiness.actions.people import inviting, rights
from readiness.actions.photos.keeping import add_photo, remove_photo, save_markup
from readiness.evidence.verification import verify_all
from readiness.handover import BadExport
from readiness.handover.contents import PARTS
from readiness.handover.export import export_site
from readiness.handover.restore import import_site
from readiness.handover.verify import verify_export
from readiness.models import (
    BuilderContact,
    Checkpoint,
    Commitment,
    FingerprintBand,
    Invitation,
    Leaf,
    Message,
    Paper,
    RecordEntry,
    Said,
    SigningKey,
    Site,
    Tile,
    Timestamp,
    User,
)
from readiness.models.freeze import without_triggers
from tests.factories import (
    make_applicator,
    make_draft,
    make_issued,
    make_item,
    make_site,
    token_of,
)
from tests.handover.forging import (
    as_version_0_1_wrote_it,
    give_bytes,
    resealed,
    rewritten,
)
from tests.photos.pictures import jpeg, scene
from tests.recorded import broken, record_rows_by_hand

pytestmark = pytest.mark.django_db

ARROW = {"kind": "arrow", "from": [0.1, 0.1], "to": [0.5, 0.5]}
BLUR = {"kind": "blur", "box": [0.2, 0.2, 0.6, 0.6]}


@pytest.fixture
def site(applicator, contact, builder):
    """A site with an issued report, a fix, marks, a deleted photo, and a new draft."""
    site = make_site(builder)
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    site.notify.add(contact.memberships.get())
    first = report.items.order_by("number").first()
    shown = add_photo(contact, site, io.BytesIO(jpeg(scene(1), lat=-37.5, lon=145.0)))
    report_fixed(contact, first, photos=[shown], note="Cleaned off.")
    accept_fix(applicator, first)
    save_markup(applicator, shown, [ARROW, BLUR], seen_version=0)
    extra = add_photo(applicator, site, io.BytesIO(jpeg(scene(2))))
    remove_photo(applicator, extra, "Sent by mistake.")
    _refer(applicator, site)
    give_bytes(site)
    draft = make_draft(applicator, site)
    make_item(applicator, draft, photo=False)
    record_rows_by_hand(changed=True)
    return site


def _refer(applicator, site) -> None:
    """Live termites with a photo, decided twice, and a wall that nobody can reach."""
    applicator.licence_number = "T-2208"
    applicator.save()
    wall = site.wall_runs.last()
    seen = add_photo(applicator, site, io.BytesIO(jpeg(scene(3))))
    found = referrals.note_live_termites(applicator, site, wall_run=wall, photos=[seen])
    for outcome in ("stays_closed", "treated_separately"):
        referrals.decide_referral(applicator, found, outcome=outcome, reason="Seen.")
    referrals.note_no_access(applicator, wall, cause="boundary", from_mm=0, to_mm=4200)


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
    assert len(originals) == 4
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


@pytest.mark.long
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


@pytest.mark.long
def test_verify_counts_what_is_there(site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    done = verify_export(tmp_path / "out.zip")
    assert done.entries == RecordEntry.objects.filter(site=site).count()
    assert (done.photos, done.deleted) == (5, 1)


@pytest.mark.parametrize(
    ("spoil", "sealed", "words"),
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
            lambda n, c: c.replace(b"said_fixed", b"sent_back") if n == "record.jsonl" else c,
            True,
            "does not follow",
        ),
        (lambda n, c: b"{}" if n == "manifest.json" else c, True, "not that of a site export"),
        (lambda n, c: None if n == "record.jsonl" else c, True, "record.jsonl is missing"),
        (lambda n, c: None if n == "README.txt" else c, False, "README.txt is missing"),
    ],
)
def test_any_change_is_found_and_named(spoil, sealed, words, exported, tmp_path):
    bad = rewritten(exported, tmp_path / "bad.zip", spoil)
    if sealed:
        resealed(bad)
    with pytest.raises(BadExport, match=words):
        verify_export(bad)
    with pytest.raises(CommandError, match=words):
        call_command("verify_export", str(bad))


def test_a_file_that_was_added_is_named(exported, tmp_path):
    with zipfile.ZipFile(exported, "a") as bundle:
        bundle.writestr("more.txt", "x")
    with pytest.raises(BadExport, match=r"more.txt does not belong"):
        verify_export(exported)


@pytest.mark.parametrize("name", ["../evil", "/etc/evil", "a\\b", "data/../../x"])
def test_names_that_leave_the_folder_are_refused(name, tmp_path):
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as bundle:
        bundle.writestr(name, "x")
    with pytest.raises(BadExport, match="name that no export has"):
        verify_export(tmp_path / "bad.zip")


def test_half_a_file_is_refused_in_words(exported, tmp_path):
    content = exported.read_bytes()
    (tmp_path / "half.zip").write_bytes(content[: len(content) // 2])
    with pytest.raises(BadExport, match="not a whole zip"):
        verify_export(tmp_path / "half.zip")


def empty_the_installation(folder):
    """Another installation: no rows, no files."""
    for links in (Site.notify, BuilderContact.sites, Invitation.sites):
        links.through.objects.all().delete()
    with without_triggers():
        for model in (Timestamp, Leaf, Tile, Said, Commitment):
            model.objects.all().delete()
        RecordEntry.objects.all().delete()
        Paper.objects.update(checkpoint=None)
        Checkpoint.objects.all()._raw_delete(using="default")
        SigningKey.objects.all()._raw_delete(using="default")
        FingerprintBand.objects.all().delete()
        Invitation.objects.all()._raw_delete(using="default")
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
    assert broken(again) == ""
    found, barred = again.referrals.order_by("kind")
    assert (found.is_settled, found.photos.count(), barred.in_force) == (True, 1, None)
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


@pytest.mark.long
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
    old = as_version_0_1_wrote_it(tmp_path / "new.zip", tmp_path / "old.zip")
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


@pytest.mark.django_db(transaction=True)
def test_imported_people_are_names_only_until_somebody_lets_them_in(site, tmp_path):
    export_site(site, tmp_path / "out.zip")
    empty_the_installation(tmp_path)
    import_site(tmp_path / "out.zip")
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


@pytest.mark.long
@pytest.mark.django_db(transaction=True)
def test_somebody_who_is_here_already_stays_as_they_are(site, applicator, tmp_path):
    export_site(site, tmp_path / "out.zip")
    empty_the_installation(tmp_path)
    applicator.save(force_insert=True)
    import_site(tmp_path / "out.zip")
    here = User.objects.get(pk=applicator.pk)
    assert (here.role, here.is_active) == ("applicator", True)


@pytest.mark.long
@pytest.mark.django_db(transaction=True)
def test_imported_people_can_be_let_in(site, applicator, contact, tmp_path):
    export_site(site, tmp_path / "out.zip")
    empty_the_installation(tmp_path)
    import_site(tmp_path / "out.zip")
    owner = make_applicator(is_owner=True)
    invited = inviting.invite_staff(owner, applicator.email)
    back = inviting.accept_invitation(token_of(invited), name="Alex", password="three random words")
    assert (back.pk, back.role, back.is_active) == (applicator.pk, "applicator", True)
    rights.switch_contact(owner, BuilderContact.objects.get(), on=True)
    again = User.objects.get(pk=contact.pk)
    assert (again.role, again.is_active) == ("builder", True)


@pytest.mark.long
def test_levels_of_a_version_to_come_are_refused_with_the_export(site, tmp_path):
    run = site.wall_runs.first()
    run.levels = {"version": 99}
    run.save()
    record_rows_by_hand(changed=True)
    export_site(site, tmp_path / "out.zip")
    empty_the_installation(tmp_path)
    with pytest.raises(BadExport, match="versions 1 to 3 can be read"):
        import_site(tmp_path / "out.zip")
    assert not Site.objects.exists()
