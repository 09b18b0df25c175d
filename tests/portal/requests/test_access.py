"""Who is let in by the two decorators."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponse
from django.urls import reverse

from portal.requests.access import applicator_required, builder_required


def view(request):
    return HttpResponse("in")


@pytest.mark.parametrize(
    ("decorate", "let_in", "kept_out"),
    [
        (applicator_required, "applicator", "contact"),
        (builder_required, "contact", "applicator"),
    ],
)
def test_each_kind_of_person_has_its_own_screens(rf, request, decorate, let_in, kept_out):
    asked = rf.get("/")
    asked.user = request.getfixturevalue(let_in)
    assert decorate(view)(asked).content == b"in"
    asked.user = request.getfixturevalue(kept_out)
    with pytest.raises(Http404):
        decorate(view)(asked)


def test_a_contact_who_was_switched_off_is_an_outsider(rf, contact):
    contact.memberships.update(is_active=False)
    asked = rf.get("/")
    asked.user = contact
    with pytest.raises(Http404):
        builder_required(view)(asked)


@pytest.mark.parametrize("decorate", [applicator_required, builder_required])
def test_who_is_not_signed_in_is_an_outsider(rf, decorate):
    asked = rf.get("/")
    asked.user = AnonymousUser()
    with pytest.raises(Http404):
        decorate(view)(asked)


def test_staff_who_have_a_builders_position_too_are_staff(rf, contact):
    contact.role = "applicator"
    asked = rf.get("/")
    asked.user = contact
    assert applicator_required(view)(asked).content == b"in"
    with pytest.raises(Http404):
        builder_required(view)(asked)


def test_home_sends_each_kind_of_person_to_their_own_screen(client_for, applicator, contact):
    assert client_for().get("/").url.startswith("/accounts/login/")
    assert client_for(applicator).get("/").status_code == 302
    assert client_for(contact).get("/").status_code == 302


def test_the_address_of_a_button_says_that_nothing_was_changed(client_for, contact, site):
    response = client_for(contact).get(reverse("papers:guide", args=[site.pk]))
    assert response.status_code == 405
    assert response["Allow"] == "POST"
    page = response.content.decode()
    assert "This link only works as a button." in page
    assert 'href="/"' in page
