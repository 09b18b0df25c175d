"""Deleting files asks the store with nothing locked, and loses no bytes that come again."""

import io
from datetime import timedelta

import pytest
from django.db import connection, transaction

from readiness import clock
from readiness.actions.photos.keeping import add_photo, remove_photo
from readiness.models import LastDone, Original
from readiness.photos import deleting, intake, store
from readiness.photos.refused import PhotoRefused
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def photo(applicator, site):
    return add_photo(applicator, site, io.BytesIO(jpeg()))


def test_the_store_is_asked_outside_transactions(applicator, photo, monkeypatch):
    asked = []

    def watched(name, delete=store.delete):
        asked.append((name, connection.in_atomic_block))
        delete(name)

    monkeypatch.setattr(store, "delete", watched)
    remove_photo(applicator, photo, "Sent by mistake.")
    assert [inside for _, inside in asked] == [False] * 3
    assert asked[-1][0] == photo.original.storage_name
    assert not LastDone.objects.exists()


def test_bytes_that_come_again_meanwhile_are_refused_for_the_moment_and_kept_after(
    applicator, site, photo, monkeypatch
):
    refused = []

    def send_again_first(name, delete=store.delete):
        with pytest.raises(PhotoRefused) as refusal:
            add_photo(applicator, site, io.BytesIO(jpeg()))
        refused.append(refusal.value.problem)
        delete(name)

    with monkeypatch.context() as patch:
        patch.setattr(store, "delete", send_again_first)
        remove_photo(applicator, photo, "Sent by mistake.")
    assert refused == ["storage"] * 3
    again = add_photo(applicator, site, io.BytesIO(jpeg()))
    assert again.original_id == photo.original_id
    assert store.exists(again.original.storage_name)
    assert not deleting.delete_files(again.original_id), "it is not deleted any more"
    assert store.exists(again.original.storage_name)


def test_bytes_deleted_between_their_arrival_and_their_row_are_stored_again(
    applicator, site, photo
):
    with intake.staged(io.BytesIO(jpeg())) as stage:
        remove_photo(applicator, photo, "Sent by mistake.")
        assert not store.exists(photo.original.storage_name)
        with transaction.atomic():
            again, _ = intake.keep(stage, site=site, uploaded_by=applicator)
    with store.open_file(again.original.storage_name) as kept:
        assert kept.read() == jpeg()


def test_two_do_not_delete_at_once_and_one_that_died_holds_nobody_up(photo):
    digest = photo.original_id
    Original.objects.filter(pk=digest).update(deleted_at=clock.now())
    with transaction.atomic():
        assert deleting._claim(digest)
    assert not deleting.delete_files(digest)
    assert store.exists(photo.original.storage_name)
    with clock.at(clock.now() + deleting.LEASE + timedelta(seconds=1)):
        assert deleting.delete_files(digest)
    assert not store.exists(photo.original.storage_name)
