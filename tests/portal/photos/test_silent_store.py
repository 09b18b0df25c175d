"""An object store that freezes, refuses or comes back: no photo is lost, no page hangs on it."""

import errno
import hashlib
import io
import os
import uuid
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.storage import storages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from portal import object_store
from readiness import clock
from readiness.actions.catching_up import catch_up
from readiness.actions.photos.keeping import add_photo, delete_left_bytes, remove_photo
from readiness.handover.export import export_site
from readiness.models import Original, Paper, Photo, SpooledOriginal
from readiness.operations import sweeping
from readiness.patience import Patience, current, patience
from readiness.photos import intake, moving, sizes, spool, store, tidying
from tests.photos.pictures import jpeg, scene
from tests.portal.stores import Relay, keep_in
from tests.recorded import verified

moto = pytest.importorskip("moto.server", reason="moto is not installed (the test extra has it).")
boto3 = pytest.importorskip("boto3", reason="boto3 is not installed (the test extra has it).")

pytestmark = pytest.mark.django_db

BUCKET = "kept-things"


@pytest.fixture(scope="module")
def server():
    """An S3 server on this machine, with one bucket: its host and port."""
    thread = moto.ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    thread.start()
    host, port = thread.get_host_and_port()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("AWS_ACCESS_KEY_ID", "a-key")
        patch.setenv("AWS_SECRET_ACCESS_KEY", "its-secret")
        patch.setenv("AWS_DEFAULT_REGION", "us-east-1")
        boto3.client("s3", endpoint_url=f"http://{host}:{port}").create_bucket(Bucket=BUCKET)
        yield host, port
    thread.stop()


@pytest.fixture
def relay(server, settings, monkeypatch):
    """The way to the store, which a test can freeze; those who wait for it wait a short while."""
    quick = {Patience.PAGE: (1, 0.3, 1), Patience.PERSON: (1, 0.4, 1), Patience.WORKER: (1, 0.5, 2)}
    monkeypatch.setattr(object_store, "WAITS", quick)
    object_store.BREAKERS.clear()
    monkeypatch.setattr(moving, "_not_before", 0.0)
    relay = Relay(*server)
    keep_in(settings, relay.address, BUCKET)
    yield relay
    relay.stop()


def back_again(relay):
    """The store answers, and the seconds in which nobody asked are over."""
    relay.thaw()
    for breaker in object_store.BREAKERS.values():
        breaker._closed_until = 0


def take(applicator, site, seed=1):
    content = jpeg(scene(seed))
    return add_photo(applicator, site, io.BytesIO(content), filename="wall.jpg"), content


def in_store(photo) -> bytes:
    with storages["photos"].open(photo.original.storage_name) as stored:
        return stored.read()


def body(answer):
    return b"".join(answer.streaming_content)


def waiting_files() -> list[str]:
    return list(spool.names())


def test_people_wait_seconds_and_pages_less():
    assert object_store.WAITS[Patience.PERSON][:2] == (2, 10)
    assert object_store.WAITS[Patience.WORKER][:2] == (2, 10)
    connect, read, attempts = object_store.WAITS[Patience.PAGE]
    assert connect < 2
    assert read < 2
    assert attempts == 1
    assert current() is Patience.PERSON
    with patience(Patience.WORKER):
        assert current() is Patience.WORKER
    assert current() is Patience.PERSON


