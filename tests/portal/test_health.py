"""What machines ask: is it alive, can it work? Answers name nothing an outsider could use."""

import socket
import threading
from datetime import timedelta

import pytest
from django.db import OperationalError, connection

from portal import health as views
from readiness import clock
from readiness.models import LastDone
from readiness.operations import health

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _asked_anew():
    views.kept.forget()
    yield
    views.kept.forget()


def ready(client):
    views.kept.forget()
    answer = client.get("/readyz")
    lines = dict(line.split(": ", 1) for line in answer.content.decode().splitlines())
    return answer.status_code, lines


def test_a_process_that_answers_is_alive_whatever_else_is_gone(client, monkeypatch):
    monkeypatch.setattr(connection, "cursor", _gone)
    answer = client.get("/healthz")
    assert (answer.status_code, answer.content) == (200, b"ok\n")
    assert "no-cache" in answer["Cache-Control"]


def test_ready_needs_a_worker_that_was_heard_of_lately(client):
    assert ready(client) == (
        503,
        {"database": "ok", "store": "ok", "worker": "no background worker is running"},
    )
    LastDone.note("worker/here/1")
    assert ready(client) == (200, {"database": "ok", "store": "ok", "worker": "ok"})
    with clock.at(clock.now() + timedelta(minutes=4)):
        status, lines = ready(client)
    assert (status, lines["worker"]) == (503, "the background worker has stopped")


def test_one_living_worker_is_enough(client):
    with clock.at(clock.now() - timedelta(days=1)):
        LastDone.note("worker/there/7")
    LastDone.note("worker/here/1")
    assert ready(client)[0] == 200


def _gone(*args, **kwargs):
    raise OperationalError("connection to server at db.example, port 5432 failed: password")


def test_a_database_that_is_gone_is_said_without_its_error_text(client, monkeypatch):
    monkeypatch.setattr(connection, "cursor", _gone)
    status, lines = ready(client)
    assert status == 503
    assert lines["database"] == lines["worker"] == "does not answer"
    assert "db.example" not in str(lines)


def test_a_database_that_has_just_gone_is_said_at_once(client, monkeypatch):
    LastDone.note("worker/here/1")
    assert ready(client)[0] == 200
    monkeypatch.setattr(connection, "cursor", _gone)
    answer = client.get("/readyz")
    assert (answer.status_code, b"database: does not answer" in answer.content) == (503, True)


def test_a_folder_that_cannot_be_written_is_not_ready(client, settings, tmp_path):
    LastDone.note("worker/here/1")
    (tmp_path / "in-the-way").write_text("a file where a folder should be")
    stores = {name: dict(store) for name, store in settings.STORAGES.items()}
    stores["papers"]["OPTIONS"] = {"location": tmp_path / "in-the-way" / "papers"}
    settings.STORAGES = stores
    status, lines = ready(client)
    assert (status, lines["store"]) == (503, "does not answer")


def test_a_full_disk_is_not_ready(client, monkeypatch):
    LastDone.note("worker/here/1")
    monkeypatch.setattr(health, "disk", lambda: health.Disk(free_bytes=1000, total_bytes=10**9))
    status, lines = ready(client)
    assert (status, lines["store"]) == (503, "the disk is full")


def test_a_store_that_never_answers_does_not_hold_the_answer(client, settings, monkeypatch):
    monkeypatch.setattr(health, "STORE_SECONDS", 0.2)
    LastDone.note("worker/here/1")
    with socket.create_server(("127.0.0.1", 0)) as frozen:  # takes connections, never speaks
        stores = {name: dict(store) for name, store in settings.STORAGES.items()}
        for name in ("photos", "papers"):
            stores[name] = {
                "BACKEND": "portal.object_store.ObjectStore",
                "OPTIONS": {
                    "bucket_name": "kept",
                    "location": name,
                    "endpoint_url": f"http://127.0.0.1:{frozen.getsockname()[1]}",
                    "access_key": "a-key",
                    "secret_key": "its-secret",
                    "region_name": "us-east-1",
                },
            }
        settings.STORAGES = stores
        status, lines = ready(client)
    assert (status, lines["store"]) == (503, "does not answer")


def test_many_who_ask_at_once_cost_one_look(client, monkeypatch):
    asked = []
    monkeypatch.setattr(health, "readiness", lambda: asked.append(1) or [])
    threads = [threading.Thread(target=views.kept.checks) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert asked == [1]


def test_asking_sends_nobody_to_https(client, settings):
    settings.SECURE_SSL_REDIRECT = True
    assert client.get("/healthz").status_code == 200
    assert client.get("/cautions/").status_code == 301
