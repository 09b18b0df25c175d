"""What scripts that send forms are told: where to go on to, and that a person is signed out."""

import uuid

import pytest
from django.urls import reverse

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
    page = reverse("builder:say_fixed", args=[item.pk])
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