@pytest.mark.parametrize("how", ["frozen", "refused"])
def test_a_photo_is_kept_here_shown_and_moved_when_the_store_is_back(
    how, relay, settings, applicator, site, client_for, tmp_path, django_capture_on_commit_callbacks
):
    if how == "frozen":
        relay.freeze()
    else:
        address = relay.address
        keep_in(settings, "http://127.0.0.1:9", BUCKET, own="same-place")
    client = client_for(applicator)
    content = jpeg(scene(1))
    answer = client.post(
        reverse("photos:upload", args=[site.pk]),
        {"id": str(uuid.uuid4()), "photo": SimpleUploadedFile("wall.jpg", content)},
    )
    assert answer.status_code == 200
    assert answer.json()["notes"] == [
        "The photo store does not answer: kept on the portal's machine until it does"
    ]
    photo = Photo.objects.get()
    row = SpooledOriginal.objects.get()
    assert (row.original_id, row.machine) == (photo.original_id, spool.machine())
    assert spool.path_of(photo.original.storage_name).read_bytes() == content
    assert len(waiting_files()) == 3
    small = client.get(answer.json()["small"])
    assert (small.status_code, body(small)[:3]) == (200, b"\xff\xd8\xff")
    assert body(client.get(reverse("photos:original", args=[photo.pk]))) == content
    page = client.get(reverse("photos:detail", args=[photo.pk])).content.decode()
    assert "On the portal's own machine since" in page
    assert verified().first_break == ""
    assert export_site(site, tmp_path / "out.zip").missing == []

    assert moving.move_waiting() == moving.Moved(moved=0, left=3, is_silent=True)
    assert SpooledOriginal.objects.exists()

    if how == "frozen":
        back_again(relay)
    else:
        keep_in(settings, address, BUCKET, own="same-place")
    catch_up()
    assert in_store(photo) == content
    assert not SpooledOriginal.objects.exists()
    assert waiting_files() == []
    page = client.get(reverse("photos:detail", args=[photo.pk])).content.decode()
    assert "On this machine only" not in page
    assert client.get(answer.json()["small"]).status_code == 200
    assert verified().photos == 1
    assert tidying.look(older_than_seconds=-5) == tidying.Untidy()


def test_a_file_that_waits_here_is_there(relay, applicator, site):
    relay.freeze()
    photo, _ = take(applicator, site)
    assert store.exists(photo.original.storage_name)


def test_bytes_that_come_back_while_the_store_is_silent_are_kept_here(
    relay, applicator, site, django_capture_on_commit_callbacks
):
    photo, content = take(applicator, site)
    with intake.staged(io.BytesIO(content)) as stage:
        with django_capture_on_commit_callbacks(execute=True):
            remove_photo(applicator, photo, "Sent by mistake.")
        relay.freeze()
        again, _ = intake.keep(stage, site=site, uploaded_by=applicator)
    assert SpooledOriginal.objects.get().original_id == again.original_id
    assert spool.path_of(again.original.storage_name).read_bytes() == content


class CutOffError(BaseException):
    """The process ends here, as if it was killed."""


@pytest.mark.parametrize(
    "step",
    [
        "readiness.photos.store.put",
        "readiness.photos.moving._require",
        "readiness.models.SpooledOriginal.objects.filter",
        "readiness.photos.spool.drop",
    ],
)
def test_a_move_that_is_cut_off_at_any_step_is_finished_next_time(
    step, relay, applicator, site, monkeypatch
):
    relay.freeze()
    photo, content = take(applicator, site)
    back_again(relay)

    def cut_off(*_args, **_kwargs):
        raise CutOffError

    monkeypatch.setattr(moving, "is_there_work", lambda: True)
    with monkeypatch.context() as patch:
        patch.setattr(step, cut_off)
        with pytest.raises(CutOffError):
            moving.move_waiting()
    with store.open_file(photo.original.storage_name) as read:
        assert read.read() == content
    moving.move_waiting()
    assert in_store(photo) == content
    assert not SpooledOriginal.objects.exists()
    assert waiting_files() == []


def test_a_row_whose_file_was_moved_already_is_settled(relay, applicator, site):
    photo, content = take(applicator, site)
    SpooledOriginal.objects.create(original=photo.original, machine=spool.machine())
    moving.move_waiting()
    assert not SpooledOriginal.objects.exists()
    assert in_store(photo) == content


