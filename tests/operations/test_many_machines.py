"""Several web servers and workers over one database and one bucket, while pieces are killed.

Two web servers behind nginx, three workers, PostgreSQL, an S3 server and a mail server, all real
and on this machine. People walk houses to their bookings; one piece after another is killed without
warning, or frozen, and started again. Afterwards nothing that was acknowledged is lost, nothing is
doubled (but an e-mail whose worker was killed between sending and noting it), and nobody met a
failure except in the seconds of a kill.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests.messages.smtp_server import MailServer
from tests.operations.machines import (
    PROJECT,
    Machine,
    Postgres,
    answers_at,
    ask,
    kept_port,
    manage,
    wait_for,
)
from tests.operations.mixed_use import Diary, House, Person, walk_to_booking
from tests.photos.pictures import jpeg, scene
from tests.test_postgres import server_program

SECONDS = float(os.environ.get("MIXED_USE_SECONDS", "150"))
SEED = int(os.environ.get("MIXED_USE_SEED", "20261126"))
PEOPLE = 3
HOUSES = 400
"""More than are walked in the time."""
AFTER_A_KILL_SECONDS = 12
"""So long after a piece is back somebody may still meet what its going left behind."""
BUCKET = "kept-things"

README = (PROJECT / "README.md").read_text()

NGINX = """
daemon off;
{user}
worker_processes 1;
pid {folder}/nginx.pid;
error_log {folder}/nginx-errors.log;
events {{ worker_connections 256; }}
http {{
    access_log off;
    client_body_temp_path {folder}/nginx-body;
    proxy_temp_path {folder}/nginx-proxy;
    fastcgi_temp_path {folder}/nginx-fastcgi;
    uwsgi_temp_path {folder}/nginx-uwsgi;
    scgi_temp_path {folder}/nginx-scgi;
    {group}
    {server}
}}
"""


def block(mark: str) -> str:
    """What README shows after a mark."""
    return README.split(f"<!-- {mark} -->")[1].split("```")[1].split("\n", 1)[1]


def nginx_configuration(folder: Path, ports: dict) -> str:
    """README's two blocks, on ports of this machine, without TLS and a site of one machine."""
    group = block("nginx group")
    for name, theirs in (("web1", "192.0.2.11:8000"), ("web2", "192.0.2.12:8000")):
        assert theirs in group
        group = group.replace(theirs, f"127.0.0.1:{ports[name]}")
    lines = block("nginx configuration").splitlines()
    end = next(place for place, line in enumerate(lines) if "location /kept-photos/" in line)
    kept = [line for line in lines[:end] if "ssl_certificate" not in line] + ["}"]
    server = "\n".join(kept).replace("listen 443 ssl;", f"listen 127.0.0.1:{ports['front']};")
    pass_on = "proxy_pass http://127.0.0.1:8000;"
    assert pass_on in server
    server = server.replace(pass_on, "proxy_pass http://portal; proxy_connect_timeout 2s;")
    # Links name the port here, which a portal on 443 does not have.
    server = server.replace("Host $host;", "Host $http_host;")
    # Started by root it would work as another user, who may not enter pytest's folder.
    user = "user root;" if os.geteuid() == 0 else ""
    return NGINX.format(user=user, folder=folder, group=group, server=server)


def commands() -> tuple[list[str], list[str]]:
    """README's commands of a machine that serves: the web server's and the worker's."""
    web, worker = (line.split() for line in block("commands of a machine that serves").splitlines())
    assert web[0] == worker[0] == ".venv/bin/python"
    return [sys.executable, *web[1:]], [sys.executable, *worker[1:]]


