"""A large body of somebody who is not signed in reaches neither the disk nor a view."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from portal.photos import uploads
from portal.requests import stranger_body
from tests.factories import make_site

pytestmark = pytest.mark.django_db

FILE = b"x" * (stranger_body.MOST_BYTES + 1)


@pytest.fixture
def written(monkeypatch):
    """How many bytes reached a temporary file."""
    seen = []
    monkeypatch.setattr(
        uploads.LimitedUploadHandler,
        "receive_data_chunk",
        lambda self, data, start: seen.append(len(data)),
    )
    return seen


def a_file():
    return SimpleUploadedFile("wall.jpg", FILE)


def test_a_stranger_is_led_to_sign_in_before_anything_is_read(client, written):
    page = reverse("photos:upload", args=[make_site().pk])
    answer = client.post(page, {"photo": a_file()})
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("account_login"))
    assert written == []


def test_a_form_that_was_signed_out_meanwhile_is_told_so(client, written):
    page = reverse("photos:upload", args=[make_site().pk])
    answer = client.post(page, {"photo": a_file()}, headers={"X-Answer": "address"})
    assert answer.json()["signed_out"] is True
    assert written == []


@pytest.mark.parametrize("name", ["account_login", "account_request_login_code"])
def test_a_public_page_refuses_it_in_words(client, written, name):
    answer = client.post(reverse(name), {"email": "a@b.example", "file": a_file()})
    assert answer.status_code == 413
    assert "Nothing was taken in" in answer.content.decode()
    assert written == []


def test_json_too(client):
    answer = client.post(reverse("mfa_login_webauthn"), data=FILE, content_type="application/json")
    assert answer.status_code == 413


def test_a_few_fields_go_through(client, contact):
    answer = client.post(reverse("account_request_login_code"), {"email": contact.email})
    assert answer.status_code == 302


def test_who_is_signed_in_sends_photos(client_for, contact, site, written):
    page = reverse("photos:upload", args=[site.pk])
    client_for(contact).post(page, {"photo": a_file()})
    assert sum(written) == len(FILE)


def test_nothing_reads_the_body_before(rf, settings):
    """In the order of the settings too: the check of the form's token reads it."""
    names = [name.rpartition(".")[2] for name in settings.MIDDLEWARE]
    assert names.index("StrangerBodyMiddleware") < names.index("CsrfViewMiddleware")


def test_a_length_that_is_no_number_is_none(rf):
    request = rf.post("/", io.BytesIO(b"").read(), content_type="application/json")
    request.META["CONTENT_LENGTH"] = "-5"
    assert stranger_body.announced_bytes(request) == 0
