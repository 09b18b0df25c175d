"""Old files against the Record: each tampering is found by whatever left the portal before it."""

import io
import json
import zipfile
from contextlib import suppress
from datetime import timedelta

import pikepdf
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.core import mail
from django.db import IntegrityError, connection, transaction
from hypothesis import given
from hypothesis import strategies as st

from readiness import clock
from readiness.evidence import anchors, checkpoints, merkle, signing
from readiness.evidence.anchors import check_against, check_own
from readiness.evidence.checkpoints import Reason
from readiness.evidence.notes import HEADER, Note, b64
from readiness.messages.writing import write_email
from readiness.models import (
    Checkpoint,
    Commitment,
    Leaf,
    Message,
    RecordEntry,
    Said,
    SigningKey,
    Tile,
    freeze,
)
from readiness.papers.render import render_paper
from readiness.wording.anchors import Result, What
from tests.evidence.test_checkpoints import entries
from tests.factories import make_issued, make_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def files(applicator, contact, site, tmp_path):
    """A paper, an e-mail, a log, an export and a checkpoint file, each of another moment."""
    report = make_issued(applicator, site, notify=[contact.memberships.get()])
    made = []

    def keep(name, content):
        path = tmp_path / name
        path.write_bytes(content)
        made.append(path)

    first = checkpoints.make(Reason.COMMAND)
    keep("first.txt", checkpoints.note_of(first).as_file().encode())
    entries(make_site(), 300)
    paper = report.papers.get(kind="photo_record")
    paper.checkpoint = checkpoints.make(Reason.PAPER)
    keep("paper.pdf", render_paper(paper).content)
    entries(site, 3, first_id=100_000)
    checkpoints.make(Reason.ISSUED)
    email = write_email(Message.objects.get()).email
    keep("mail.eml", email.message().as_bytes())
    entries(make_site(), 5, first_id=200_000)
    checkpoints.make(Reason.DAILY)
    later = write_email(Message.objects.get()).email
    line = b"\n" + b"-" * 79 + b"\n"
    keep("mail.log", line.join((email.message().as_bytes(), later.message().as_bytes())) + line)
    bundle = io.BytesIO()
    entries(make_site(), 5, first_id=300_000)
    last = checkpoints.note_of(checkpoints.make(Reason.DAILY))
    with zipfile.ZipFile(bundle, "w") as opened:
        opened.writestr("checkpoint.txt", last.as_file())
    keep("export.zip", bundle.getvalue())
    entries(make_site(), 5, first_id=400_000)  # after the last file
    mail.outbox.clear()
    return made


def results(found):
    return {(one.name, one.what, one.result) for one in found}


HOLDING = {
    ("first.txt", What.CHECKPOINT, Result.HOLDS),
    ("paper.pdf", What.PAPER, Result.HOLDS),
    ("mail.eml", What.MAIL, Result.HOLDS),
    ("mail.log", What.MAIL, Result.HOLDS),
    ("export.zip", What.EXPORT, Result.HOLDS),
}


def test_an_untouched_record_is_proven_by_each(files):
    found = check_against(files)
    assert results(found) == HOLDING
    assert len(found) == 6  # the log has two e-mails
    assert "none was changed, removed or put in" in found[0].sentence
    assert check_own() == []


def test_what_came_since_changes_nothing(files):
    entries(make_site(), 600, first_id=500_000)
    checkpoints.make(Reason.DAILY)
    assert results(check_against(files)) == HOLDING


def test_a_new_key_changes_nothing(files, settings):
    (settings.READINESS_DATA / "signing_key").unlink()
    entries(make_site(), 1, first_id=500_000)
    checkpoints.make(Reason.DAILY)
    assert SigningKey.objects.count() == 2
    assert results(check_against(files)) == HOLDING
    assert check_own() == []


def forged(position):
    """The entry at this position, with the digest of another content."""
    RecordEntry.objects.filter(leaf__position=position).update(digest="e" * 64)


def kept_up():
    """What the holder of the database would do next: work out and sign all of it anew."""
    Tile.objects.all().delete()
    for row in Checkpoint.objects.order_by("number"):
        tree = merkle.Tree(row.size, checkpoints.digests)
        note = checkpoints.note_of(row)
        anew = Note(note.portal, note.size, tree.root(), note.at, note.key, note.signature)
        Checkpoint.objects.filter(pk=row.pk).update(
            root=anew.root.hex(), signature=b64(signing.private_key().sign(anew.signed))
        )


