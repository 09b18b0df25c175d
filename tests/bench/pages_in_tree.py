"""One checkout of the portal for `bench_pages_cpu`: makes the rows, answers requests, measures.

Run with the checkout as working folder; it imports that checkout's code, settings and factories.
It reads commands as JSON lines and answers each with one: `pages` (name, user, address), `sizes`
(queries and bytes of each page) and `round` (processor time of each page, ms).
"""

import io
import json
import os
import sys
from contextlib import contextmanager
from datetime import date
from statistics import median
from time import process_time

sys.path = [os.getcwd(), *(place for place in sys.path if not place.endswith("tests/bench"))]

import django  # noqa: E402

django.setup()

from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY  # noqa: E402
from django.contrib.sessions.backends.db import SessionStore  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import RequestFactory  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402

from portal.templatetags.photos import photo_url  # noqa: E402
from portal.wsgi import application  # noqa: E402
from readiness.actions.fixing import fixes  # noqa: E402
from readiness.actions.photos.keeping import add_photo  # noqa: E402
from readiness.actions.reporting import drafts, issuing  # noqa: E402
from readiness.demo.houses import COURTYARD, sound_levels  # noqa: E402
from readiness.models import BuilderContact, Site, User, WallRun  # noqa: E402
from readiness.rules.defects.catalogue import KINDS  # noqa: E402
from tests import factories  # noqa: E402

HOST = "127.0.0.1"
ITEMS, PHOTOS_AN_ITEM, OTHER_SITES, ITEMS_ELSEWHERE = 60, 2, 35, 4
EMAILS = ("owner@bench.example", "contact@bench.example")


def fill() -> None:
    """A builder's site with 60 items and their photos, and 35 sites with a few items."""
    call_command("migrate", verbosity=0)
    if User.objects.exists():
        return
    owner = factories.make_applicator(EMAILS[0], is_owner=True)
    builder = factories.make_builder("Bench Homes")
    contact = factories.make_contact(builder, EMAILS[1])
    told = BuilderContact.objects.filter(user=contact)
    for number in range(OTHER_SITES):
        _site(owner, builder, ITEMS_ELSEWHERE if number % 5 else 0, notify=told)
    full = _site(owner, builder, ITEMS, notify=told)
    items = list(full.reports.get().items.filter(effect="holds").order_by("number")[:6])
    for item in items:
        photo = factories.make_photo(full, contact)
        fixes.report_fixed(contact, item, photos=[photo], note="Filled with mortar.")
    fixes.send_back(owner, items[0], reason="There is still a gap.")
    fixes.accept_fix(owner, items[1])
    _site(owner, builder, ITEMS, issued=False)


def _site(owner, builder, items: int, *, issued=True, notify=()) -> Site:
    site = factories.make_site(builder)
    levels = sound_levels(COURTYARD)
    for place, wall in enumerate(COURTYARD.walls, 1):
        WallRun.objects.create(
            site=site, position=place, label=wall.label, length_mm=wall.length_mm,
            turn_degrees=wall.turn, finish=wall.finish, levels=levels[wall.label],
        )  # fmt: skip
    runs = list(site.wall_runs.all())
    report = factories.make_draft(owner, site, visited_on=date.today(), treatment_wanted_on=None)
    for run in runs:
        drafts.check_run(owner, report, run)
    kinds = [kind for kind in KINDS.values() if kind.fix]
    for number in range(items):
        kind, run = kinds[number % len(kinds)], runs[number * 7 % len(runs)]
        start = run.length_mm * (number % 11) // 16
        photos = [factories.make_photo(site, owner) for _ in range(PHOTOS_AN_ITEM - 1)]
        photos.append(_picture(owner, site) if number == 0 else factories.make_photo(site, owner))
        measured = {"measured_value": 40} if kind.measurement else {}
        drafts.add_item(
            owner, report, kind=kind.slug, wall_run=run, photos=photos,
            from_mm=start, to_mm=start + 400, **measured,
        )  # fmt: skip
    if issued:
        issuing.issue_report(owner, report, notify=notify)
    return site


