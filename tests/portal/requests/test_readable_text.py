"""Control characters in what is typed are gone before any view sees them."""

import importlib
import json
import pkgutil

import pytest
from django import forms
from django.http import QueryDict
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

import portal
from portal.requests import readable_text
from portal.requests.json_body import object_from
from portal.requests.readable_text import LINES_ALLOWED, one_line, readable, several_lines
from tests.factories import make_contact, make_site
from tests.portal.requests.test_unreadable import fields_shown
from tests.portal.test_access_walk import PUBLIC, World, every_route

ODD = "Sam\r\nBcc: all@x.example\x0b\x07\x1b[31m\x9b\u202eevil\u2066\u2028end"


def controls(text: str) -> set[str]:
    """As Unicode's categories have them: Cc, and of Cf those that turn the direction."""
    turning = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
    return {c for c in text if ord(c) < 32 or 0x7F <= ord(c) <= 0x9F or c in turning}


@given(st.text(st.characters(blacklist_categories=["Cs"])))
def test_nothing_invisible_is_left_and_nothing_visible_goes(text):
    assert controls(one_line(text)) <= {"\x00"}
    assert controls(several_lines(text)) <= {"\x00", "\n", "\t"}
    assert [c for c in one_line(text) if c.isalnum()] == [c for c in text if c.isalnum()]
    assert one_line(one_line(text)) == one_line(text)


def test_a_name_stays_one_line_and_a_note_keeps_its_lines():
    sent = QueryDict(mutable=True)
    sent.update({"name": ODD, "fix-3-note": "one\r\ntwo\x07\ttabbed"})
    got = readable(sent)
    assert got["name"] == "Sam Bcc: all@x.example [31mevil end"
    assert got["fix-3-note"] == "one\ntwo\ttabbed"
    plain = QueryDict("name=Sam")
    assert readable(plain) is plain


def test_an_emoji_and_a_name_in_another_script_stay():
    for name in ("Zoë O’Brien", "नमस्ते", "👩‍👧", "שלום\u200f"):
        assert one_line(name) == name


def test_json_is_read_the_same_way():
    assert object_from(json.dumps({"text": ODD}))["text"] == one_line(ODD)


def every_form_class():
    for found in pkgutil.walk_packages(portal.__path__, "portal."):
        if "management" not in found.name and not found.name.endswith("wsgi"):
            for thing in vars(importlib.import_module(found.name)).values():
                if isinstance(thing, type) and issubclass(thing, forms.Form | forms.ModelForm):
                    yield thing


def test_every_field_of_several_lines_is_listed():
    fields = {
        name
        for form in every_form_class()
        for name, field in form.base_fields.items()
        if isinstance(field.widget, forms.Textarea)
    }
    assert fields - LINES_ALLOWED == set()
    assert len(fields) > 5


@pytest.mark.django_db
@pytest.mark.parametrize("who", ["contact", pytest.param("applicator", marks=pytest.mark.long)])
def test_every_text_area_of_every_page_is_listed(request, client_for, applicator, contact, who):
    world, client = World(applicator, contact), client_for(request.getfixturevalue(who))
    found = set()
    for route, name in every_route():
        if name not in PUBLIC and not name.startswith("mfa_"):
            for path in world.addresses(route):
                found |= {
                    field.rpartition("-")[2]
                    for field in fields_shown(client, path, name, "textarea")
                }
    assert found - LINES_ALLOWED == set()
    assert "note" in found or "notes" in found


@pytest.mark.django_db
def test_a_site_and_a_person_are_kept_without_them(client_for, applicator, builder):
    site = make_site(builder)
    page = reverse("office:site_edit", args=[site.pk])
    sent = {"street": ODD, "suburb": "Mirrin Vale", "state": "NSW", "postcode": "2999"}
    client_for(applicator).post(page, {**sent, "datum": site.datum})
    site.refresh_from_db()
    assert site.street == one_line(ODD)
    contact = make_contact(builder)
    client_for(contact).post(reverse("accounts:profile"), {"name": ODD, "phone": "1\x1b2"})
    contact.refresh_from_db()
    assert (contact.name, contact.phone) == (one_line(ODD), "12")


def test_the_middleware_is_in_use(settings):
    name = f"{readable_text.__name__}.ReadableTextMiddleware"
    assert name in settings.MIDDLEWARE
