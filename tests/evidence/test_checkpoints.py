"""Checkpoints: every entry has its place once, and each root leads to the next."""

import hashlib
import subprocess
from io import StringIO
from itertools import pairwise
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from readiness import clock
from readiness.evidence import checkpoints, merkle, signing
from readiness.evidence.checkpoints import Reason, make
from readiness.evidence.merkle import TILE
from readiness.evidence.notes import Note
from readiness.models import Checkpoint, LastDone, Leaf, RecordEntry, SigningKey, Tile, freeze
from readiness.operations import sweeping
from tests.factories import make_issued, make_site

pytestmark = pytest.mark.django_db

PROJECT = Path(__file__).resolve().parents[2]


def entries(site, count, first_id=None):
    """So many entries as another program might write them: no chain, a digest of their own."""
    start = RecordEntry.objects.count()
    RecordEntry.objects.bulk_create(
        RecordEntry(
            pk=first_id and first_id + number,
            site=site,
            sequence=start + number + 1,
            at=clock.now(),
            verb="levels_changed",
            previous_digest="0" * 64,
            digest=hashlib.sha256(str(start + number).encode()).hexdigest(),
        )
        for number in range(count)
    )


def root_of_all() -> str:
    """From the RFC's own tree over the entries as they stand, without tiles."""
    digests = Leaf.objects.order_by("position").values_list("entry__digest", flat=True)
    return merkle.root_of([bytes.fromhex(digest) for digest in digests]).hex()


def test_without_entries_there_is_nothing_to_sign():
    assert make(Reason.DAILY) is None
    assert not SigningKey.objects.exists()


def test_every_entry_gets_one_place_in_the_order_of_their_ids(site):
    entries(site, 3)
    other = make_site()
    entries(other, 2)
    entries(site, 1)
    made = make(Reason.COMMAND)
    assert made.size == 6
    assert list(Leaf.objects.values_list("position", flat=True)) == list(range(6))
    ids = list(RecordEntry.objects.order_by("pk").values_list("pk", flat=True))
    assert list(Leaf.objects.order_by("position").values_list("entry", flat=True)) == ids
    assert made.root == root_of_all()


def test_with_nothing_new_there_is_no_new_one(site):
    entries(site, 2)
    first = make(Reason.COMMAND)
    assert make(Reason.DAILY) == first
    assert Checkpoint.objects.count() == 1


def test_an_entry_that_comes_late_leaves_no_gap(site):
    """On PostgreSQL a transaction may end after one with later ids did."""
    entries(site, 3, first_id=1000)
    make(Reason.COMMAND)
    entries(site, 2, first_id=500)
    made = make(Reason.ISSUED)
    ids = list(Leaf.objects.order_by("position").values_list("entry", flat=True))
    assert ids == [1000, 1001, 1002, 500, 501]
    assert made.root == root_of_all()


def test_an_entry_that_comes_very_late_is_found_within_the_day(site):
    entries(site, 1, first_id=10 * checkpoints.LOOKED_BACK)
    make(Reason.COMMAND)
    entries(site, 1, first_id=1)
    assert make(Reason.ISSUED).size == 1
    assert make(Reason.DAILY).size == 2


def test_each_leads_to_the_next_over_whole_tiles(site):
    for count in (1, 2, TILE - 3, 1, 5, TILE, 700):
        entries(site, count)
        made = make(Reason.ISSUED)
        assert made.root == root_of_all()
    assert Tile.objects.count() == made.size // TILE
    for before, after in pairwise(Checkpoint.objects.order_by("number")):
        assert after.previous == before
        proof = [bytes.fromhex(part) for part in after.consistency]
        roots = bytes.fromhex(before.root), bytes.fromhex(after.root)
        assert merkle.is_consistent(before.size, roots[0], after.size, roots[1], proof)


def test_few_queries_make_one(site, django_assert_max_num_queries):
    entries(site, 3 * TILE)
    make(Reason.COMMAND)
    entries(site, 10)
    with django_assert_max_num_queries(20):
        make(Reason.ISSUED)


def test_it_is_signed_by_the_installations_key(site, settings):
    settings.SITE_URL = "https://ready.example.com"
    entries(site, 2)
    note = checkpoints.note_of(make(Reason.COMMAND))
    assert note.key == signing.public_of(signing.private_key())
    assert note.portal == "https://ready.example.com"
    assert signing.is_signed_by(note.key, note.signature, note.signed)


