"""A code to one's own address, to show that it is still oneself."""

import re

import pytest
from django.urls import reverse

from readiness.models import Business, ReadinessConfirmation
from tests.factories import all_ticks, make_issued

CODE = reverse("accounts:own_code")
PHONE = "Mozilla/5.0 (Linux; Android 14) Chrome/130 Mobile"


@pytest.fixture
def browser(client_for, contact):
    return client_for(contact)


def send(browser, leads_on="/builder/"):
    return browser.post(CODE, {"action": "send", "next": leads_on}, follow=True)


def emailed_code(email) -> str:
    return re.search(r"^\s+([\d-]{8,})$", email.body, re.M)[1]


def test_a_code_from_the_page_to_the_signature(browser, applicator, contact, site, mailoutbox):
    Business.current()
    Business.objects.update(name="Tallowood Treatments")
    report = make_issued(applicator, site, kinds=())
    confirm = reverse("builder:confirm", args=[site.pk])
    page = browser.get(confirm).content.decode()
    assert "First show that it is you" in page
    assert "supervisor@wattle.example" in page
    assert "Sign and confirm" not in page
    page = send(browser, confirm).content.decode()
    assert "A code is on its way to" in page
    (email,) = mailoutbox
    assert email.to == [contact.email]
    assert email.from_email.startswith("Tallowood Treatments <"), "the firm that it is about"
    assert emailed_code(email) not in email.subject
    answer = browser.post(CODE, {"code": emailed_code(email), "next": confirm})
    assert answer["Location"] == confirm
    assert "Sign and confirm" in browser.get(confirm).content.decode()
    ticks = {f"wall-{wall}": words for wall, words in all_ticks(site).items()}
    sign = reverse("builder:sign", args=[report.pk])
    browser.post(sign, {"signed_as": contact.name, **ticks}, headers={"user-agent": PHONE})
    made = ReadinessConfirmation.objects.get()
    assert (made.proved_by, made.device) == ("code", "Chrome on Android")
    assert made.account_address == contact.email
    page = browser.get(confirm).content.decode()
    assert f"after a code sent to {contact.email}, on Chrome on Android, at " in page


def test_signing_without_a_code_says_what_to_do(browser, applicator, contact, site):
    report = make_issued(applicator, site, kinds=())
    ticks = {f"wall-{wall}": words for wall, words in all_ticks(site).items()}
    sign = reverse("builder:sign", args=[report.pk])
    page = browser.post(sign, {"signed_as": contact.name, **ticks}).content.decode()
    assert "Show first that it is you: today, on this device. Then sign." in page
    assert CODE in page
    assert not ReadinessConfirmation.objects.exists()


def test_a_code_works_once_and_three_wrong_ones_end_it(browser, mailoutbox):
    """allauth's own limit of tries."""
    send(browser)
    code = emailed_code(mailoutbox[0])
    before = browser.session.session_key
    assert browser.post(CODE, {"code": code}).status_code == 302
    assert browser.session.session_key != before
    assert "Enter the code" not in browser.post(CODE, {"code": code}).content.decode()
    send(browser)
    code = emailed_code(mailoutbox[1])
    for _ in range(2):
        assert "Wrong code" in browser.post(CODE, {"code": "00000000"}).content.decode()
    assert "Ask for a new one" in browser.post(CODE, {"code": "00000000"}).content.decode()
    assert browser.post(CODE, {"code": code}).status_code == 200


def test_a_code_leads_to_no_other_host(browser, mailoutbox):
    send(browser, "https://elsewhere.example/")
    answer = browser.post(
        CODE, {"code": emailed_code(mailoutbox[0]), "next": "https://elsewhere.example/"}
    )
    assert answer["Location"] == reverse("home")


def test_an_empty_page_asks_before_it_sends_anything(browser, mailoutbox):
    assert "E-mail me a code" in browser.get(CODE).content.decode()
    assert mailoutbox == []


def test_codes_have_a_limit(browser, mailoutbox):
    for _ in range(4):
        page = send(browser)
    assert len(mailoutbox) == 3
    assert "Too many codes were asked for." in page.content.decode()