def test_a_row_whose_file_is_nowhere_is_not_settled_but_lost(relay, applicator, site):
    relay.freeze()
    photo, _ = take(applicator, site)
    back_again(relay)
    spool.drop(photo.original.storage_name)
    moving.move_waiting()
    assert SpooledOriginal.objects.exists()
    assert "is missing or was changed" in verified().first_break
    assert tidying.look().lost == [photo.original_id]


def test_a_file_that_was_damaged_here_is_never_moved(relay, applicator, site):
    relay.freeze()
    photo, content = take(applicator, site)
    back_again(relay)
    path = spool.path_of(photo.original.storage_name)
    path.write_bytes(content[:-1] + b"x")
    assert moving.move_waiting().left == 1
    assert SpooledOriginal.objects.exists()
    assert not storages["photos"].exists(photo.original.storage_name)
    assert "is missing or was changed" in verified().first_break


def test_a_store_that_gives_other_bytes_back_does_not_get_the_photo_for_good(
    relay, applicator, site, monkeypatch
):
    relay.freeze()
    photo, content = take(applicator, site)
    back_again(relay)
    monkeypatch.setattr(
        object_store.ObjectStore, "_open", lambda self, name, mode: io.BytesIO(b"something else")
    )
    assert moving.move_waiting().left == 1
    assert SpooledOriginal.objects.exists()
    assert spool.path_of(photo.original.storage_name).read_bytes() == content


def test_a_photo_deleted_while_it_waits_goes_for_good(
    relay, applicator, site, django_capture_on_commit_callbacks
):
    relay.freeze()
    photo, _ = take(applicator, site)
    back_again(relay)
    with django_capture_on_commit_callbacks(execute=True):
        remove_photo(applicator, photo, "Sent by mistake.")
    assert waiting_files() == []
    moving.move_waiting()
    assert not SpooledOriginal.objects.exists()
    assert list(store.walk("originals")) == list(store.walk("sizes")) == []


def test_a_photo_deleted_while_the_store_is_silent_goes_once_it_answers(
    relay, applicator, site, monkeypatch, django_capture_on_commit_callbacks
):
    photo, _ = take(applicator, site)
    relay.freeze()
    with django_capture_on_commit_callbacks(execute=True):
        remove_photo(applicator, photo, "Somebody's face.")
    back_again(relay)
    assert list(store.walk("originals"))
    assert delete_left_bytes() == 0, "it may have been sent again just now"
    monkeypatch.setattr("readiness.actions.photos.keeping.JUST_WRITTEN_SECONDS", -9)
    monkeypatch.setattr(sweeping, "_PARTS", (sweeping._deleted_photos,))
    sweeping.sweep()
    assert list(store.walk("originals")) == list(store.walk("sizes")) == []


def test_a_photo_deleted_while_it_is_moved_is_not_left_in_the_store(
    relay, applicator, site, monkeypatch
):
    relay.freeze()
    photo, _ = take(applicator, site)
    back_again(relay)
    put = store.put

    def put_and_delete(source, name, **options):
        put(source, name, **options)
        Original.objects.filter(pk=photo.original_id).update(deleted_at=clock.now())

    monkeypatch.setattr(store, "put", put_and_delete)
    moving.move_waiting()
    assert not SpooledOriginal.objects.exists()
    assert waiting_files() == []
    assert list(store.walk("originals")) == list(store.walk("sizes")) == []


def test_a_photo_that_is_kept_here_leaves_no_file_or_folder_open(tmp_path):
    (tmp_path / "file").write_bytes(b"bytes")
    before = os.listdir("/proc/self/fd")
    spool.keep(tmp_path / "file", "originals/ab/abcd.jpg")
    assert os.listdir("/proc/self/fd") == before


