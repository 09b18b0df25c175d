"""Invitations: a link that works once, for a while, and is stored nowhere."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from readiness import clock, errands
from readiness.actions import tasks
from readiness.actions.errors import Refused
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.people import inviting, rights
from readiness.messages import invitation_links, sending
from readiness.messages.sending import Outcome
from readiness.models import Business, Invitation, InvitationLink, Message, User
from tests.factories import make_applicator, make_builder, make_site, token_of

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 12, 1, 1, tzinfo=UTC)


def test_an_accepted_invitation_makes_a_contact_of_that_builder(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, " New@Wattle.example ")
    user = inviting.accept_invitation(token_of(invited), name="Kim New", position="Supervisor")
    assert user.email == "new@wattle.example"
    assert not user.has_usable_password()
    assert user.memberships.get().builder == builder
    assert user.memberships.get().all_sites


def test_an_invitation_is_valid_for_as_long_as_the_business_says(
    applicator, builder, mailoutbox, django_capture_on_commit_callbacks
):
    change_rule_values(applicator, {"invitation_valid_days": "2"})
    with clock.at(NOON), django_capture_on_commit_callbacks(execute=True):
        invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    assert invited.expires_at == NOON + timedelta(days=2)
    assert "until Thursday 3 December" in mailoutbox[0].body


def test_the_token_is_stored_only_as_its_digest(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    token = token_of(invited)
    rows = [*Invitation.objects.values(), *InvitationLink.objects.values()]
    stored = " ".join(str(value) for row in rows for value in row.values())
    assert token not in stored
    assert invitation_links.digest_of(token_of(invited)) in stored


def emailed_token(email) -> str:
    """The token of the link in an e-mail about an invitation."""
    return re.search(r"/invitation/([\w-]+)/", email.body)[1]


def test_the_e_mail_carries_a_link_of_its_own_as_text_and_html(
    applicator, builder, mailoutbox, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    (message,) = mailoutbox
    assert message.to == ["new@wattle.example"]
    token = emailed_token(message)
    assert token != token_of(invited)
    html, kind = message.alternatives[0]
    assert kind == "text/html"
    assert token in html
    assert inviting.find_invitation(token) == inviting.find_invitation(token_of(invited))


def test_the_link_that_is_used_first_ends_the_other(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    used, other = (invitation_links.new_link(invited).token for _ in range(2))
    inviting.accept_invitation(used, name="Kim New")
    assert inviting.find_invitation(other) is None
    with pytest.raises(Refused, match="is used, cancelled"):
        inviting.accept_invitation(other, name="Somebody Else")


def test_an_answer_to_an_invitation_reaches_the_office(
    applicator, builder, mailoutbox, django_capture_on_commit_callbacks
):
    business = Business.current()
    business.email = "office@applicator.example"
    business.save()
    with django_capture_on_commit_callbacks(execute=True):
        inviting.invite_contact(applicator, builder, "new@wattle.example")
    assert mailoutbox[0].reply_to == ["office@applicator.example"]


def test_a_mail_server_that_is_down_does_not_undo_the_invitation(
    applicator, builder, settings, mailoutbox, django_capture_on_commit_callbacks
):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # nobody listens on discard
    with django_capture_on_commit_callbacks(execute=True):
        invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    message = Message.objects.get()
    assert message.state == Message.State.WAITING
    assert message.error == "the mail server does not answer."
    assert not InvitationLink.objects.exists(), "nobody has the link of an e-mail that did not go"
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    with clock.at(clock.now() + timedelta(minutes=1)):
        tasks.send_message.call(str(message.pk))
    assert inviting.find_invitation(emailed_token(mailoutbox[0]))
    assert invited.links.count() == 1


def test_each_try_makes_a_new_link_and_one_that_may_be_out_keeps_working(
    applicator, builder, monkeypatch
):
    inviting.invite_contact(applicator, builder, "new@wattle.example")
    message, tokens, outcomes = Message.objects.get(), [], [Outcome.UNSURE, Outcome.SENT]

    def hand_over(email, before_text):
        before_text()
        tokens.append(emailed_token(email))
        return sending.Try(outcomes[len(tokens) - 1])

    monkeypatch.setattr(sending, "hand_over", hand_over)
    tasks.send_message.call(str(message.pk))
    with clock.at(clock.now() + timedelta(minutes=1)):
        tasks.send_message.call(str(message.pk))
    message.refresh_from_db()
    assert message.state == Message.State.SENT
    assert message.unsure == 1
    assert tokens[0] != tokens[1]
    assert all(inviting.find_invitation(token) for token in tokens)


def test_an_invitation_sent_again_leaves_no_older_e_mail_to_go(applicator, builder, mailoutbox):
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    older = Message.objects.get()
    assert errands.claim(Message, older.pk), "it is being sent just now"
    inviting.resend_invitation(applicator, first)
    errands.release({errands.this_worker()})
    for message in Message.objects.all():
        tasks.send_message.call(str(message.pk))
    assert len(mailoutbox) == 1
    older.refresh_from_db()
    assert older.state == Message.State.DROPPED
    assert older.error == "a newer invitation replaced it."


def test_an_invitation_that_was_used_or_taken_back_is_not_e_mailed(applicator, builder, mailoutbox):
    used = inviting.invite_contact(applicator, builder, "new@wattle.example")
    inviting.accept_invitation(token_of(used), name="Kim New")
    back = inviting.invite_contact(applicator, builder, "other@wattle.example")
    inviting.revoke_invitation(applicator, back)
    for message in Message.objects.all():
        tasks.send_message.call(str(message.pk))
        message.refresh_from_db()
        assert message.state == Message.State.DROPPED
    assert not mailoutbox


@pytest.mark.parametrize("end", ["cancelled", "a newer invitation", "used"])
def test_what_has_not_gone_about_an_invitation_that_ended_is_no_failure_any_more(
    applicator, builder, end
):
    """One that was given up would stand on the office's first page, with a button to send it."""
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    Message.objects.update(
        state=Message.State.GIVEN_UP, given_up_at=clock.now(), next_try_at=None, error="away"
    )
    message = Message.objects.get()
    if end == "cancelled":
        inviting.revoke_invitation(applicator, first)
    elif end == "used":
        inviting.accept_invitation(token_of(first), name="Kim")
    else:
        inviting.invite_contact(applicator, builder, "new@wattle.example")
    message.refresh_from_db()
    assert message.state == Message.State.DROPPED
    assert end in message.error
    assert message.given_up_at is None


