"""Invitations: a link that works once, for a while, and is stored nowhere."""

from datetime import UTC, datetime, timedelta
from smtplib import SMTPException
from unittest.mock import patch

import pytest
from django.core.exceptions import PermissionDenied
from django.core.mail import EmailMultiAlternatives

from readiness import clock
from readiness.actions import inviting
from readiness.actions.errors import Refused
from readiness.actions.rule_values import change_rule_values
from readiness.models import Invitation, User
from tests.factories import make_applicator, make_builder, make_site

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 12, 1, 1, tzinfo=UTC)


def test_an_accepted_invitation_makes_a_contact_of_that_builder(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, " New@Wattle.example ")
    user = inviting.accept_invitation(invited.token, name="Kim New", position="Supervisor")
    assert user.email == "new@wattle.example"
    assert not user.has_usable_password()
    assert user.contact.builder == builder
    assert user.contact.all_sites


def test_an_invitation_is_valid_for_as_long_as_the_business_says(
    applicator, builder, mailoutbox, django_capture_on_commit_callbacks
):
    change_rule_values(applicator, {"invitation_valid_days": "2"})
    with clock.at(NOON), django_capture_on_commit_callbacks(execute=True):
        invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    assert invited.invitation.expires_at == NOON + timedelta(days=2)
    assert "2 days" in mailoutbox[0].body


def test_the_token_is_stored_only_as_its_digest(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    stored = " ".join(str(value) for value in Invitation.objects.values().get().values())
    assert invited.token not in stored
    assert inviting.digest_of(invited.token) in stored


def test_the_e_mail_carries_the_link_as_text_and_html(
    applicator, builder, mailoutbox, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    (message,) = mailoutbox
    assert message.to == ["new@wattle.example"]
    assert invited.link in message.body
    html, kind = message.alternatives[0]
    assert kind == "text/html"
    assert invited.link in html


def test_a_mail_server_that_is_down_does_not_undo_the_invitation(
    applicator, builder, settings, django_capture_on_commit_callbacks
):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # nobody listens on discard
    with django_capture_on_commit_callbacks(execute=True):
        invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    assert inviting.find_invitation(invited.token)
    stored = Invitation.objects.get()
    assert stored.emailed_at is None
    assert stored.email_error == "the mail server does not answer."
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    with django_capture_on_commit_callbacks(execute=True):
        inviting.resend_invitation(applicator, stored)
    stored.refresh_from_db()
    assert stored.emailed_at
    assert stored.email_error == ""


def test_an_e_mail_that_fails_late_says_nothing_about_a_newer_link(applicator, builder):
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    second = inviting.resend_invitation(applicator, first.invitation)
    inviting._send(second)
    with patch.object(EmailMultiAlternatives, "send", side_effect=SMTPException("Busy")):
        inviting._send(first)
    stored = Invitation.objects.get()
    assert stored.emailed_at
    assert stored.email_error == ""


def test_a_link_works_once(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    assert inviting.find_invitation(invited.token)
    inviting.accept_invitation(invited.token, name="Kim New")
    assert inviting.find_invitation(invited.token) is None
    with pytest.raises(Refused, match="has been used"):
        inviting.accept_invitation(invited.token, name="Somebody Else")


def test_a_link_works_for_seven_days(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    with clock.at(clock.now() + timedelta(days=6, hours=23)):
        assert inviting.find_invitation(invited.token)
    with clock.at(clock.now() + timedelta(days=7, minutes=1)):
        assert inviting.find_invitation(invited.token) is None
        with pytest.raises(Refused):
            inviting.accept_invitation(invited.token, name="Kim New")


def test_sending_again_makes_a_new_link_and_ends_the_old_one(applicator, builder):
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    second = inviting.resend_invitation(applicator, first.invitation)
    assert inviting.find_invitation(first.token) is None
    assert inviting.find_invitation(second.token) == first.invitation


def test_inviting_the_same_address_twice_leaves_one_link(applicator, builder):
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    second = inviting.invite_contact(applicator, builder, "NEW@wattle.example")
    assert inviting.find_invitation(first.token) is None
    assert inviting.find_invitation(second.token)


def test_a_link_that_was_taken_back_does_not_work(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    inviting.revoke_invitation(applicator, invited.invitation)
    inviting.revoke_invitation(applicator, invited.invitation)
    assert inviting.find_invitation(invited.token) is None


def test_one_address_signs_in_for_one_company(applicator, builder, contact, other_contact):
    with pytest.raises(Refused, match="can already sign in for Wattle Homes"):
        inviting.invite_contact(applicator, builder, contact.email)
    with pytest.raises(Refused, match="already signs in for Banksia Builders"):
        inviting.invite_contact(applicator, builder, other_contact.email)
    with pytest.raises(Refused, match="applicator's staff"):
        inviting.invite_contact(applicator, builder, applicator.email)


def test_a_contact_who_was_switched_off_can_be_invited_again(applicator, builder, contact):
    inviting.switch_contact(applicator, contact.builder_contact, on=False)
    invited = inviting.invite_contact(applicator, builder, contact.email)
    user = inviting.accept_invitation(invited.token, name="Sam Again")
    assert user.pk == contact.pk
    assert user.is_active
    assert user.contact is not None


def test_only_the_applicator_invites_and_only_owners_invite_staff(builder, contact):
    with pytest.raises(PermissionDenied):
        inviting.invite_contact(contact, builder, "new@wattle.example")
    with pytest.raises(PermissionDenied):
        inviting.invite_staff(make_applicator(), "new@applicator.example")


def test_a_colleague_chooses_a_password_and_is_no_owner(applicator):
    invited = inviting.invite_staff(applicator, "new@applicator.example")
    user = inviting.accept_invitation(
        invited.token, name="Terry", password="three random words", licence_number="L1"
    )
    assert user.role == User.Role.APPLICATOR
    assert user.check_password("three random words")
    assert not user.is_owner


def test_there_is_always_an_owner(applicator):
    colleague = make_applicator()
    with pytest.raises(Refused, match="somebody else an owner first"):
        inviting.change_ownership(applicator, applicator, owner=False)
    with pytest.raises(Refused, match="yourself"):
        inviting.switch_staff(applicator, applicator, on=False)
    inviting.change_ownership(applicator, colleague, owner=True)
    inviting.change_ownership(applicator, applicator, owner=False)
    assert list(User.objects.filter(is_owner=True)) == [colleague]


def test_sites_of_another_builder_cannot_be_given(applicator, builder):
    foreign = make_site(builder=make_builder())
    with pytest.raises(Refused, match="not Wattle Homes's"):
        inviting.invite_contact(applicator, builder, "new@wattle.example", sites=[foreign])


def test_a_limited_contact_sees_only_the_sites_given(applicator, builder):
    mine, _other = make_site(builder=builder), make_site(builder=builder)
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example", sites=[mine])
    user = inviting.accept_invitation(invited.token, name="Kim")
    assert not user.contact.all_sites
    assert list(user.contact.sites.all()) == [mine]
    inviting.change_contact(applicator, user.contact, position="Office", sites=None)
    assert user.contact.all_sites
