"""Photos and papers in a bucket: the whole way through, on an S3 server in this process."""

import hashlib
import io
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.urls import reverse

from portal import checks, object_store
from readiness.actions.photos.keeping import add_photo, remove_photo, save_markup
from readiness.actions.reporting.attaching import attach_photos
from readiness.actions.reporting.drafts import check_run
from readiness.actions.reporting.issuing import issue_report
from readiness.handover.export import export_site
from readiness.handover.verify import verify_export
from readiness.models import Paper
from readiness.photos import sizes, store, tidying
from tests.factories import make_draft, make_item
from tests.photos.pictures import jpeg, scene
from tests.recorded import verified

moto = pytest.importorskip("moto.server", reason="moto is not installed (the test extra has it).")
boto3 = pytest.importorskip("boto3", reason="boto3 is not installed (the test extra has it).")

BUCKET = "kept-things"

NOBODY = "http://127.0.0.1:9"
"""Where no store answers."""

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def server():
    """The address of an S3 server on this machine, with one bucket."""
    thread = moto.ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    thread.start()
    address = "http://{}:{}".format(*thread.get_host_and_port())
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("AWS_ACCESS_KEY_ID", "a-key")
        patch.setenv("AWS_SECRET_ACCESS_KEY", "its-secret")
        patch.setenv("AWS_DEFAULT_REGION", "us-east-1")
        boto3.client("s3", endpoint_url=address).create_bucket(Bucket=BUCKET)
        yield address
    thread.stop()


@pytest.fixture(autouse=True)
def _nothing_remembered():
    """No test knows of a store that was silent in another."""
    object_store.BREAKERS.clear()


def use(settings, endpoint, bucket=BUCKET):
    """Keep photos and papers there, apart from those of any other test."""
    own = uuid.uuid4().hex
    stores = {
        name: {
            "BACKEND": "portal.object_store.ObjectStore",
            "OPTIONS": {
                "bucket_name": bucket,
                "location": f"{own}/{name}",
                "endpoint_url": endpoint,
            },
        }
        for name in ("photos", "papers")
    }
    settings.STORAGES = settings.STORAGES | stores


@pytest.fixture
def bucket(server, settings):
    use(settings, server)


def names(folder):
    return sorted(store.walk(folder))


def body(answer):
    return b"".join(answer.streaming_content)


def test_a_photo_goes_in_is_shown_and_goes_for_good(
    bucket, applicator, site, client_for, django_capture_on_commit_callbacks
):
    content = jpeg(scene(1))
    photo = add_photo(applicator, site, io.BytesIO(content))
    digest = hashlib.sha256(content).hexdigest()
    assert [Path(name).name for name in names("originals")] == [digest]
    assert len(names("sizes")) == 2
    client, original = client_for(applicator), reverse("photos:original", args=[photo.pk])
    answer = client.get(original)
    assert body(answer) == content
    assert answer["Content-Length"] == str(len(content))
    small = client.get(reverse("photos:size", args=[photo.pk, "small"]))
    assert body(small).startswith(b"\xff\xd8\xff")
    assert small["Content-Type"] == "image/jpeg"
    with django_capture_on_commit_callbacks(execute=True):
        remove_photo(applicator, photo, "Sent by mistake.")
    assert names("originals") == names("sizes") == []
    assert client.get(original).status_code == 404


def test_blur_is_burned_into_sizes_of_their_own(bucket, applicator, site):
    photo = add_photo(applicator, site, io.BytesIO(jpeg(scene(2))))
    save_markup(applicator, photo, [{"kind": "blur", "box": [0, 0, 1, 1]}], seen_version=0)
    blurred, clean = sizes.open_size(photo, "large"), sizes.open_size(photo, "large", clean=True)
    assert blurred.read() != clean.read()
    assert len(names("sizes")) == 4


