"""What passes by itself is no fault: 503 with Retry-After, 507 for a full disk, in words."""

import errno
import sqlite3
import uuid
from contextlib import contextmanager

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import InterfaceError, OperationalError, connection
from django.test import Client, RequestFactory
from django.urls import reverse

from portal.requests import trouble
from readiness import disk
from readiness.models import Original, Photo, Site
from readiness.photos import store
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db

SCRIPT = {"X-Answer": "address"}


@pytest.fixture
def browser(applicator):
    """The applicator's browser; what breaks is answered, as in use, and not raised."""
    client = Client(raise_request_exception=False)
    client.force_login(applicator)
    return client


def failing(error):
    def fail(*_args, **_kwargs):
        raise error

    return fail


def caused(error: Exception, cause: Exception) -> Exception:
    error.__cause__ = cause
    return error


def sqlite_error(code: int, words: str) -> OperationalError:
    cause = sqlite3.OperationalError(words)
    cause.sqlite_errorcode = code
    return caused(OperationalError(words), cause)


LOCKED = sqlite_error(sqlite3.SQLITE_BUSY, "database is locked")
GONE = OperationalError("connection to server failed: Connection refused")
SILENT = store.StoreUnreachable("The object store failed: timeout")
NO_ROOM = OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize(
    ("error", "status", "title"),
    [
        (LOCKED, 503, "Not available just now"),
        (GONE, 503, "Not available just now"),
        (InterfaceError("connection already closed"), 503, "Not available just now"),
        (SILENT, 503, "Files not reachable just now"),
        (caused(store.StoreError("x"), OSError("x")), 503, "Files not reachable just now"),
        (caused(store.StoreError("x"), NO_ROOM), 507, "disk is full"),
        (NO_ROOM, 507, "disk is full"),
        (OSError(errno.EDQUOT, "Disk quota exceeded"), 507, "disk is full"),
        (sqlite_error(sqlite3.SQLITE_FULL, "database or disk is full"), 507, "disk is full"),
    ],
)
def test_each_passing_trouble_has_its_status_and_words(error, status, title, browser, monkeypatch):
    monkeypatch.setattr("portal.views.render", failing(error))
    page = browser.get(reverse("cautions"))
    assert page.status_code == status
    assert title in page.content.decode()
    assert "Try again" in page.content.decode()
    seconds = {"Not available": 10, "Files not": 15, "disk is full": 300}
    assert int(page["Retry-After"]) == next(seconds[part] for part in seconds if part in title)
    assert page["Cache-Control"] == "no-store"
    asked = browser.get(reverse("cautions"), headers={"Accept": "application/json, */*"})
    assert title in asked.json()["error"]
    answer = browser.get(reverse("cautions"), headers=SCRIPT)
    assert (answer.status_code, answer["Retry-After"]) == (status, page["Retry-After"])
    assert title in answer.json()["error"]


@pytest.mark.parametrize(
    "error",
    [
        ValueError("a fault of ours"),
        sqlite_error(sqlite3.SQLITE_ERROR, "no such table: readiness_site"),
        OSError(errno.EACCES, "Permission denied"),
    ],
)
def test_a_fault_of_ours_stays_one(error, browser, monkeypatch):
    monkeypatch.setattr("portal.views.render", failing(error))
    page = browser.get(reverse("cautions"))
    assert page.status_code == 500
    assert "Something went wrong on our side" in page.content.decode()


@pytest.mark.parametrize(
    ("code", "passes"),
    [
        (sqlite3.SQLITE_BUSY, True),
        (sqlite3.SQLITE_BUSY_SNAPSHOT, True),  # an extended code: the low byte is the primary one
        (sqlite3.SQLITE_LOCKED, True),
        (sqlite3.SQLITE_IOERR, True),
        (sqlite3.SQLITE_CANTOPEN, True),
        (sqlite3.SQLITE_PROTOCOL, True),
        (sqlite3.SQLITE_ERROR, False),
        (sqlite3.SQLITE_NOMEM, False),
        (sqlite3.SQLITE_CORRUPT, False),
        (sqlite3.SQLITE_EMPTY, False),
    ],
)
def test_which_errors_of_sqlite_pass_by_themselves(code, passes):
    assert trouble.of(sqlite_error(code, "x")) == (trouble.DATABASE if passes else None)


def test_a_database_that_is_gone_before_the_view_is_answered_alike(browser, monkeypatch):
    """The session is read by a middleware: what breaks there never comes to a view."""
    monkeypatch.setattr("django.contrib.sessions.backends.db.SessionStore.load", failing(GONE))
    assert browser.get(reverse("cautions")).status_code == 503
    assert browser.get(reverse("cautions"), headers=SCRIPT).status_code == 503


