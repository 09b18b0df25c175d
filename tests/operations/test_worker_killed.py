"""A worker is killed without warning, again and again, at random: nothing is lost or doubled."""

import hashlib
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from contextlib import closing
from pathlib import Path

import pytest

from tests import migrated
from tests.messages.smtp_server import MailServer
from tests.operations import crowd

PROJECT = Path(__file__).resolve().parents[2]
LONGEST_SECONDS = 300


@pytest.fixture
def mail_server():
    server = MailServer()
    server.slowness = 0.1
    yield server
    server.close()


@pytest.fixture
def environment(tmp_path, mail_server):
    """Of an installation of its own, on SQLite, with work that waits."""
    own = {
        "READINESS_DEMO": "1",
        "READINESS_DATA": str(tmp_path / "installation"),
        "READINESS_TASKS": "database",
        "EMAIL_URL": f"smtp://127.0.0.1:{mail_server.port}",
        "DATABASE_URL": "",
    }
    environment = {**os.environ, **own}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    migrated.copy_to(tmp_path / "installation" / "db.sqlite3")
    run(environment, "-m", "tests.operations.crowd")
    return environment


def run(environment, *arguments) -> str:
    done = subprocess.run(
        [sys.executable, *arguments], env=environment, cwd=PROJECT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-4000:]
    return done.stdout


def start_worker(environment, log) -> subprocess.Popen:
    """Returns once it works."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.operations.hasty_worker"],
        env=environment, cwd=PROJECT, stdout=subprocess.PIPE, stderr=log, text=True,
    )  # fmt: skip
    assert "Working as" in process.stdout.readline()
    return process


class Database:
    """Looks into the installation's database from outside."""

    def __init__(self, folder: Path):
        self.path = folder / "db.sqlite3"

    def rows(self, query: str) -> list[tuple]:
        with closing(sqlite3.connect(self.path, timeout=20)) as connection:
            return connection.execute(query).fetchall()

    def left(self) -> int:
        messages = "SELECT count(*) FROM readiness_message WHERE state NOT IN ('sent', 'given_up')"
        papers = "SELECT count(*) FROM readiness_paper WHERE state NOT IN ('made', 'failed')"
        return self.rows(messages)[0][0] + self.rows(papers)[0][0]


KILLS = 20


@pytest.mark.long  # what the kills hold up is waited for
def test_a_worker_killed_at_random_loses_nothing(environment, mail_server, tmp_path):
    chance, database = random.Random(KILLS), Database(Path(environment["READINESS_DATA"]))
    with (tmp_path / "log").open("ab") as log:
        for _ in range(KILLS):
            worker = start_worker(environment, log)
            time.sleep(chance.uniform(0, 3))
            worker.send_signal(signal.SIGKILL)
            worker.wait()
        left = database.left()
        worker = start_worker(environment, log)
        until = time.monotonic() + LONGEST_SECONDS
        while database.left():
            assert time.monotonic() < until, (tmp_path / "log").read_text()[-4000:]
            time.sleep(0.5)
        while len(database.rows(HEARTBEATS)) > 1:  # those of the dead go when their lease is over
            assert time.monotonic() < until, (tmp_path / "log").read_text()[-4000:]
            time.sleep(0.5)
        worker.send_signal(signal.SIGTERM)
        assert worker.wait(300) == 0
    said = f"{KILLS} kills, {left} things left after them"
    _nothing_is_lost_or_doubled(database, mail_server, KILLS, said)
    stored = Path(environment["READINESS_DATA"]) / "papers"
    for name, digest in database.rows("SELECT storage_name, digest FROM readiness_paper"):
        assert hashlib.sha256((stored / name).read_bytes()).hexdigest() == digest


HEARTBEATS = "SELECT name FROM readiness_lastdone WHERE name LIKE 'worker/%'"


def _nothing_is_lost_or_doubled(database: Database, mail_server, kills: int, said: str) -> None:
    messages = database.rows("SELECT id, state, unsure FROM readiness_message")
    assert len(messages) == crowd.REPORTS + crowd.INVITATIONS
    delivered = Counter(number[1:].partition("@")[0].replace("-", "") for number in mail_server.ids)
    for pk, state, unsure in messages:
        assert state == "sent", said
        assert 1 <= delivered[pk] <= 1 + unsure, said
    assert sum(delivered.values()) - len(messages) <= kills, said
    papers = database.rows("SELECT state FROM readiness_paper")
    assert papers == [("made",)] * 3 * crowd.REPORTS, said
    entries = database.rows("SELECT count(*) FROM readiness_recordentry WHERE verb = 'paper_made'")
    assert entries == [(len(papers),)], said
    running = "SELECT count(*) FROM django_tasks_database_dbtaskresult WHERE status = 'RUNNING'"
    assert database.rows(running) == [(0,)]
    assert not database.rows(HEARTBEATS)