def _picture(owner, site):
    """A real photo, so that its small size can be asked for."""
    from PIL import Image

    bytes_ = io.BytesIO()
    Image.effect_noise((1600, 1200), 60).save(bytes_, "JPEG", quality=80)
    bytes_.seek(0)
    return add_photo(owner, site, bytes_, filename="wall.jpg")


def pages() -> list[tuple[str, str, str]]:
    """What is asked for: (name, the user's address, the page's address)."""
    owner, contact = EMAILS
    full = max(Site.objects.exclude(reports__number=None), key=_weight)
    report = full.reports.get()
    photo = full.photos.filter(filename="wall.jpg").with_originals().get()
    draft = Site.objects.get(reports__number=None).reports.get()
    few = Site.objects.filter(reports__items__number=ITEMS_ELSEWHERE).exclude(pk=full.pk).first()
    return [
        ("office home", owner, reverse("office:home")),
        ("office sites", owner, reverse("office:sites")),
        ("office site, 60 items", owner, reverse("office:site", args=[full.pk])),
        ("report, 60 items", owner, reverse("office:report", args=[report.pk])),
        ("draft, 60 items", owner, reverse("office:report", args=[draft.pk])),
        ("builder's home", contact, reverse("builder:home")),
        ("builder's site", contact, reverse("builder:site", args=[few.pk])),
        ("builder's site, 60 items", contact, reverse("builder:site", args=[full.pk])),
        ("thumbnail", contact, photo_url(photo, "small")),
    ]


def _weight(site) -> int:
    return site.photos.count()


def cookie_of(email: str) -> str:
    """A session as after signing in (which asks for no second factor here)."""
    user = User.objects.get(email=email)
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = "allauth.account.auth_backends.AuthenticationBackend"
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    session.save()
    return f"sessionid={session.session_key}"


class Asking:
    """Requests through the whole WSGI application, as gunicorn makes them."""

    def __init__(self):
        self.cookies = {email: cookie_of(email) for email in EMAILS}

    def get(self, email: str, address: str) -> bytes:
        environ = RequestFactory().get(address, headers=self.headers(email)).environ
        answer = []
        chunks = application(environ, lambda status, headers: answer.append(status))
        body = b"".join(chunks)
        if hasattr(chunks, "close"):
            chunks.close()
        assert answer[0].startswith("200"), f"{address}: {answer[0]}"
        return body

    def headers(self, email: str) -> dict[str, str]:
        return {"host": HOST, "cookie": self.cookies[email], "user-agent": "Bench phone"}


def sizes(asking: Asking) -> dict:
    """Queries and bytes of each page, the second time that it is asked for."""
    found = {}
    for name, email, address in pages():
        asking.get(email, address)
        with counted() as queries:
            body = asking.get(email, address)
        found[name] = (len(queries), len(body))
    return found


@contextmanager
def counted():
    with CaptureQueriesContext(connection) as queries:
        # A request ends with the log of its queries emptied.
        kept: list = []
        connection.force_debug_cursor = True
        from django.core.signals import request_started
        from django.db import reset_queries

        request_started.disconnect(reset_queries)
        try:
            yield kept
        finally:
            request_started.connect(reset_queries)
            kept += queries.captured_queries


def one_round(asking: Asking, times: int) -> dict:
    """The median processor time of each page, in ms."""
    found = {}
    for name, email, address in pages():
        asking.get(email, address)
        taken = []
        for _ in range(times):
            started = process_time()
            asking.get(email, address)
            taken.append((process_time() - started) * 1000)
        found[name] = median(taken)
    return found


def main() -> None:
    fill()
    asking = Asking()
    for line in sys.stdin:
        command = json.loads(line)
        if command["do"] == "sizes":
            answer = sizes(asking)
        elif command["do"] == "round":
            answer = one_round(asking, command["times"])
        else:
            answer = [(name, asking.cookies[email], path) for name, email, path in pages()]
        print(json.dumps(answer), flush=True)


if __name__ == "__main__":
    main()
