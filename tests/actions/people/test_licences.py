"""Licence numbers of the staff: only owners set them, as they let somebody decide."""

import pytest
from django.core.exceptions import PermissionDenied

from readiness.actions import referrals
from readiness.actions.errors import Refused
from readiness.actions.people import inviting, profile, rights
from readiness.messages.writing import write_email
from readiness.models import Message, RecordEntry, SecurityEvent
from tests.factories import make_applicator, token_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def colleague(applicator):
    return make_applicator("terry@applicator.example", name="Terry Tech")


def decide(actor, found):
    return referrals.decide_referral(actor, found, outcome="not_termites", reason="No mud.")


def test_nobody_of_the_staff_makes_themselves_a_technician(applicator, colleague, site):
    found = referrals.note_live_termites(colleague, site)
    with pytest.raises(TypeError):
        profile.change_profile(colleague, licence_number="T-1")
    with pytest.raises(PermissionDenied):
        rights.set_licence(colleague, colleague, "T-1")
    with pytest.raises(Refused, match="an owner"):
        decide(colleague, found)
    rights.set_licence(applicator, colleague, " T-2208 ")
    colleague.refresh_from_db()
    assert decide(colleague, found).licence_number == "T-2208"


def test_an_invitation_brings_no_licence(applicator, colleague):
    """Nor does one to somebody who had left: who lets them in enters it anew."""
    rights.set_licence(applicator, colleague, "T-2208")
    rights.switch_staff(applicator, colleague, on=False)
    token = token_of(inviting.invite_staff(applicator, colleague.email))
    back = inviting.accept_invitation(token, name="Terry", password="three random words")
    assert (back.pk, back.licence_number) == (colleague.pk, "")


def test_the_record_keeps_both_numbers_and_owners_and_the_person_are_told(applicator, colleague):
    rights.set_licence(applicator, colleague, "T-2208")
    rights.set_licence(applicator, colleague, "T-2209")
    entry = RecordEntry.objects.filter(verb="licence_set").last()
    assert entry.told["before"] == "T-2208"
    assert entry.told["after"] == "T-2209"
    mails = Message.objects.filter(kind="account_changed")
    assert {mail.address for mail in mails} == {applicator.email, colleague.email}
    body = " ".join(write_email(mails.first()).email.body.split())
    assert "Alex Applicator changed the licence number of Terry Tech." in body
    event = SecurityEvent.objects.filter(kind="licence_set").last()
    assert (event.account, event.about) == (applicator.pk, colleague.pk)


def test_an_owners_own_is_kept_and_told_too(applicator):
    owner = make_applicator("second@applicator.example", is_owner=True)
    rights.set_licence(applicator, applicator, "T-1")
    applicator.refresh_from_db()
    assert applicator.licence_number == "T-1"
    told = Message.objects.filter(kind="account_changed")
    assert sorted(mail.address for mail in told) == sorted([applicator.email, owner.email])


def test_the_same_number_again_is_no_change(applicator, colleague):
    rights.set_licence(applicator, colleague, "T-2208")
    rights.set_licence(applicator, colleague, "T-2208 ")
    assert RecordEntry.objects.filter(verb="licence_set").count() == 1


def test_builders_people_have_none(applicator, contact):
    with pytest.raises(Refused, match="does not work for your business"):
        rights.set_licence(applicator, contact, "T-1")