def test_an_upload_that_never_got_its_row_waits_a_day_and_goes(relay, monkeypatch, tmp_path):
    (tmp_path / "file").write_bytes(b"bytes")
    name = f"originals/aa/bb/{'a' * 64}"
    spool.keep(tmp_path / "file", name)
    assert moving.move_waiting() == moving.Moved(moved=0, left=1)
    monkeypatch.setattr(moving, "NO_ROW_SECONDS", -1)
    half = spool.path_of(name).with_name(f"{spool.HALF_WRITTEN}abc")
    half.write_bytes(b"half")
    moving.move_waiting()
    assert waiting_files() == []
    assert not half.exists()


def test_a_worker_with_many_photos_to_move_does_other_things_in_between(
    relay, applicator, site, monkeypatch
):
    relay.freeze()
    take(applicator, site)
    back_again(relay)
    monkeypatch.setattr(moving, "AT_A_TIME_SECONDS", 0)
    monkeypatch.setattr(moving, "_not_before", 0.0)
    goes = [moving.move_when_due() for _ in range(3)]
    assert [(done.moved, done.left) for done in goes] == [(1, 2), (1, 1), (1, 0)]
    assert waiting_files() == []


def test_only_one_process_of_a_machine_moves(relay, applicator, site):
    relay.freeze()
    take(applicator, site)
    back_again(relay)
    with spool.alone() as alone:
        assert alone
        assert moving.move_waiting() == moving.Moved()
    assert moving.move_waiting().moved == 3


def test_the_command_says_what_it_moved(relay, applicator, site, capsys):
    relay.freeze()
    take(applicator, site)
    back_again(relay)
    call_command("move_photos")
    assert capsys.readouterr().out == "3 files moved, 0 stay here for now.\n"


def test_a_photo_known_to_be_in_the_store_is_not_said_to_wait(relay, applicator, site):
    photo, content = take(applicator, site)
    relay.freeze()
    add_photo(applicator, site, io.BytesIO(content), filename="again.jpg")
    assert not SpooledOriginal.objects.exists()
    back_again(relay)
    moving.move_waiting()
    assert waiting_files() == []
    assert in_store(photo) == content


def test_a_full_disk_here_while_the_store_is_silent_refuses_the_photo(
    relay, applicator, site, client_for, monkeypatch
):
    relay.freeze()

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("readiness.photos.spool.shutil.copyfileobj", full)
    answer = client_for(applicator).post(
        reverse("photos:upload", args=[site.pk]),
        {"id": str(uuid.uuid4()), "photo": SimpleUploadedFile("wall.jpg", jpeg())},
    )
    assert answer.status_code == 507
    assert not Photo.objects.exists()


# --- showing pictures -------------------------------------------------------------------------


def small_of(client, photo):
    return client.get(reverse("photos:size", args=[photo.pk, "small"]))


@pytest.mark.parametrize("how", ["frozen", "refused"])
def test_a_picture_that_is_not_reachable_has_a_stand_in_and_is_asked_for_again(
    how, relay, settings, applicator, site, client_for
):
    photo, _ = take(applicator, site)
    client = client_for(applicator)
    assert small_of(client, photo).status_code == 200
    if how == "frozen":
        relay.freeze()
    else:
        keep_in(settings, "http://127.0.0.1:9", BUCKET)
    answer = small_of(client, photo)
    assert answer.status_code == 503
    assert answer["Content-Type"] == "image/svg+xml"
    assert b"Picture not reachable" in answer.content
    assert answer["Cache-Control"] == "no-store"
    assert int(answer["Retry-After"]) > 0
    assert "ETag" not in answer
    to_measure = client.get(reverse("photos:size", args=[photo.pk, "clean"]) + "?marks")
    assert (to_measure.status_code, to_measure.content) == (503, b"")
    assert Original.objects.get().sizes_error == ""
    if how == "frozen":
        back_again(relay)
        assert small_of(client, photo).status_code == 200


def test_a_silent_store_is_asked_once_and_not_for_each_picture(relay, applicator, site, client_for):
    photo, _ = take(applicator, site)
    client = client_for(applicator)
    relay.freeze()
    relay.taken = 0
    for _ in range(20):
        assert small_of(client, photo).status_code == 503
    assert relay.taken == 1


