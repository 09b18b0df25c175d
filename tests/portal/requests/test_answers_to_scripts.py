"""What scripts that send forms are told: where to go on to, and that a person is signed out."""

import json
import uuid
from types import SimpleNamespace

import pytest
from django.http import HttpResponse
from django.urls import reverse

from portal.requests.middleware import AnswerToScriptsMiddleware
from readiness import clock
from readiness.actions import sharing
from readiness.models import TradeLink
from tests.factories import make_draft, make_issued, make_photo

pytestmark = pytest.mark.django_db

ASKED = {"X-Answer": "address"}
SIGN_IN = "/accounts/login/"


def test_a_script_is_told_where_to_go_on_to(client_for, contact, applicator, site):
    item = make_issued(applicator, site).items.get()
    photo = make_photo(site, contact)
    client = client_for(contact)
    page = reverse("builder:report_fixed", args=[item.pk])
    answer = client.post(page, {"photos_kept": [str(photo.pk)]}, headers=ASKED)
    assert answer.json() == {
        "go": reverse("builder:site", args=[site.pk]) + "#fixes",
        "signed_out": False,
    }
    assert "Sent. We will check item 1." in client.get(answer.json()["go"]).content.decode()


def test_a_script_is_told_that_the_person_is_signed_out(client_for, site):
    answer = client_for().post(reverse("builder:book", args=[site.pk]), headers=ASKED)
    assert answer.json()["signed_out"]
    assert answer.json()["go"].startswith(SIGN_IN)


def test_signing_out_is_not_being_signed_out(client_for, contact):
    answer = client_for(contact).post(reverse("account_logout"), headers=ASKED)
    assert not answer.json()["signed_out"]


def asked_by_a_script(rf, answer: HttpResponse, *, signed_in: bool, htmx: bool = False):
    """What a script gets where the view gave this answer."""
    request = rf.post("/", headers={} if htmx else ASKED)
    request.user, request.htmx = SimpleNamespace(is_authenticated=signed_in), htmx
    return AnswerToScriptsMiddleware(lambda request: answer)(request)


@pytest.mark.parametrize("status", [301, 302, 303])
def test_wherever_it_would_be_led_a_script_is_told(rf, status):
    answer = HttpResponse(status=status, headers={"Location": "/next/"})
    told = asked_by_a_script(rf, answer, signed_in=True)
    assert told.status_code == 200
    assert json.loads(told.content) == {"go": "/next/", "signed_out": False}


@pytest.mark.parametrize(
    ("status", "headers"), [(200, {}), (201, {"Location": "/made/"}), (302, {}), (400, {})]
)
def test_an_answer_that_leads_nowhere_is_left_as_it_is(rf, status, headers):
    answer = HttpResponse("as it is", status=status, headers=headers)
    assert asked_by_a_script(rf, answer, signed_in=True) is answer
    assert asked_by_a_script(rf, answer, signed_in=False, htmx=True) is answer


@pytest.mark.parametrize("signed_in", [True, False])
@pytest.mark.parametrize("address", [f"{SIGN_IN}?next=/", "/next/"])
def test_only_a_stranger_who_is_led_to_the_way_in_is_signed_out(rf, address, signed_in):
    signed_out = not signed_in and address != "/next/"
    answer = HttpResponse(status=302, headers={"Location": address})
    told = asked_by_a_script(rf, answer, signed_in=signed_in)
    assert json.loads(told.content)["signed_out"] is signed_out
    part = asked_by_a_script(rf, answer, signed_in=signed_in, htmx=True)
    assert part.status_code == (401 if signed_out else 302)


def test_a_part_of_a_page_is_never_the_sign_in_page(client_for, applicator, site):
    draft = make_draft(applicator, site)
    check = reverse("office:run_check", args=[draft.pk, site.wall_runs.first().pk])
    answer = client_for().post(check, headers={"HX-Request": "true"})
    assert answer.status_code == 401
    assert answer["X-Sign-In"] == SIGN_IN
    assert not draft.checks.exists()


def test_a_browser_is_led_to_the_sign_in_page_as_ever(client_for, site):
    answer = client_for().get(reverse("builder:site", args=[site.pk]))
    assert answer.status_code == 302
    assert answer.url.startswith(SIGN_IN)


def test_a_link_whose_answer_was_lost_is_one_and_said_once(client_for, contact, site):
    client, page = client_for(contact), reverse("builder:share", args=[site.pk, "bricklayer"])
    form = {"link_id": str(uuid.uuid4())}
    for _ in range(2):
        client.post(page, form, headers=ASKED)
    assert client.get(page).content.decode().count("A new link is ready to send.") == 1
    link = TradeLink.objects.get()
    sharing.revoke_trade_link(contact, link)
    client.post(page, form)
    assert TradeLink.objects.usable(clock.now()).get() != link