def test_a_paper_is_made_downloaded_and_handed_over(
    bucket, applicator, site, client_for, tmp_path, django_capture_on_commit_callbacks
):
    photo = add_photo(applicator, site, io.BytesIO(jpeg(scene(3))))
    draft = make_draft(applicator, site)
    for run in site.wall_runs.all():
        check_run(applicator, draft, run)
    item = make_item(applicator, draft, run=run, photo=False)
    attach_photos(applicator, item, [photo])
    with django_capture_on_commit_callbacks(execute=True):
        issue_report(applicator, draft)
    paper = Paper.objects.filter(site=site).made().first()
    answer = client_for(applicator).get(reverse("papers:paper", args=[paper.pk]))
    assert hashlib.sha256(body(answer)).hexdigest() == paper.digest
    assert answer["Content-Length"] == str(paper.byte_size)
    checked = verified()
    assert checked.first_break == ""
    assert (checked.photos, checked.papers) == (1, site.papers.count())
    assert export_site(site, tmp_path / "out.zip").missing == []
    assert verify_export(tmp_path / "out.zip").photos == 1


def test_the_same_file_again_is_the_same_object_with_the_time_of_now(bucket, tmp_path):
    """A sweep of old files that no row knows must not take what was sent again just now."""
    (tmp_path / "file").write_bytes(b"the same")
    photos = storages["photos"]
    store.put(tmp_path / "file", "originals/aa/bb/c")
    before = photos.get_modified_time("originals/aa/bb/c")
    time.sleep(1.1)  # the store tells whole seconds
    store.put(tmp_path / "file", "originals/aa/bb/c")
    assert names("originals") == ["originals/aa/bb/c"]
    assert photos.get_modified_time("originals/aa/bb/c") > before
    assert photos.size("originals/aa/bb/c") == 8


def test_many_uploads_of_one_file_at_once_are_one_object(bucket, tmp_path):
    (tmp_path / "file").write_bytes(b"the same")
    with ThreadPoolExecutor(6) as pool:
        done = [pool.submit(store.put, tmp_path / "file", "originals/aa/bb/c") for _ in range(12)]
        assert [one.result() for one in done] == [None] * 12
    assert names("originals") == ["originals/aa/bb/c"]


def test_the_sweep_finds_what_no_row_knows_and_what_is_lost(bucket, applicator, site):
    kept = add_photo(applicator, site, io.BytesIO(jpeg(scene(4)))).original
    storages["photos"].save("originals/aa/bb/" + "a" * 64, ContentFile(b"of nobody"))
    found = tidying.look(older_than_seconds=-5)
    assert (found.orphans, found.lost) == (["originals/aa/bb/" + "a" * 64], [])
    tidying.delete(found.orphans)
    store.delete(kept.storage_name)
    assert tidying.look(older_than_seconds=-5).lost == [kept.digest]


def test_what_is_not_there_is_not_found(bucket):
    with pytest.raises(FileNotFoundError):
        store.open_file("originals/no/such/file")
    assert not store.exists("originals/no/such/file")
    store.delete("originals/no/such/file")


def test_a_store_that_is_silent_is_no_sign_of_a_change(bucket, settings, applicator, site):
    add_photo(applicator, site, io.BytesIO(jpeg(scene(6))))
    assert verified().first_break == ""
    use(settings, NOBODY)
    said = verified().first_break
    assert "its photos and papers can't be read now (The object store failed: " in said
    assert "changed" not in said


def test_the_deploy_check_names_a_bucket_that_does_not_answer(bucket, settings, server):
    assert checks.check_bucket_answers(None) == []
    use(settings, server, bucket="of-somebody-else")
    (error,) = checks.check_bucket_answers(None)
    assert "NoSuchBucket" in error.msg
    assert "READINESS_S3_BUCKET" in error.hint


def test_photos_in_a_folder_need_no_bucket(monkeypatch):
    monkeypatch.setattr(checks.importlib.util, "find_spec", lambda name: None)
    assert checks.check_object_storage(None) == checks.check_bucket_answers(None) == []


def test_a_bucket_without_its_packages_names_them(bucket, monkeypatch):
    monkeypatch.setattr(checks.importlib.util, "find_spec", lambda name: None)
    (error,) = checks.check_object_storage(None)
    assert "[s3]" in error.hint
    assert checks.check_bucket_answers(None) == []
