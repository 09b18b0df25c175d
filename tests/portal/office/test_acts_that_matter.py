"""What owners change about accounts and settings: shown again who they are, told, and kept."""

import pytest
from allauth.mfa.models import Authenticator
from django.urls import reverse

from readiness.actions.firm.business import change_business
from readiness.actions.people import rights
from readiness.actions.people.removing import remove_person
from readiness.messages.writing import NotNeeded, write_email
from readiness.models import Business, Message, RecordEntry
from tests.factories import make_applicator

pytestmark = pytest.mark.django_db

PASSWORD = "three random words"


@pytest.fixture
def browser(client_for, applicator):
    applicator.set_password(PASSWORD)
    applicator.save()
    return client_for(applicator)


def test_an_owner_shows_again_who_they_are_and_then_it_is_done(browser):
    colleague = make_applicator(name="Terry Tech")
    address = reverse("office:change_staff", args=[colleague.pk])
    answer = browser.post(address, {"change": "owner"})
    assert answer["Location"].startswith(reverse("account_reauthenticate"))
    colleague.refresh_from_db()
    assert not colleague.is_owner
    answer = browser.post(answer["Location"], {"password": PASSWORD, "next": address})
    assert answer.status_code == 302
    colleague.refresh_from_db()
    assert colleague.is_owner
    browser.post(address, {"change": "not_owner"})
    colleague.refresh_from_db()
    assert not colleague.is_owner, "for some minutes nobody is asked again"


def test_a_licence_number_asks_too(browser, applicator):
    address = reverse("office:staff_licence", args=[applicator.pk])
    answer = browser.post(address, {"licence_number": "T-1"})
    assert answer["Location"].startswith(reverse("account_reauthenticate"))
    applicator.refresh_from_db()
    assert applicator.licence_number == ""
    browser.post(answer["Location"], {"password": PASSWORD, "next": address})
    applicator.refresh_from_db()
    assert applicator.licence_number == "T-1"


@pytest.mark.parametrize("name", ["office:business", "office:rules"])
def test_settings_ask_too(browser, name):
    answer = browser.post(reverse(name), {"name": "Other"})
    assert answer["Location"].startswith(reverse("account_reauthenticate"))
    assert Business.current().name != "Other"
    assert browser.get(reverse(name)).status_code == 200


def test_a_second_factor_that_is_reset_is_kept_and_told(browser, applicator):
    colleague = make_applicator("terry@applicator.example", name="Terry Tech")
    Authenticator.objects.create(user=colleague, type=Authenticator.Type.TOTP, data={})
    address = reverse("office:change_staff", args=[colleague.pk])
    asked = browser.post(address, {"change": "reset"})
    browser.post(asked["Location"], {"password": PASSWORD, "next": address})
    assert not Authenticator.objects.filter(user=colleague).exists()
    entry = RecordEntry.objects.get(verb="second_factor_reset")
    assert entry.data == {"person": str(colleague.pk), "factors_before": ["totp"]}
    mails = Message.objects.filter(kind="account_changed")
    assert sorted(mail.address for mail in mails) == sorted([colleague.email, applicator.email])
    body = " ".join(write_email(mails.first()).email.body.split())
    assert "Alex Applicator reset the second factor of Terry Tech." in body


def test_who_is_switched_off_is_told_of_that_and_of_nothing_else(applicator):
    colleague = make_applicator("terry@applicator.example")
    rights.switch_staff(applicator, colleague, on=False)
    off, *_ = Message.objects.filter(to=colleague)
    assert "switched off the account" in " ".join(write_email(off).email.body.split())
    off.details = {**off.details, "change": "owner"}
    with pytest.raises(NotNeeded):
        write_email(off)


def test_owners_are_told_of_settings_and_removals(applicator, contact):
    change_business(applicator, name="Another Name")
    remove_person(applicator, contact)
    told = Message.objects.filter(kind="account_changed").order_by("queued_at")
    assert {mail.address for mail in told} == {applicator.email}
    bodies = " ".join(" ".join(write_email(mail).email.body.split()) for mail in told)
    assert "Alex Applicator changed the business's settings." in bodies
    assert "Alex Applicator removed the details of a person." in bodies