class Installation:
    """Everything that an installation over several machines is made of, on this one."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.database = Postgres()
        self.ports = {name: kept_port() for name in ("front", "web1", "web2", "store", "moto")}
        self.mail = MailServer()
        self.environment = self._environment()
        self.machines = {machine.name: machine for machine in self._machines()}

    def _environment(self) -> dict:
        environment = {
            **os.environ,
            "READINESS_DEMO": "1",
            "SECRET_KEY": "the-same-on-every-machine-" * 3,
            **self._own_disk("1"),
            "READINESS_URL": f"http://127.0.0.1:{self.ports['front']}",
            "READINESS_PROXY_COUNT": "1",
            "EMAIL_URL": f"smtp://127.0.0.1:{self.mail.port}",
            "DATABASE_URL": self.database.url,
            "READINESS_S3_BUCKET": BUCKET,
            "READINESS_S3_ENDPOINT": f"http://127.0.0.1:{self.ports['store']}",
            "AWS_ACCESS_KEY_ID": "a-key",
            "AWS_SECRET_ACCESS_KEY": "its-secret",
            "AWS_DEFAULT_REGION": "us-east-1",
            "HOUSES": str(HOUSES),
            "PYTHONPATH": str(PROJECT),
        }
        for name in ("DJANGO_SETTINGS_MODULE", "READINESS_TASKS", "PYTEST_XDIST_WORKER"):
            environment.pop(name, None)
        return environment

    def _own_disk(self, machine: str) -> dict:
        """A web server and a worker share their machine's disk; other machines have their own."""
        return {"READINESS_DATA": str(self.folder / f"machine{machine}")}

    def _machines(self):
        python, ports = sys.executable, self.ports
        web, worker = commands()
        plain = {**os.environ, "PYTHONPATH": str(PROJECT)}
        yield Machine(
            "bucket",
            [python, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(ports["moto"])],
            plain,
            self.folder,
        )
        door = [python, "-m", "tests.operations.forwarder", str(ports["store"]), str(ports["moto"])]
        yield Machine("store", door, plain, self.folder)
        for name in ("web1", "web2"):
            environment = {**self.environment, **self._own_disk(name[-1])}
            here = f"127.0.0.1:{ports[name]}"
            command = [part.replace("0.0.0.0:8000", here) for part in web]
            yield Machine(name, command, environment, self.folder)
        for name in ("worker1", "worker2", "worker3"):
            environment = {**self.environment, **self._own_disk(name[-1])}
            yield Machine(name, worker, environment, self.folder)
        config = self.folder / "nginx.conf"
        config.write_text(nginx_configuration(self.folder, ports))
        yield Machine("front", ["nginx", "-c", str(config), "-e", "stderr"], plain, self.folder)

    def start(self) -> dict:
        """Everything up; returns who is signed in and which houses there are."""
        self.database.start()
        for name in ("bucket", "store"):
            self.machines[name].start()
        wait_for(lambda: answers_at(self.ports["moto"]), "the bucket's server")
        wait_for(lambda: answers_at(self.ports["store"]), "the door to the bucket")
        self._make_bucket()
        manage(self.environment, "migrate", "-v0")
        cast = ask(self.environment, "exec(open('tests/operations/cast.py').read())")
        for name in ("web1", "web2", "worker1", "worker2", "worker3", "front"):
            self.machines[name].start()
        for name in ("web1", "web2", "front"):
            wait_for(lambda port=self.ports[name]: answers_at(port), name)
        return cast

    def _make_bucket(self) -> None:
        import boto3

        boto3.client(
            "s3",
            endpoint_url=f"http://127.0.0.1:{self.ports['moto']}",
            aws_access_key_id="a-key",
            aws_secret_access_key="its-secret",
            region_name="us-east-1",
        ).create_bucket(Bucket=BUCKET)

    def stop(self) -> None:
        for machine in reversed(list(self.machines.values())):
            machine.kill()
        self.database.remove()
        self.mail.close()


class Killer:
    """Kills one piece after another, in turns by a seed, and brings each back after seconds."""

    def __init__(self, installation: Installation, rng: random.Random):
        self.installation, self.rng = installation, rng
        self.windows: list[tuple[float, float, str]] = []
        self._turn = self._in_turn()

    def one(self) -> None:
        name = next(self._turn)
        began = time.time()
        getattr(self, f"_{name.rstrip('123')}")(name)
        self.windows.append((began, time.time() + AFTER_A_KILL_SECONDS, name))

    def _in_turn(self) -> Iterator[str]:
        """Each piece once, in an order of the seed's, and then all of them again in another."""
        pieces = ["web1", "web2", "worker1", "worker2", "worker3"]
        pieces += ["store", "bucket", "database", "mail"]
        while True:
            yield from self.rng.sample(pieces, len(pieces))

    def _again(self, name: str) -> None:
        machine = self.installation.machines[name]
        machine.kill()
        time.sleep(self.rng.uniform(0.2, 3))
        machine.start()

    def _web(self, name: str) -> None:
        self._again(name)
        port = self.installation.ports[name]
        wait_for(lambda: answers_at(port), name)

    _worker = _again

    def _store(self, name: str) -> None:
        self._again(name)

    def _bucket(self, name: str) -> None:
        """It stops answering and holds every connection open: the worst way for a store to go."""
        group = self.installation.machines["bucket"].process.pid
        os.killpg(group, signal.SIGSTOP)
        time.sleep(self.rng.uniform(2, 8))
        os.killpg(group, signal.SIGCONT)

    def _database(self, name: str) -> None:
        self.installation.database.crash()
        time.sleep(self.rng.uniform(0.5, 4))
        self.installation.database.start()

    def _mail(self, name: str) -> None:
        """The mail server is too busy for a while, as it says."""
        self.installation.mail.faults["rcpt"] = "451 Try again later"
        time.sleep(self.rng.uniform(2, 8))
        self.installation.mail.faults.clear()

    def met_in_a_window(self, moment: float) -> bool:
        return any(start <= moment <= end for start, end, _ in self.windows)


