"""What an object store that freezes costs those who wait: one upload, and a page of thumbnails.

    .venv/bin/python -m tests.bench.bench_silent_store

Each is measured with today's waits and with those of version 0.1 (5 s to connect, 20 s for an
answer, three tries, and nobody remembers), in the same run. Takes some minutes: that is the point.
"""

import io
import os
import shutil
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

FOLDER = Path(tempfile.mkdtemp(prefix="readiness-bench-"))
os.environ |= {
    "READINESS_DEMO": "1",
    "READINESS_DATA": str(FOLDER),
    "DJANGO_SETTINGS_MODULE": "portal.settings",
    "READINESS_TASKS": "immediate",
    "AWS_ACCESS_KEY_ID": "a-key",
    "AWS_SECRET_ACCESS_KEY": "its-secret",
    "AWS_DEFAULT_REGION": "us-east-1",
}
import django  # noqa: E402

django.setup()

import boto3  # noqa: E402
from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.core.signals import setting_changed  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from moto.server import ThreadedMotoServer  # noqa: E402

from portal import object_store  # noqa: E402
from portal.templatetags.photos import photo_url  # noqa: E402
from readiness.actions.photos.keeping import add_photo  # noqa: E402
from readiness.patience import Patience  # noqa: E402
from readiness.photos.refused import PhotoRefused  # noqa: E402
from tests.factories import make_applicator, make_site  # noqa: E402
from tests.photos.pictures import jpeg, scene  # noqa: E402
from tests.portal.stores import Relay, keep_in  # noqa: E402

THUMBNAILS, THREADS = 24, 4
BEFORE = dict.fromkeys(Patience, (5, 20, 3))


class NeverBreaks(object_store.Breaker):
    def let_through(self):
        return True


def an_upload(user, site, seed) -> float:
    started = time.perf_counter()
    try:
        add_photo(user, site, io.BytesIO(jpeg(scene(seed))), filename="wall.jpg")
        print("  the photo is kept", end="")
    except PhotoRefused as refused:
        print(f"  {refused.message}", end="")
    print(f", after {time.perf_counter() - started:.1f} s")
    return time.perf_counter() - started


def a_page(user, address) -> float:
    """Thumbnails as a browser asks for them, in four threads: until the last has an answer."""
    client = Client(headers={"host": "127.0.0.1"}, raise_request_exception=False)
    client.force_login(user)
    client.get("/")
    cookies = dict(client.cookies)

    def one(_):
        own = Client(headers={"host": "127.0.0.1"}, raise_request_exception=False)
        own.cookies.update(cookies)
        started = time.perf_counter()
        status = own.get(address).status_code
        connection.close()
        return status, time.perf_counter() - started

    started = time.perf_counter()
    with ThreadPoolExecutor(THREADS) as threads:
        answers = list(threads.map(one, range(THUMBNAILS)))
    took, slowest = time.perf_counter() - started, max(seconds for _, seconds in answers)
    print(
        f"  {THUMBNAILS} thumbnails ({answers[0][0]}): the slowest {slowest:.1f} s, all {took:.1f}"
    )
    return took


def measure(relay, own, user, site, address, seed) -> tuple[float, float]:
    relay.freeze()
    start_afresh(relay, own)
    upload = an_upload(user, site, seed)
    start_afresh(relay, own)
    return upload, a_page(user, address)


def start_afresh(relay, own) -> None:
    """As a process that has just started, and knows nothing of the store."""
    object_store.BREAKERS.clear()
    keep_in(settings, relay.address, "kept-things", own)
    setting_changed.send(sender=None, setting="STORAGES", value=settings.STORAGES, enter=True)


def main() -> None:
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    boto3.client("s3", endpoint_url=f"http://{host}:{port}").create_bucket(Bucket="kept-things")
    relay = Relay(host, port)
    call_command("migrate", verbosity=0)
    own = keep_in(settings, relay.address, "kept-things")
    user, site = make_applicator(), make_site()
    photo = add_photo(user, site, io.BytesIO(jpeg(scene(1))), filename="wall.jpg")
    address = photo_url(photo)
    print("Now:")
    now = measure(relay, own, user, site, address, 2)
    print("With the waits of version 0.1:")
    object_store.WAITS, object_store.Breaker = BEFORE, NeverBreaks
    was = measure(relay, own, user, site, address, 3)
    for name, before, after in zip(("upload", "page of thumbnails"), was, now, strict=True):
        print(f"{name:20} {before:7.1f} s > {after:5.1f} s {before / after:5.0f}x")
    server.stop()


if __name__ == "__main__":
    try:
        main()
    finally:
        shutil.rmtree(FOLDER, ignore_errors=True)
