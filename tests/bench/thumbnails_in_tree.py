"""One checkout of the portal for `bench_thumbnails`: makes a photo, asks for its small size.

Run with the checkout as working folder; prints processor time a request (ms) as JSON.
"""

# ruff: noqa: E402  (the checkout has to be found first)

import io
import json
import os
import sys
from statistics import median
from time import process_time

sys.path.insert(0, os.getcwd())
sys.path = [place for place in sys.path if not place.endswith("tests/bench")]

import django

django.setup()

from django.conf import settings
from django.core.management import call_command
from django.test import Client, RequestFactory

from portal.templatetags.photos import photo_url
from portal.wsgi import application
from readiness.actions.photos.keeping import add_photo
from readiness.models import Photo
from tests import factories
from tests.photos.pictures import jpeg, scene

ROUNDS, REQUESTS = 7, 60


def addresses():
    """The contact's cookie, the address of a small size, and the ETag of its first answer."""
    call_command("migrate", verbosity=0)
    call_command("createcachetable", verbosity=0)
    builder = factories.make_builder("Bench Homes")
    contact, site = factories.make_contact(builder), factories.make_site(builder)
    photo = add_photo(contact, site, io.BytesIO(jpeg(scene(1, (1600, 1200)))), filename="a.jpg")
    client = Client()
    client.force_login(contact)
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    address = photo_url(Photo.objects.with_originals().get(pk=photo.pk))
    return f"{settings.SESSION_COOKIE_NAME}={cookie}", address


def ask(cookie, address, etag=""):
    """One request through the whole application: its status and headers."""
    more = {"HTTP_IF_NONE_MATCH": etag} if etag else {}
    path, _, query = address.partition("?")
    environ = RequestFactory().generic(
        "GET", path, QUERY_STRING=query, HTTP_HOST="127.0.0.1", HTTP_COOKIE=cookie,
        HTTP_USER_AGENT="Bench phone", REMOTE_ADDR="127.0.0.1", **more,
    ).environ  # fmt: skip
    found = {}

    def start(status, headers, _error=None):
        found.update(status=int(status[:3]), headers=dict(headers))

    answer = application(environ, start)
    for _ in answer:
        pass
    answer.close()
    return found["status"], found["headers"]


def cpu_ms(cookie, address, expected, etag=""):
    found = []
    for _ in range(ROUNDS):
        started = process_time()
        for _ in range(REQUESTS):
            status, _ = ask(cookie, address, etag)
            assert status == expected, status
        found.append((process_time() - started) * 1000 / REQUESTS)
    return median(found)


def main():
    cookie, address = addresses()
    _, headers = ask(cookie, address)
    etag = headers["ETag"]
    measured = {
        "sent by the portal": cpu_ms(cookie, address, 200),
        "known to the browser": cpu_ms(cookie, address, 304, etag),
    }
    settings.READINESS_X_ACCEL_PREFIX = "/kept-photos/"
    measured["sent by nginx (X-Accel)"] = cpu_ms(cookie, address, 200)
    json.dump(measured, sys.stdout)


if __name__ == "__main__":
    main()