def test_after_a_pause_one_asks_for_all(monkeypatch):
    now = [1000.0]
    monkeypatch.setattr(object_store.time, "monotonic", lambda: now[0])
    breaker = object_store.Breaker()
    assert breaker.let_through()
    breaker.failed()
    assert not breaker.let_through()
    now[0] += object_store.HOLD_SECONDS + 1
    assert [breaker.let_through() for _ in range(3)] == [True, False, False]
    breaker.failed()
    now[0] += object_store.HOLD_SECONDS + 1
    assert not breaker.let_through(), "a second failure doubles the pause"
    now[0] += object_store.HOLD_SECONDS
    assert breaker.let_through()
    breaker.worked()
    assert [breaker.let_through() for _ in range(3)] == [True, True, True]


def test_background_work_asks_a_store_that_others_have_given_up_on(relay, applicator, site):
    photo, content = take(applicator, site)
    for breaker in object_store.BREAKERS.values():
        breaker.failed()
    with pytest.raises(store.StoreUnreachable):
        in_store(photo)
    with patience(Patience.WORKER):
        assert in_store(photo) == content
    assert in_store(photo) == content


def test_a_refusal_of_a_store_that_is_there_does_not_close_the_way(relay, applicator, site):
    photo, content = take(applicator, site)
    with pytest.raises(FileNotFoundError):
        store.open_file("originals/no/such/file")
    assert in_store(photo) == content


def test_a_photo_on_another_machine_is_not_reachable_but_not_lost(
    relay, applicator, site, client_for
):
    photo, _ = take(applicator, site)
    SpooledOriginal.objects.create(original=photo.original, machine="another")
    store.delete(photo.original.storage_name)
    sizes.drop_sizes(photo.original)
    client = client_for(applicator)
    assert small_of(client, photo).status_code == 503
    assert Original.objects.get().sizes_error == ""
    checked = verified()
    assert (checked.first_break, checked.photos, checked.elsewhere) == ("", 0, 1)
    assert tidying.look().lost == []
    moving.move_waiting()
    assert SpooledOriginal.objects.exists()


def test_an_original_or_paper_of_a_silent_store_is_said_to_be_away(
    relay, applicator, site, client_for
):
    photo, _ = take(applicator, site)
    paper = Paper.objects.create(
        site=site, kind=Paper.Kind.GUIDE, state=Paper.State.MADE, storage_name="ab/cd.pdf",
        digest="c" * 64, byte_size=9, pages=1, requested_at=clock.now(), made_at=clock.now(),
    )  # fmt: skip
    relay.freeze()
    client = client_for(applicator)
    client.raise_request_exception = False
    for address in (
        reverse("photos:original", args=[photo.pk]),
        reverse("papers:paper", args=[paper.pk]),
    ):
        answer = client.get(address)
        assert answer.status_code == 503
        assert "Files not reachable just now" in answer.content.decode()


def test_the_office_sees_what_is_still_to_be_moved(relay, applicator, site, client_for):
    page = client_for(applicator).get(reverse("office:status")).content.decode()
    assert "on one machine only" not in page
    relay.freeze()
    take(applicator, site)
    SpooledOriginal.objects.update(since=clock.now() - timedelta(minutes=11))
    page = client_for(applicator).get(reverse("office:status")).content.decode()
    assert "1 photo on one machine only, to move to the store, the oldest since" in page


def test_what_waits_is_named_by_the_digest_of_its_bytes(relay, applicator, site):
    relay.freeze()
    photo, content = take(applicator, site)
    path = Path(spool.path_of(photo.original.storage_name))
    assert path.name == hashlib.sha256(content).hexdigest()
    assert clock.now() - SpooledOriginal.objects.get().since < timedelta(minutes=5)