STORED = """
import json
from collections import Counter
from collections.abc import Iterator
from readiness.models import *
out = {}
for site in Site.objects.all():
    out[str(site.pk)] = {
        "reports": SiteReport.objects.issued().filter(site=site).count(),
        "items": DefectItem.objects.filter(report__site=site).count(),
        "fixes": Fix.objects.filter(item__report__site=site).count(),
        "confirmations": ReadinessConfirmation.objects.filter(report__site=site).count(),
        "bookings": list(Booking.objects.filter(site=site).values_list("state", flat=True)),
        "photos": [str(pk) for pk in Photo.objects.filter(site=site).values_list("pk", flat=True)],
        "papers": list(Paper.objects.filter(site=site).values_list("state", flat=True)),
        "paper_entries": RecordEntry.objects.filter(site=site, verb="paper_made").count(),
        "mails": list(Message.objects.filter(site=site).values_list("state", flat=True)),
    }
print("READY" + json.dumps(out))
"""


@pytest.mark.long
def test_pieces_are_killed_in_turn_and_nothing_is_lost_or_doubled(tmp_path):
    if not server_program("initdb"):
        pytest.skip("PostgreSQL is not installed (apt package: postgresql).")
    if not shutil.which("nginx"):
        pytest.skip("nginx is not installed (apt package: nginx-light).")
    pytest.importorskip("moto.server", reason="moto is not installed (the test extra has it).")
    installation = Installation(tmp_path)
    try:
        cast = installation.start()
        houses = [House(**house) for house in cast["houses"]]
        diary, killer = used_while_killed(installation, cast, houses)
        touched = [house for house in houses if house.done]
        assert len(touched) > PEOPLE, installation.machines["web1"].last_words
        catch_up_with(installation)
        stored = ask(installation.environment, STORED)
        verified = manage(installation.environment, "verify_record")
    finally:
        installation.stop()
    assert diary.given_up == []
    unexplained = [t for t in diary.troubles if not killer.met_in_a_window(t[0])]
    assert unexplained == []
    assert "Whole" in verified
    for house in touched:
        check_whole(house, stored[house.site])
    check_post(installation, stored, killer)
    pieces = Counter(name for *_, name in killer.windows)
    print(f"{len(touched)} houses, {diary.answers} answers, {len(diary.troubles)} of them failures")
    print(f"in the wake of {sum(pieces.values())} kills: {dict(pieces)}")


def used_while_killed(installation: Installation, cast: dict, houses: list[House]):
    """People walk houses until the time is up, while pieces go and come back."""
    diary, rng = Diary(), random.Random(SEED)
    killer = Killer(installation, rng)
    front = f"http://127.0.0.1:{installation.ports['front']}"
    until, waiting = time.monotonic() + SECONDS, iter(houses)
    pictures, turn = iter(range(10**6)), threading.Lock()

    def picture() -> bytes:
        with turn:
            number = next(pictures)
        return jpeg(scene(number, (900, 700)))

    def person() -> None:
        office = Person(front, cast["office"], diary)
        builder = Person(front, cast["builder"], diary)
        while time.monotonic() < until:
            with turn:
                house = next(waiting)
            walk_to_booking(house, office, builder, picture)

    with ThreadPoolExecutor(PEOPLE) as people:
        at_work = [people.submit(person) for _ in range(PEOPLE)]
        while time.monotonic() < until and not any(one.done() for one in at_work):
            time.sleep(rng.uniform(2, 6))
            killer.one()
        for one in at_work:
            one.result()
    return diary, killer


LEFT = """
import json
from readiness import clock
from readiness.models import *
papers, mails = Paper.objects.exclude(state="made"), Message.objects.waiting()
for left in (papers, mails):
    left.filter(next_try_at__gt=clock.now()).update(next_try_at=clock.now())
seen = ("kind", "state", "attempts", "error")
photos = SpooledOriginal.objects.values_list("original", "machine")
print("READY" + json.dumps([*papers.values_list(*seen), *mails.values_list(*seen), *photos]))
"""


def catch_up_with(installation: Installation) -> None:
    """Wait until nothing is on its way. The pauses, of up to a day, count as over."""
    left: list = []

    def none_left() -> bool:
        left[:] = ask(installation.environment, LEFT)
        return not left

    try:
        wait_for(none_left, "all papers made, all e-mails sent, all photos in the bucket", 540, 2)
    except AssertionError as error:
        raise AssertionError(f"{error}: {left[:20]}") from error


def check_whole(house: House, stored: dict) -> None:
    """Each thing that a person did is there once, with its photos and its papers."""
    assert stored["reports"] == stored["items"] == stored["fixes"] == 1, (house, stored)
    assert stored["confirmations"] == 1, (house, stored)
    assert stored["bookings"] == ["confirmed"], (house, stored)
    assert sorted(stored["photos"]) == sorted(house.photos)
    assert set(stored["papers"]) == {"made"}
    assert stored["paper_entries"] == len(stored["papers"])


def check_post(installation: Installation, stored: dict, killer: Killer) -> None:
    """Every e-mail went, once; a worker that was killed may have sent the one in hand twice."""
    arrived = Counter(installation.mail.ids)
    kills = sum(name.startswith("worker") or name == "database" for *_, name in killer.windows)
    mails = Counter(state for site in stored.values() for state in site["mails"])
    assert set(mails) <= {"sent", "dropped"}, mails
    assert len(arrived) == mails["sent"]
    assert sum(count - 1 for count in arrived.values()) <= kills
