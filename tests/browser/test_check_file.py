"""Checking a file without an account: the browser reads it, and sends its digest alone."""

import hashlib
import io

import pytest
from playwright.sync_api import expect

from readiness.actions.photos.keeping import add_photo
from tests.browser.conftest import PHONE
from tests.photos.pictures import jpeg, scene

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_photo_is_checked_without_being_sent(open_as, axe, contact, site):
    content = jpeg(scene(1))
    add_photo(contact, site, io.BytesIO(content))
    page = open_as(None, "/check/", PHONE)
    axe(page)
    asked = []
    page.on("request", lambda request: asked.append((request.method, request.url)))
    chosen = {"name": "wall.jpg", "mimeType": "image/jpeg", "buffer": content}
    page.get_by_label("Choose a PDF or a photo").set_input_files(chosen)
    expect(page.get_by_text("We have kept this photo since")).to_be_visible()
    assert all(method == "GET" for method, _ in asked)
    assert f"digest={hashlib.sha256(content).hexdigest()}" in asked[0][1]
    axe(page)
    chosen["buffer"] += b"x"
    page.get_by_label("Choose a PDF or a photo").set_input_files(chosen)
    expect(page.get_by_text("Not one of ours, or changed since.")).to_be_visible()


def test_without_scripts_the_page_says_how(open_as, contact, site):
    page = open_as(None, "/check/", PHONE, java_script_enabled=False)
    expect(page.get_by_text("Choosing a file needs a script")).to_be_visible()
    page.get_by_label("Or its SHA-256 fingerprint").fill("0" * 64)
    page.get_by_role("button", name="Check").click()
    expect(page.get_by_text("Not one of ours, or changed since.")).to_be_visible()
