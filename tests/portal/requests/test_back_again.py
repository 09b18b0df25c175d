"""What was typed is still there when a person comes back to a page.

WebKit empties fields with autocomplete="off" when it brings a page back from its back/forward
cache, and other browsers leave them out when they fill a form in again: what came back blank was
then kept over what had been typed. From memory: WebKit's HTMLInputElement, which resets such
fields when a document is resumed.
"""

import re

import pytest
from django.urls import reverse

from readiness.models import Paper
from readiness.papers import render
from tests.factories import make_applicator
from tests.portal.test_access_walk import World, every_route

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("who", ["contact", "owner"])
def test_no_page_tells_the_browser_to_forget_what_is_typed(client_for, applicator, contact, who):
    world = World(applicator, contact)
    client = client_for(contact if who == "contact" else make_applicator(is_owner=True))
    seen, wrong = 0, []
    for route, name in every_route():
        if name.startswith(("mfa_", "account_")):
            continue  # codes and passwords are not to come back
        for path in world.addresses(route):
            answer = client.get(path)
            if answer.status_code == 200 and "text/html" in answer["Content-Type"]:
                page = answer.content.decode()
                seen += page.count("<form")
                wrong += [
                    (path, tag) for tag in re.findall(r'<[^>]*autocomplete="off"[^>]*>', page)
                ]
    assert seen > 10
    assert wrong == []


@pytest.mark.parametrize("kind", Paper.Kind.values)
def test_a_pdf_comes_without_the_policy_of_the_pages(client_for, kind, monkeypatch):
    """With it, WebKit can't lay out its own viewer, and shows the paper stamp-sized.

    The papers themselves are made in `tests/papers/test_pages.py`.
    """
    monkeypatch.setattr(render, "render_sample", lambda *_: render.RenderedPaper(b"%PDF-", 1))
    answer = client_for(make_applicator(is_owner=True)).get(reverse("office:preview", args=[kind]))
    assert answer["Content-Type"] == "application/pdf"
    policy = answer["Content-Security-Policy"]
    assert "default-src" not in policy
    assert "style-src" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"


def test_pages_keep_their_policy(client_for, applicator):
    assert "default-src 'self'" in client_for(applicator).get("/office/")["Content-Security-Policy"]
