"""Anybody can ask whether a file is one of ours, and learns no more than the file shows."""

import base64
import hashlib
import io

import pytest
from django.core.cache import cache
from django.urls import reverse

from portal.public.check_views import A_MINUTE
from readiness.actions.photos.keeping import add_photo, remove_photo
from readiness.actions.tasks import make_paper
from readiness.evidence.checkpoints import Reason, make
from readiness.models import Paper
from tests.factories import make_issued
from tests.photos.pictures import jpeg, scene

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _fresh_count():
    cache.clear()


def ask(client, **query):
    return client.get(reverse("public:check"), query).content.decode()


def test_the_page_opens_without_an_account_and_asks_nothing_yet(client):
    page = client.get(reverse("public:check"))
    assert page.status_code == 200
    text = page.content.decode()
    assert "sha256sum FILE" in text
    assert "Not one of ours" not in text


def test_a_paper_is_known_by_its_digest(client, applicator, site):
    report = make_issued(applicator, site)
    paper = report.papers.get(kind=Paper.Kind.SITE_REPORT)
    make_paper.call(str(paper.pk))
    paper.refresh_from_db()
    said = ask(client, digest=paper.digest)
    assert f"This is the site report of {site.address} (report 1, edition 1), made at" in said
    assert "It is unchanged." in said
    line = f"{paper.digest.upper()}  report.pdf"
    assert "It is unchanged." in ask(client, digest=line)


def test_of_a_photo_only_since_when_is_told(client, contact, site):
    content = jpeg(scene(1), lat=-37.5, lon=145.0)
    photo = add_photo(contact, site, io.BytesIO(content))
    said = ask(client, digest=hashlib.sha256(content).hexdigest())
    assert "We have kept this photo since" in said
    for secret in (site.street, site.suburb, site.builder.name, contact.name, str(photo.pk), "145"):
        assert secret not in said


def test_a_deleted_photo_is_said_to_be_gone(client, applicator, site):
    photo = add_photo(applicator, site, io.BytesIO(jpeg(scene(2))))
    digest = photo.original_id
    remove_photo(applicator, photo, "Sent by mistake.")
    said = ask(client, digest=digest)
    assert "until it was deleted at" in said
    assert "mistake" not in said


def test_anything_else_is_not_ours(client):
    assert "Not one of ours, or changed since." in ask(client, digest="0" * 64)
    assert "64 characters" in ask(client, digest="report.pdf")


def test_the_code_of_a_paper_says_whether_its_checkpoint_is_ours(client, applicator, site):
    make_issued(applicator, site)
    made = make(Reason.COMMAND)
    root = base64.urlsafe_b64encode(bytes.fromhex(made.root)).decode().rstrip("=")
    assert "The code on the paper is ours" in ask(client, size=made.size, root=root)
    for size, other in ((made.size + 1, root), (made.size, "A" * 43), ("x", "é"), (9**30, root)):
        assert "The code on the paper is not one of ours." in ask(client, size=size, root=other)


def test_who_asks_too_often_has_to_wait(client):
    for _ in range(A_MINUTE):
        ask(client, digest="0" * 64)
    answer = client.get(reverse("public:check"), {"digest": "0" * 64})
    assert answer.status_code == 429
    assert "Wait a minute" in answer.content.decode()
    assert client.get(reverse("public:check")).status_code == 200
