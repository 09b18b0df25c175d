"""The server is killed in the middle of 50 uploads; every photo arrives once, none broken."""

import http.client
import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests import migrated, warm

from .pictures import jpeg, scene

PROJECT = Path(__file__).resolve().parents[2]
PREPARE = """
import json
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from importlib import import_module
SessionStore = import_module(settings.SESSION_ENGINE).SessionStore
from django.utils import timezone
from readiness.models import Builder, BuilderContact, Site, User
user = User.objects.create_user("sam@builder.example", role="builder")
builder = Builder.objects.create(name="Builder")
BuilderContact.objects.create(user=user, builder=builder)
site = Site.objects.create(
    builder=builder, street="1 Kill Street", suburb="Mirrin Vale", state="VIC",
    created_at=timezone.now())
session = SessionStore()
session[SESSION_KEY] = str(user.pk)
session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[-1]
session[HASH_SESSION_KEY] = user.get_session_auth_hash()
session.save()
from tests.recorded import record_rows_by_hand
record_rows_by_hand()
print("READY" + json.dumps({"site": str(site.pk), "session": session.session_key}))
"""
REPORT = """
import json
from readiness.models import Photo, RecordEntry
print("READY" + json.dumps({
    "photos": [[str(p.pk), p.original_id] for p in Photo.objects.all()],
    "entries": RecordEntry.objects.filter(verb="photo_added").count()}))
"""


class Server:
    """gunicorn with two workers in a process group of its own."""

    def __init__(self, folder: Path):
        self.environment = {
            **os.environ,
            "READINESS_DEMO": "1",
            "READINESS_DATA": str(folder),
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            "PYTHONPATH": str(PROJECT),
        }
        self.environment.pop("DATABASE_URL", None)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]

    def manage(self, *arguments: str) -> str:
        done = warm.manage(*arguments, environment=self.environment)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def ask(self, script: str) -> dict:
        return json.loads(self.manage("shell", "-c", script).split("READY")[1])

    def start(self) -> None:
        command = [sys.executable, "-m", "gunicorn", "-w", "2", "--threads", "4"]
        command += ["-b", f"127.0.0.1:{self.port}", "portal.wsgi:application"]
        self.process = subprocess.Popen(
            command,
            cwd=PROJECT,
            env=self.environment,
            start_new_session=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until = time.monotonic() + 300
        while time.monotonic() < until:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.1)
        raise AssertionError("The server did not start.")

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def send(server: Server, known: dict, photo_id: uuid.UUID, content: bytes) -> dict | None:
    """One upload; None when the server went away."""
    token, border = secrets.token_hex(16), secrets.token_hex(8)
    parts = [
        f'--{border}\r\nContent-Disposition: form-data; name="id"\r\n\r\n{photo_id}\r\n'.encode(),
        f'--{border}\r\nContent-Disposition: form-data; name="photo"; filename="w.jpg"\r\n'
        f"Content-Type: image/jpeg\r\n\r\n".encode(),
        content,
        f"\r\n--{border}--\r\n".encode(),
    ]
    headers = {
        "Content-Type": f"multipart/form-data; boundary={border}",
        "Cookie": f"sessionid={known['session']}; csrftoken={token}",
        "X-CSRFToken": token,
    }
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=300)
    try:
        connection.request("POST", f"/photos/upload/{known['site']}/", b"".join(parts), headers)
        answer = connection.getresponse()
        body = answer.read()
    except (OSError, http.client.HTTPException):
        return None
    finally:
        connection.close()
    assert answer.status == 200, (answer.status, body[:300])
    return json.loads(body)


@pytest.mark.parametrize("killed_after", [8])
@pytest.mark.long  # starts, kills and starts a server
def test_a_killed_server_loses_and_doubles_nothing(killed_after, tmp_path):
    server = Server(tmp_path)
    migrated.copy_to(Path(server.environment["READINESS_DATA"]) / "db.sqlite3")
    known = server.ask(PREPARE)
    photos = {uuid.uuid4(): jpeg(scene(number, (900, 700))) for number in range(50)}
    server.start()
    try:
        with ThreadPoolExecutor(8) as senders:
            waiting = [senders.submit(send, server, known, *one) for one in photos.items()]
            while sum(one.done() for one in waiting) < killed_after:
                time.sleep(0.005)
            server.kill()
            first = [one.result() for one in waiting]
        assert 0 < sum(answer is not None for answer in first) < 50
        server.start()
        with ThreadPoolExecutor(8) as senders:
            again = list(senders.map(lambda one: send(server, known, *one), photos.items()))
    finally:
        server.kill()
    assert all(again)
    for before, after in zip(first, again, strict=True):
        assert before in (None, after)
    kept = server.ask(REPORT)
    assert {row[0] for row in kept["photos"]} == {str(photo_id) for photo_id in photos}
    assert len(kept["photos"]) == kept["entries"] == 50
    assert "50 photos" in server.manage("verify_record")
    tidied = server.manage("tidy_photos", "--hours", "0")
    left = [line for line in tidied.splitlines() if line.startswith("File without a row")]
    assert all("/photo-" in line or "incoming/" in line for line in left), left