def test_nobody_is_emailed_about_each_page_of_an_outage(browser, monkeypatch, caplog):
    monkeypatch.setattr("portal.views.render", failing(GONE))
    browser.get(reverse("cautions"))
    assert {record.levelname for record in caplog.records} == {"WARNING"}


@contextmanager
def full_database():
    """SQLite that may take no more pages: its own error, as on a full disk."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA page_count")
        pages = cursor.fetchone()[0]
        cursor.execute(f"PRAGMA max_page_count = {pages}")
        try:
            yield
        finally:
            cursor.execute("PRAGMA max_page_count = 1073741823")


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own limit of pages.")
def test_a_full_database_refuses_a_form_in_words_and_keeps_what_was_there(browser, builder):
    address = f"{reverse('office:site_new')}?builder={builder.pk}"
    form = {
        "street": "4 Wattlebird Loop",
        "suburb": "Quillan Vale",
        "state": "VIC",
        "postcode": "3999",
        "datum": "Top of slab",
        "site_id": str(uuid.uuid4()),
        "access_notes": "x" * 1000,
    }
    with full_database():
        for number in range(200):  # until the free room inside the pages is used up
            answer = browser.post(address, {**form, "job_number": f"J-{number}"}, headers=SCRIPT)
            if answer.status_code == 507:
                break
            form["site_id"] = str(uuid.uuid4())
        assert answer.status_code == 507
        assert "disk is full" in answer.json()["error"]
        page = browser.post(address, form)
        assert page.status_code == 507
        assert "Go back: what you typed is still on your page." in page.content.decode()
    kept = Site.objects.count()
    assert browser.post(address, form).status_code == 302
    assert Site.objects.count() == kept + 1


def send(browser, site):
    body = {"id": str(uuid.uuid4()), "photo": SimpleUploadedFile("wall.jpg", jpeg())}
    return browser.post(reverse("photos:upload", args=[site.pk]), body)


def test_a_photo_for_which_there_is_no_room_is_refused_in_words(browser, site, monkeypatch):
    """Its bytes go to /dev/full, which refuses as a full disk does (full(4))."""

    @contextmanager
    def workspace():
        with real_workspace() as folder:
            (folder / "original").symlink_to("/dev/full")
            yield folder

    real_workspace = store.workspace
    monkeypatch.setattr(store, "workspace", workspace)
    answer = send(browser, site)
    assert answer.status_code == 507
    assert int(answer["Retry-After"]) > 0
    assert answer.json()["error"] == (
        "“wall.jpg” could not be stored: the portal's disk is full. Keep the photo, tell the "
        "office, and send it again when there is room."
    )
    assert not Photo.objects.exists()
    assert not Original.objects.exists()
    monkeypatch.setattr(store, "workspace", real_workspace)
    assert send(browser, site).status_code == 200


def test_no_room_for_what_arrives_is_said_too(browser, site, monkeypatch):
    monkeypatch.setattr(
        "portal.photos.uploads.LimitedUploadHandler.receive_data_chunk", failing(NO_ROOM)
    )
    assert send(browser, site).status_code == 507


def test_no_room_in_the_place_of_the_photo_leaves_nothing_behind(
    browser, site, monkeypatch, tmp_path
):
    monkeypatch.setattr("os.link", failing(NO_ROOM))
    monkeypatch.setattr("shutil.copyfile", failing(NO_ROOM))
    assert send(browser, site).status_code == 507
    assert [path for path in (tmp_path / "photos").rglob("*") if path.is_file()] == []


def test_a_full_disk_is_found_behind_what_it_led_to():
    assert disk.is_full(caused(RuntimeError("x"), caused(ValueError("y"), NO_ROOM)))
    assert not disk.is_full(caused(RuntimeError("x"), ValueError("y")))
    assert not disk.is_full(None)

    class DiskFull(Exception):
        sqlstate = "53100"

    assert disk.is_full(caused(OperationalError("could not extend file"), DiskFull()))


def test_a_refused_photo_in_a_plain_form_comes_back_with_its_words(browser, site, monkeypatch):
    monkeypatch.setattr("readiness.photos.decoder.WAIT_SECONDS", 0)
    monkeypatch.setattr("readiness.photos.slots.slot_count", lambda: 0)
    answer = send(browser, site)
    assert answer.status_code == 503
    assert "has to wait" in answer.json()["error"]


def test_the_words_need_no_page_around_them():
    request = RequestFactory().post("/somewhere/")
    page = trouble.answer(request, trouble.FULL).content.decode()
    assert "when there is space" in page