def test_openssl_alone_checks_the_file_that_the_command_writes(site, tmp_path):
    entries(site, 2)
    out = StringIO()
    call_command("checkpoint", "--out", str(tmp_path / "today.txt"), stdout=out)
    made = Checkpoint.objects.get()
    assert out.getvalue() == f"Checkpoint 1: 2 entries, root {made.root}\n"
    assert Note.of_file((tmp_path / "today.txt").read_text()) == checkpoints.note_of(made)
    told = (PROJECT / "DEVELOPERS.md").read_text().partition("## Checkpoints without the portal")[2]
    commands = told.partition("```sh\n")[2].partition("```")[0].replace("FILE", "today.txt")
    assert "openssl pkeyutl -verify -rawin" in commands
    subprocess.run(["sh", "-ec", commands], cwd=tmp_path, check=True, capture_output=True)
    text = (tmp_path / "text").read_text()
    (tmp_path / "text").write_text(text.replace("size 2", "size 3"))
    command = "openssl pkeyutl -verify -rawin -pubin -inkey key.pem -in text -sigfile signature"
    done = subprocess.run(command.split(), cwd=tmp_path, check=False, capture_output=True)
    assert done.returncode == 1


def test_the_command_says_why_there_is_none(site, tmp_path, settings):
    with pytest.raises(CommandError, match="nothing to sign yet"):
        call_command("checkpoint")
    entries(site, 1)
    with pytest.raises(CommandError, match="can't be written"):
        call_command("checkpoint", "--out", str(tmp_path / "no" / "folder"))
    settings.READINESS_SIGNING_KEY = "nonsense"
    entries(site, 1)
    with pytest.raises(CommandError, match="READINESS_SIGNING_KEY"):
        call_command("checkpoint")


def test_the_worker_makes_one_a_day(site):
    entries(site, 2)
    sweeping.sweep()
    sweeping.sweep()
    assert Checkpoint.objects.get().reason == Reason.DAILY


def test_an_issue_is_followed_by_one(applicator, site, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        make_issued(applicator, site)
    made = Checkpoint.objects.earliest("number")
    assert made.reason == Reason.ISSUED
    assert RecordEntry.objects.get(verb="report_issued").leaf.position < made.size


def test_a_lost_key_makes_a_new_one_that_shows(site, settings):
    entries(site, 1)
    first = make(Reason.COMMAND)
    (settings.READINESS_DATA / "signing_key").unlink()
    entries(site, 1)
    second = make(Reason.COMMAND)
    assert second.key != first.key
    assert second.key.replaces == first.key
    assert second.key.endorsement == ""


def test_a_key_that_can_not_be_read_is_noted_and_keeps_nobody_from_working(site, settings):
    entries(site, 1)
    settings.READINESS_SIGNING_KEY = "nonsense"
    assert checkpoints.make_quietly(Reason.ISSUED) is None
    assert not Leaf.objects.exists()
    assert checkpoints.trouble().details["trouble"] == "BadKey"
    settings.READINESS_SIGNING_KEY = ""
    assert checkpoints.make_quietly(Reason.ISSUED).size == 1
    assert checkpoints.trouble() is None


def test_nothing_is_signed_over_a_changed_history(site):
    entries(site, 5)
    make(Reason.COMMAND)
    with freeze.without_triggers():
        RecordEntry.objects.filter(leaf__position=2).update(digest="e" * 64)
    entries(site, 1)
    assert checkpoints.make_quietly(Reason.ISSUED) is None
    assert checkpoints.trouble().details["trouble"] == "HistoryChanged"
    assert LastDone.objects.get(name="checkpoint").details["error"]
    assert Checkpoint.objects.count() == 1


def test_a_leaf_that_is_gone_is_noticed(site):
    entries(site, 5)
    make(Reason.COMMAND)
    with freeze.without_triggers():
        Leaf.objects.filter(position=2).delete()
    entries(site, 1)
    with pytest.raises(checkpoints.HistoryChanged):
        make(Reason.ISSUED)


@pytest.mark.parametrize("model", [Leaf, Tile, Checkpoint, SigningKey])
def test_the_database_refuses_to_change_or_delete_them(site, model):
    entries(site, TILE)
    make(Reason.COMMAND)
    column = next(field for field in model._meta.concrete_fields if not field.primary_key)
    assert freeze.missing() == []
    for change in (
        lambda: model.objects.update(**{column.attname: 1}),
        lambda: model.objects.all()._raw_delete(connection.alias),
    ):
        with pytest.raises(IntegrityError, match="only grow"), transaction.atomic():
            change()
