"""Requests that were cut off: nothing of them is stored."""

import io
from urllib.parse import urlencode

import pytest
from django.conf import settings
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from portal.requests.whole_body import WholeBody
from portal.wsgi import application
from tests.factories import make_photo, make_site
from tests.pages import fields_of

SECRET = "0123456789abcdefghijklmnopqrstuv"


def read_all(body: bytes, announced: int, sizes: list[int]):
    """What an application reads, in pieces of these sizes and then the rest."""
    found = []

    def application(environ, start_response):
        stream = environ["wsgi.input"]
        found.extend(stream.read(size) for size in sizes)
        found.append(stream.read())

    environ = {"CONTENT_LENGTH": str(announced), "wsgi.input": io.BytesIO(body)}
    WholeBody(application)(environ, None)
    return b"".join(found)


def test_a_body_is_read_as_other_streams_are():
    seen = []

    def application(environ, start_response):
        stream = environ["wsgi.input"]
        seen.extend([stream.read(0), stream.readline(0), stream.read(1), stream.read(None)])

    body = io.BytesIO(b"abc\nnext request")
    WholeBody(application)({"CONTENT_LENGTH": "4", "wsgi.input": body}, None)
    assert seen == [b"", b"", b"a", b"bc\n"]


def test_a_request_that_announces_no_body_goes_through_as_it_is():
    environ = {"wsgi.input": io.BytesIO()}
    assert (
        WholeBody(lambda environ, start_response: environ["wsgi.input"])(environ, None)
        is (environ["wsgi.input"])
    )


@given(st.binary(max_size=200), st.binary(max_size=20), st.lists(st.integers(-1, 80), max_size=6))
def test_a_body_that_arrived_is_read_as_it_is(body, next_request, sizes):
    assert read_all(body + next_request, len(body), sizes) == body


@given(st.binary(max_size=200), st.integers(1, 100), st.lists(st.integers(-1, 80), max_size=6))
def test_a_body_that_was_cut_off_is_an_error_of_the_connection(body, missing, sizes):
    with pytest.raises(ConnectionResetError, match="bytes of the request never arrived"):
        read_all(body, len(body) + missing, sizes)


@given(st.lists(st.binary(max_size=30), max_size=6), st.booleans())
def test_lines_are_read_to_the_end(lines, is_cut_off):
    body = b"\n".join(lines)
    reader = WholeBody(lambda environ, start_response: environ["wsgi.input"])
    announced = len(body) + is_cut_off
    stream = reader({"CONTENT_LENGTH": str(announced), "wsgi.input": io.BytesIO(body)}, None)
    found = b""
    try:
        while line := stream.readline():
            found += line
    except ConnectionResetError:
        assert is_cut_off
    else:
        assert not is_cut_off
        assert found == body


def as_form(fields):
    return urlencode(fields).encode(), "application/x-www-form-urlencoded"


def as_parts(fields):
    parts = [
        f'--edge\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in fields.items()
    ]
    return "".join([*parts, "--edge--\r\n"]).encode(), "multipart/form-data; boundary=edge"


def post(client, address, body, announced, kind):
    """The status that the server's application answers with."""
    cookies = {name: morsel.value for name, morsel in client.cookies.items()}
    cookies[settings.CSRF_COOKIE_NAME] = SECRET
    environ = {
        "REQUEST_METHOD": "POST",
        "PATH_INFO": address,
        "REMOTE_ADDR": "127.0.0.1",
        "SERVER_NAME": "testserver",
        "SERVER_PORT": "80",
        "wsgi.url_scheme": "http",
        "wsgi.input": io.BytesIO(body),
        "wsgi.errors": io.StringIO(),
        "CONTENT_LENGTH": str(announced),
        "CONTENT_TYPE": kind,
        "HTTP_COOKIE": "; ".join(f"{name}={value}" for name, value in cookies.items()),
    }
    if kind == "application/json":
        environ["HTTP_X_CSRFTOKEN"] = SECRET
    said = []
    answer = application(environ, lambda status, headers: said.append(status))
    b"".join(answer)
    return int(said[0].split()[0])


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("encoded", [as_form, as_parts])
def test_a_form_that_was_cut_off_clears_nothing(client_for, applicator, encoded):
    site = make_site(latitude="-33.500000", longitude="150.250000")
    client = client_for(applicator)
    address = reverse("office:site_edit", args=[site.pk])
    fields = fields_of(client.get(address).content.decode(), "novalidate")
    body, kind = encoded({"csrfmiddlewaretoken": SECRET, **fields, "street": "9 Ironbark Rise"})
    cut = body.index(b"latitude")
    assert post(client, address, body[:cut], len(body), kind) == 403
    site.refresh_from_db()
    assert (site.street == "9 Ironbark Rise", float(site.latitude)) == (False, -33.5)
    assert post(client, address, body, len(body), kind) == 302
    site.refresh_from_db()
    assert (site.street, float(site.latitude)) == ("9 Ironbark Rise", -33.5)


@pytest.mark.django_db(transaction=True)
def test_marks_that_were_cut_off_are_no_fault_of_the_portal(client_for, applicator):
    photo = make_photo(make_site(), applicator)
    client = client_for(applicator)
    address = reverse("photos:markup", args=[photo.pk])
    body = b'{"shapes": [], "version": 0}'
    assert post(client, address, body[:9], len(body), "application/json") == 400
    assert post(client, address, body, len(body), "application/json") == 200
