"""People who use the portal over HTTP through anything: the way from a walk to a booking.

A person sends each page's form as a browser would, with the ids that the page carries, and sends it
again when no answer came or the portal said "later". What was acknowledged is written down, so that
a test can look for it afterwards.
"""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from urllib.parse import urljoin

import requests
from lxml import html

LATER = {502, 503, 504}
PATIENCE_SECONDS = 90
KIND = "mortar_drop"


@dataclass
class Diary:
    """What the people met: every answer of 500 and more with its time, and what they gave up on."""

    troubles: list[tuple[float, int, str]] = field(default_factory=list)
    given_up: list[str] = field(default_factory=list)
    answers: int = 0


class Person:
    """One signed-in browser that keeps at it."""

    def __init__(self, address: str, session: str, diary: Diary):
        self.address, self.diary = address, diary
        self.browser = requests.Session()
        self.browser.cookies.set("sessionid", session)

    def get(self, path: str) -> requests.Response:
        return self._until_answered(lambda: self.browser.get(self._at(path), timeout=30), path)

    def send(self, page: str, action: str = "", **changes) -> requests.Response:
        """Open a page, change fields of its form (the one that goes to `action`) and send it.

        A name of `changes` may name several values with a list. Whatever comes back again as a
        page instead of a redirect was refused: AssertionError with what the page says.
        """
        shown = self.get(page)
        form = _form(html.fromstring(shown.content), shown.url, action)
        target = urljoin(shown.url, form.action or shown.url)
        fields = {**_fields(form), **changes}
        answer = self._until_answered(lambda: self._post(target, fields, shown.url), target)
        if answer.status_code not in (301, 302, 303):
            words = html.fromstring(answer.content).text_content().split()
            raise AssertionError(f"{target}: {answer.status_code}: {' '.join(words)[:1500]}")
        return answer

    def upload(self, site: str, content: bytes) -> str:
        """Send a photo in with an id of its own; returns the id once the portal says it has it."""
        photo_id, path = str(uuid.uuid4()), f"/photos/upload/{site}/"
        self.get("/cautions/")

        def put():
            return self.browser.post(
                self._at(path),
                data={"id": photo_id, "csrfmiddlewaretoken": self._token()},
                files={"photo": ("wall.jpg", content, "image/jpeg")},
                headers={"Referer": self._at("/")},
                timeout=60,
            )

        answer = self._until_answered(put, path)
        assert answer.status_code == 200, (answer.status_code, answer.text[:500])
        return answer.json()["id"]

    def _post(self, target: str, fields: dict, page: str) -> requests.Response:
        fields = {**fields, "csrfmiddlewaretoken": self._token()}
        return self.browser.post(
            target, data=fields, headers={"Referer": page}, timeout=30, allow_redirects=False
        )

    def _token(self) -> str:
        if "csrftoken" not in self.browser.cookies:
            token = "b" * 32
            self.browser.cookies.set("csrftoken", token)
        return self.browser.cookies["csrftoken"]

    def _at(self, path: str) -> str:
        return urljoin(self.address, path)

    def _until_answered(self, ask: Callable[[], requests.Response], what: str):
        until = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < until:
            try:
                answer = ask()
            except requests.RequestException:
                time.sleep(0.5)
                continue
            self.diary.answers += 1
            if answer.status_code >= 500:
                self.diary.troubles.append((time.time(), answer.status_code, what))
            if answer.status_code not in LATER:
                assert answer.status_code < 500, (what, answer.status_code)
                return answer
            time.sleep(min(float(answer.headers.get("Retry-After", 0.5)), 2))
        self.diary.given_up.append(what)
        raise TimeoutError(f"No answer from {what} in {PATIENCE_SECONDS} s.")


def _form(page, address: str, action: str):
    """The form of a page that goes to an address ending in `action`; else the page's own."""
    forms = [form for form in page.forms if form.method.upper() == "POST"]
    here = address.split("?")[0]
    wanted = [
        form
        for form in forms
        if urljoin(address, form.action or here).split("?")[0].endswith(action or here)
    ]
    assert wanted, (address, action, [form.action for form in forms])
    return wanted[0]


def _fields(form) -> dict:
    """What a browser would send: every field with its value, lists where a name comes twice."""
    fields: dict[str, list] = {}
    for name, value in form.form_values():
        fields.setdefault(name, []).append(value)
    return fields


@dataclass
class House:
    """One site's way, and the ids of photos that the portal said it has."""

    site: str
    runs: list[str]
    photos: list[str] = field(default_factory=list)
    done: bool = False


def walk_to_booking(house: House, office: Person, builder: Person, picture: Callable[[], bytes]):
    """From the first visit to a confirmed booking, as both sides would do it."""
    start = f"/office/reports/sites/{house.site}/start/"
    report = office.send(start, "start/").headers["Location"]
    for run in house.runs:
        office.send(report, f"runs/{run}/check/")
    photo = office.upload(house.site, picture())
    house.photos.append(photo)
    of_report = report.rstrip("/").rsplit("/", 1)[-1]
    new = f"/office/items/reports/{of_report}/new/?wall={house.runs[0]}&kind={KIND}"
    office.send(new, "/new/", photos_kept=photo, from_mm="2.0", to_mm="3.0")
    office.send(f"{report}issue/", "issue/")
    _fix(house, builder, picture)
    _accept(house, office)
    _confirm(house, builder)
    _book(house, office, builder)
    house.done = True


def _fix(house: House, builder: Person, picture: Callable[[], bytes]) -> None:
    page = html.fromstring(builder.get(f"/builder/sites/{house.site}/").content)
    item = next(link for link in page.xpath("//a/@href") if "/fixing/" in link)
    after = builder.upload(house.site, picture())
    house.photos.append(after)
    field = "photos_kept"
    if "/fixing/sites/" in item:  # several at once: one field an item
        shown = html.fromstring(builder.get(item).content)
        field = shown.xpath("//input[starts-with(@name, 'photos-')]/@name")[0] + "_kept"
    builder.send(item, "", **{field: after})


def _accept(house: House, office: Person) -> None:
    review = f"/office/review/{house.site}/"
    page = html.fromstring(office.get(review).content)
    action = next(form.action for form in page.forms if (form.action or "").endswith("/accept/"))
    office.send(review, action)


def _confirm(house: House, builder: Person) -> None:
    ticks = {f"wall-{run}": ["clean", "dry", "clear"] for run in house.runs}
    page = html.fromstring(builder.get(f"/builder/confirming/{house.site}/").content)
    form = next(form for form in page.forms if (form.action or "").endswith("/sign/"))
    typed = {name: "Sam Supervisor" for name in ("name", "signature") if name in form.fields}
    if "position" in form.fields:
        typed["position"] = "Supervisor"
    builder.send(f"/builder/confirming/{house.site}/", form.action, **ticks, **typed)


def _book(house: House, office: Person, builder: Person) -> None:
    book = f"/builder/booking/sites/{house.site}/"
    page = html.fromstring(builder.get(book).content)
    day = page.xpath("//input[@name='day']/@value")[0]
    builder.send(book, "", day=day)
    on, half = day.split("/")
    office.send(f"/office/bookings/sites/{house.site}/", "", day=on, half=half)
    shown = html.fromstring(builder.get(book).content)
    action = next(form.action for form in shown.forms if (form.action or "").endswith("/accept/"))
    builder.send(book, action)