def test_a_link_works_once(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    assert inviting.find_invitation(token_of(invited))
    inviting.accept_invitation(token_of(invited), name="Kim New")
    assert inviting.find_invitation(token_of(invited)) is None
    with pytest.raises(Refused, match="is used, cancelled"):
        inviting.accept_invitation(token_of(invited), name="Somebody Else")


def test_a_link_works_for_seven_days(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    with clock.at(clock.now() + timedelta(days=6, hours=23)):
        assert inviting.find_invitation(token_of(invited))
    with clock.at(clock.now() + timedelta(days=7, minutes=1)):
        assert inviting.find_invitation(token_of(invited)) is None
        with pytest.raises(Refused):
            inviting.accept_invitation(token_of(invited), name="Kim New")


def test_sending_again_makes_a_new_link_and_ends_the_old_one(applicator, builder):
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    before = token_of(first)
    second = inviting.resend_invitation(applicator, first)
    assert inviting.find_invitation(before) is None
    assert inviting.find_invitation(token_of(second)) == first


def test_inviting_the_same_address_twice_leaves_one_link(applicator, builder):
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    second = inviting.invite_contact(applicator, builder, "NEW@wattle.example")
    assert inviting.find_invitation(token_of(first)) is None
    assert inviting.find_invitation(token_of(second))


def test_a_link_that_was_taken_back_does_not_work(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    inviting.revoke_invitation(applicator, invited)
    inviting.revoke_invitation(applicator, invited)
    assert inviting.find_invitation(token_of(invited)) is None


def test_nobody_is_invited_to_what_they_have_and_staff_never(applicator, builder, contact):
    with pytest.raises(Refused, match="can already sign in for Wattle Homes"):
        inviting.invite_contact(applicator, builder, contact.email)
    with pytest.raises(Refused, match="applicator's staff"):
        inviting.invite_contact(applicator, builder, applicator.email)


def test_a_contact_who_was_switched_off_can_be_invited_again(applicator, builder, contact):
    rights.switch_contact(applicator, contact.memberships.get(), on=False)
    invited = inviting.invite_contact(applicator, builder, contact.email)
    user = inviting.accept_invitation(token_of(invited), name="Sam Again")
    assert user.pk == contact.pk
    assert user.is_active
    assert user.is_contact


def test_only_the_applicator_invites_and_only_owners_invite_staff(builder, contact):
    with pytest.raises(PermissionDenied):
        inviting.invite_contact(contact, builder, "new@wattle.example")
    with pytest.raises(PermissionDenied):
        inviting.invite_staff(make_applicator(), "new@applicator.example")


@pytest.mark.parametrize("do", [inviting.resend_invitation, inviting.revoke_invitation])
def test_only_owners_bring_back_or_take_back_the_invitation_of_a_colleague(applicator, do):
    """Resending brings a revoked one back to life, and its new link makes somebody staff."""
    invited = inviting.invite_staff(applicator, "new@applicator.example")
    inviting.revoke_invitation(applicator, invited)
    with pytest.raises(PermissionDenied):
        do(make_applicator(), invited)
    invited.refresh_from_db()
    assert invited.revoked_at
    assert not inviting.open_invitations().exists()


@pytest.mark.parametrize("do", [inviting.resend_invitation, inviting.revoke_invitation])
def test_any_of_the_staff_and_no_builder_sends_a_contacts_invitation_again(
    applicator, builder, contact, do
):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    with pytest.raises(PermissionDenied):
        do(contact, invited)
    assert inviting.find_invitation(token_of(invited))
    do(make_applicator(), invited)
    assert inviting.find_invitation(token_of(invited)) is None


def test_a_colleague_chooses_a_password_and_is_no_owner(applicator):
    invited = inviting.invite_staff(applicator, "new@applicator.example")
    user = inviting.accept_invitation(
        token_of(invited), name="Terry", password="three random words"
    )
    assert user.role == User.Role.APPLICATOR
    assert user.check_password("three random words")
    assert not user.is_owner


def test_there_is_always_an_owner(applicator):
    colleague = make_applicator()
    with pytest.raises(Refused, match="somebody else an owner first"):
        rights.change_ownership(applicator, applicator, owner=False)
    with pytest.raises(Refused, match="yourself"):
        rights.switch_staff(applicator, applicator, on=False)
    rights.change_ownership(applicator, colleague, owner=True)
    rights.change_ownership(applicator, applicator, owner=False)
    assert list(User.objects.filter(is_owner=True)) == [colleague]


def test_sites_of_another_builder_cannot_be_given(applicator, builder):
    foreign = make_site(builder=make_builder())
    with pytest.raises(Refused, match="not belong to Wattle Homes"):
        inviting.invite_contact(applicator, builder, "new@wattle.example", sites=[foreign])


def test_a_limited_contact_sees_only_the_sites_given(applicator, builder):
    mine, _other = make_site(builder=builder), make_site(builder=builder)
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example", sites=[mine])
    user = inviting.accept_invitation(token_of(invited), name="Kim")
    assert not user.memberships.get().all_sites
    assert list(user.memberships.get().sites.all()) == [mine]
    rights.change_contact(applicator, user.memberships.get(), position="Office", sites=None)
    assert user.memberships.get().all_sites


def test_a_contact_is_never_given_a_site_of_another_builder(applicator, contact):
    foreign, member = make_site(make_builder("Banksia Builders")), contact.memberships.get()
    with pytest.raises(Refused, match="not belong to Wattle Homes"):
        rights.change_contact(applicator, member, position="Supervisor", sites=[foreign])
    assert not member.sites.exists()


def test_an_invitation_that_was_taken_back_lets_nobody_in_by_any_link(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "kim@wattle.example")
    tokens = [invitation_links.new_link(invited).token for _ in range(2)]
    inviting.revoke_invitation(applicator, invited)
    for token in tokens:
        assert inviting.find_invitation(token) is None
        with pytest.raises(Refused, match="cancelled"):
            inviting.accept_invitation(token, name="Kim")