@pytest.mark.parametrize(
    "whole",
    [
        pytest.param(False, id="entry alone", marks=pytest.mark.long),
        pytest.param(True, id="checkpoints signed anew"),
    ],
)
@pytest.mark.parametrize("place", ["first.txt", "paper.pdf", "mail.eml", "mail.log", "export.zip"])
def test_a_rewritten_entry_is_found_by_each_file_that_is_later(files, place, whole):
    notes = {one.name: one.note for one in check_against(files)}
    with freeze.without_triggers():
        forged(notes[place].size - 1)
        if whole:
            kept_up()
    for one in check_against(files):
        if one.note.size < notes[place].size:
            assert one.holds, one
        else:
            assert one.result in (Result.CHANGED, Result.CHANGED_AFTER), one
            assert "does not hold" in one.sentence


def test_the_sentence_names_up_to_where_another_file_holds(files):
    by_name = {one.name: one for one in check_against(files)}
    with freeze.without_triggers():
        forged(by_name["export.zip"].note.size - 1)
    found = {one.name: one for one in check_against(files)}
    before = f"{by_name['mail.log'].note.size:,}"
    assert found["export.zip"].result == Result.CHANGED_AFTER
    assert f"the first {before} still are" in found["export.zip"].sentence


def test_cut_off_entries_are_missed(files):
    with freeze.without_triggers():
        gone = list(Leaf.objects.order_by("-position")[:40].values_list("pk", flat=True))
        kept = [row.entry_id for row in Leaf.objects.filter(pk__in=gone)]
        Leaf.objects.filter(pk__in=gone).delete()
        for model in (Said, Commitment):
            model.objects.filter(entry__in=kept)._raw_delete("default")
        RecordEntry.objects.filter(pk__in=kept)._raw_delete("default")
        Checkpoint.objects.order_by("-number").first()
    found = {one.name: one for one in check_against([files[0], files[-1]])}
    assert found["first.txt"].holds
    assert found["export.zip"].result == Result.SHORTER
    assert "Entries were removed" in found["export.zip"].sentence


def test_all_of_them_gone_is_found(files):
    with freeze.without_triggers():
        for model in (Leaf, Said, Commitment, RecordEntry):
            model.objects.all()._raw_delete("default")
    assert {one.result for one in check_against(files)} == {Result.SHORTER}


def remove_at_once(rows):
    rows._raw_delete("default")
    connection.check_constraints()  # not only when the transaction ends


def test_an_entry_whose_leaf_stayed_is_missed(files):
    gone = RecordEntry.objects.filter(leaf__position=20)
    if connection.vendor == "postgresql":  # it refuses that by itself
        with pytest.raises(IntegrityError), transaction.atomic(), freeze.without_triggers():
            remove_at_once(gone)
        return
    with freeze.without_triggers():
        gone._raw_delete("default")
    found = check_against(files)
    assert not any(one.holds for one in found if one.note.size > 20)
    with freeze.without_triggers():  # the database is checked when the test ends
        Leaf.objects.filter(position=20)._raw_delete("default")


def test_entries_in_another_order_are_found(files):
    with freeze.without_triggers():
        a, b = Leaf.objects.get(position=3), Leaf.objects.get(position=4)
        Leaf.objects.filter(position__in=(3, 4))._raw_delete("default")
        Leaf.objects.create(position=3, entry_id=b.entry_id)
        Leaf.objects.create(position=4, entry_id=a.entry_id)
    assert {one.result for one in check_against(files)} == {Result.CHANGED}


def test_a_file_that_was_changed_is_found(files, tmp_path):
    text = files[0].read_text()
    size = checkpoints.newest().size
    for name, before, after in (
        ("size.txt", text.split("\n")[2], f"size {size}"),
        ("time.txt", "time 2", "time 3"),
    ):
        (tmp_path / name).write_text(text.replace(before, after))
        (found,) = check_against([tmp_path / name])
        assert found.result == Result.BAD_SIGNATURE


def test_a_file_signed_with_a_foreign_key_is_found(files, tmp_path):
    note = Note.of_file(files[0].read_text())
    key = Ed25519PrivateKey.generate()
    public = signing.public_of(key)
    foreign = Note(note.portal, note.size, note.root, note.at, public, key.sign(note.signed))
    (tmp_path / "foreign.txt").write_text(foreign.as_file())
    (found,) = check_against([tmp_path / "foreign.txt"])
    assert found.result == Result.UNKNOWN_KEY
    assert signing.id_of(public) in found.sentence


def test_a_key_that_was_taken_out_of_the_database_is_missed(files):
    with freeze.without_triggers():
        SigningKey.objects.update(public="x")
    assert {one.result for one in check_against(files)} == {Result.UNKNOWN_KEY}


def attached(path) -> dict:
    with pikepdf.open(path) as opened:
        return json.loads(opened.attachments["record.json"].get_file().read_bytes())


@pytest.mark.parametrize(
    ("change", "result"),
    [
        (lambda data: data["head"].update(sha256="e" * 64), Result.HEAD_NOT_PROVEN),
        (lambda data: data["head"].update(position=2), Result.HEAD_NOT_PROVEN),
        (lambda data: data["head"]["inclusion"].pop(), Result.HEAD_NOT_PROVEN),
        (lambda data: data["head"].update(sequence=1), Result.HEAD_CHANGED),
        (lambda data: data["head"].update(position="2"), Result.BAD_CHECKPOINT),
        (lambda data: data["head"].pop("inclusion"), Result.BAD_CHECKPOINT),
        (lambda data: data.update(version=99), Result.BAD_CHECKPOINT),
        (lambda data: data["checkpoint"].update(root="x"), Result.BAD_CHECKPOINT),
        (lambda data: data.pop("head"), Result.HOLDS),
    ],
)
def test_the_head_that_a_paper_names_is_held_to_its_proof(files, tmp_path, change, result):
    data = attached(tmp_path / "paper.pdf")
    change(data)
    (tmp_path / "record.json").write_text(json.dumps(data))
    (found,) = check_against([tmp_path / "record.json"])
    assert found.result == result


def test_what_has_no_checkpoint_says_so(tmp_path, applicator, site):
    report = make_issued(applicator, site)
    (tmp_path / "old.pdf").write_bytes(render_paper(report.papers.first()).content)
    with zipfile.ZipFile(tmp_path / "old.zip", "w") as bundle:
        bundle.writestr("index.html", "")
    (tmp_path / "old.eml").write_text("Subject: hello\n\nhello\n")
    paths = [tmp_path / name for name in ("old.pdf", "old.zip", "old.eml")]
    assert {one.result for one in check_against(paths)} == {Result.NO_CHECKPOINT}
    assert not any(one.is_of_use for one in check_against(paths))


@pytest.mark.parametrize(
    ("content", "result"),
    [
        (b"%PDF-1.7\nnothing", Result.UNREADABLE),
        (b"PK\x03\x04nothing", Result.UNREADABLE),
        (b"{", Result.BAD_CHECKPOINT),
        (b"{" * 100_000, Result.BAD_CHECKPOINT),
        (b"[]", Result.NO_CHECKPOINT),
        (b"", Result.NO_CHECKPOINT),
        (b"site-readiness checkpoint 1\nsize 3\n", Result.BAD_CHECKPOINT),
        (f"{HEADER}: 1; size=3\n".encode(), Result.BAD_CHECKPOINT),
        (bytes(range(256)), Result.NO_CHECKPOINT),
    ],
)
def test_a_file_that_makes_no_sense_is_named(tmp_path, content, result):
    (tmp_path / "file").write_bytes(content)
    (found,) = check_against([tmp_path / "file"])
    assert found.result == result
    assert found.sentence.startswith("file (")


def test_a_file_that_is_not_there_is_named(tmp_path):
    (found,) = check_against([tmp_path / "nothing"])
    assert found.result == Result.UNREADABLE


@given(st.binary(max_size=300))
def test_any_bytes_are_read_without_a_fault(content):
    with suppress(anchors._Bad):
        list(anchors._notes(content))


def test_the_databases_own_checkpoints_are_held_against_the_entries(files):
    with freeze.without_triggers():
        forged(3)
    found = check_own()
    assert [one.what for one in found] == [What.OURS] * Checkpoint.objects.count()


def test_an_own_checkpoint_that_does_not_follow_is_found(files):
    with freeze.without_triggers():
        Checkpoint.objects.filter(number=2).update(consistency=["00" * 32])
    (found,) = check_own()
    assert (found.name, found.result) == ("2", Result.NOT_CONSISTENT)


def test_an_own_checkpoint_that_was_changed_is_found(files):
    with freeze.without_triggers():
        Checkpoint.objects.filter(number=2).update(made_at=clock.now() - timedelta(days=60))
    (found,) = check_own()
    assert (found.name, found.result) == ("2", Result.BAD_SIGNATURE)
