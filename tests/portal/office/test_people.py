"""Invitations, sessions, own details and staff, as people meet them in the browser."""

import re

import pytest
from allauth.mfa.totp.internal.auth import TOTP
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils.crypto import salted_hmac

from portal.accounts import forms
from readiness.actions.people import inviting, rights
from readiness.messages.invitation_links import open_invitations
from readiness.models import BuilderContact, Invitation, User
from tests.factories import make_applicator, make_site, token_of
from tests.pages import shown

pytestmark = pytest.mark.django_db

NO_MAIL_SERVER = "django.core.mail.backends.smtp.EmailBackend"


def signed_in_as(client):
    return client.session.get("_auth_user_id")


@pytest.fixture
def invited(applicator, builder):
    return inviting.invite_contact(applicator, builder, "new@wattle.example")


def path_of(invited):
    return f"/accounts/invitation/{token_of(invited)}/"


def test_an_invitation_from_the_screen_to_the_first_sign_in(
    client_for, applicator, builder, mailoutbox, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        page = client_for(applicator).post(
            f"/office/people/builders/{builder.pk}/invite/",
            {"email": "new@wattle.example", "which": "all"},
            follow=True,
        )
    link = re.search(r"http\S+/accounts/invitation/\S+/", mailoutbox[0].body)[0]
    text = shown(page)
    assert "We will e-mail new@wattle.example a link within a minute." in text
    assert "accounts/invitation/" not in text, "who invites never sees a link"
    visitor = Client()
    page = visitor.get(link)
    assert "Sign in for Wattle Homes" in page.content.decode()
    visitor.post(link, {"name": "Kim New", "position": "Supervisor", "phone": "0400 000 000"})
    user = User.objects.get(email="new@wattle.example")
    assert signed_in_as(visitor) == str(user.pk)
    assert (user.name, user.memberships.get().position) == ("Kim New", "Supervisor")


def test_opening_an_invitation_does_not_use_it_up(client, invited):
    for _ in range(3):
        assert client.get(path_of(invited)).status_code == 200
        assert client.head(path_of(invited)).status_code == 200
    invited.refresh_from_db()
    assert invited.accepted_at is None
    assert signed_in_as(client) is None


def test_a_form_without_a_name_keeps_what_was_typed_and_the_invitation(client, invited):
    page = client.post(path_of(invited), {"name": "", "position": "Foreman"}).content.decode()
    assert "Please put this right" in page
    assert 'value="Foreman"' in page
    assert inviting.find_invitation(token_of(invited))


def test_a_used_invitation_says_so(client, invited):
    client.post(path_of(invited), {"name": "Kim", "position": "Foreman"})
    page = Client().get(path_of(invited))
    assert page.status_code == 410
    assert "no longer works" in page.content.decode()


def test_accepting_as_somebody_else_signs_the_other_out(client_for, invited, other_contact):
    client = client_for(other_contact)
    assert "You are signed in as Robin Rival" in client.get(path_of(invited)).content.decode()
    client.post(path_of(invited), {"name": "Kim", "position": "Foreman"})
    assert signed_in_as(client) == str(User.objects.get(email="new@wattle.example").pk)


def test_a_weak_password_is_refused_and_the_invitation_stays(client, applicator):
    invited = inviting.invite_staff(applicator, "new@applicator.example")
    page = client.post(path_of(invited), {"name": "Terry", "password": "short"})
    assert "at least 12 characters" in page.content.decode()
    client.post(path_of(invited), {"name": "Terry", "password": "three random words"})
    assert signed_in_as(client) == str(User.objects.get(email="new@applicator.example").pk)


def test_inviting_an_address_that_signs_in_already_keeps_what_was_typed(
    client_for, applicator, builder, contact
):
    page = client_for(applicator).post(
        f"/office/people/builders/{builder.pk}/invite/", {"email": contact.email, "which": "all"}
    )
    text = page.content.decode()
    assert "can already sign in for Wattle Homes" in text
    assert f'value="{contact.email}"' in text


def test_only_some_sites_means_at_least_one(client_for, applicator, builder):
    site, url = make_site(builder=builder), f"/office/people/builders/{builder.pk}/invite/"
    client = client_for(applicator)
    page = client.post(url, {"email": "new@wattle.example", "which": "some"})
    assert "Tick at least one site" in page.content.decode()
    client.post(url, {"email": "new@wattle.example", "which": "some", "sites": [site.pk]})
    assert list(Invitation.objects.get().sites.all()) == [site]


def test_a_contacts_old_sites_stay_on_offer_beside_the_newest(
    client_for, applicator, contact, monkeypatch
):
    monkeypatch.setattr(forms, "SITES_OFFERED", 2)
    builder = contact.memberships.get().builder
    old, *_, last = (make_site(builder=builder) for _ in range(4))
    url, client = (
        reverse("office:contact", args=[contact.memberships.get().pk]),
        client_for(applicator),
    )
    assert f'value="{old.pk}"' not in client.get(url).content.decode()
    contact.memberships.get().sites.set([old])
    page = client.get(url).content.decode()
    assert f'value="{old.pk}"' in page
    assert f'value="{last.pk}"' in page
    client.post(url, {"which": "some", "sites": [old.pk, last.pk], "position": "Office"})
    assert set(contact.memberships.get().sites.all()) == {old, last}


def test_invitations_are_sent_again_and_taken_back_from_the_builders_page(
    client_for, applicator, builder, invited
):
    client = client_for(applicator)
    assert (
        "new@wattle.example"
        in client.get(f"/office/people/builders/{builder.pk}/").content.decode()
    )
    token_of(invited)
    page = client.post(f"/office/people/invitations/{invited.pk}/resend/", follow=True)
    assert "accounts/invitation/" not in page.content.decode()
    assert inviting.find_invitation(token_of(invited)) is None
    client.post(reverse("office:revoke_invitation", args=[invited.pk]))
    assert not open_invitations().exists()


def test_an_invitation_that_was_not_e_mailed_says_so_and_is_sent_again(
    client_for, applicator, builder, settings, mailoutbox, django_capture_on_commit_callbacks
):
    working, settings.EMAIL_HOST = settings.EMAIL_BACKEND, "127.0.0.1"
    settings.EMAIL_PORT = 9  # nobody listens on discard
    client = client_for(applicator)
    of_builder = reverse("office:invite", args=[builder.pk])
    for invite, people in (
        (of_builder, reverse("office:builder", args=[builder.pk])),
        (reverse("office:invite_staff"), reverse("office:staff")),
    ):
        settings.EMAIL_BACKEND = NO_MAIL_SERVER
        given = {"email": "new@wattle.example", "which": "all"}
        with django_capture_on_commit_callbacks(execute=True):
            text = client.post(invite, given, follow=True).content.decode()
        assert "We will e-mail new@wattle.example a link" in text, "nothing has left yet"
        again = reverse("office:resend_invitation", args=[Invitation.objects.get().pk])
        listed = client.get(people).content.decode()
        assert "Not sent yet: the mail server does not answer." in listed
        assert "Next attempt at" in listed
        assert again in listed
        assert "new@wattle.example" in client.get(reverse("office:home")).content.decode()
        settings.EMAIL_BACKEND = working
        with django_capture_on_commit_callbacks(execute=True):
            client.post(again)
        assert mailoutbox.pop().to == ["new@wattle.example"]
        listed = client.get(people).content.decode()
        assert "Sent at" in listed
        assert "Not sent" not in listed
        Invitation.objects.all().delete()


def test_a_contact_is_switched_off_and_on(client_for, applicator, contact):
    client, pk = client_for(applicator), contact.memberships.get().pk
    client.post(reverse("office:switch_contact", args=[pk]), {"on": "no"})
    assert not User.objects.get(pk=contact.pk).is_active
    client.post(reverse("office:switch_contact", args=[pk]), {"on": "yes"})
    assert User.objects.get(pk=contact.pk).is_contact


def test_a_contact_changes_their_own_details_but_not_their_login(client_for, contact):
    client_for(contact).post(
        "/accounts/", {"name": "Sam S.", "position": "Office", "email": "evil@nowhere.example"}
    )
    contact.refresh_from_db()
    assert (contact.name, contact.memberships.get().position) == ("Sam S.", "Office")
    assert contact.email == "supervisor@wattle.example"


def signed_in_sessions(user, clients):
    for client in clients:
        client.force_login(user)
        client.get("/accounts/")


def test_sessions_are_listed_and_ended_one_by_one(contact):
    here, there = Client(), Client(HTTP_USER_AGENT="Mozilla/5.0 (iPhone) Safari/600")
    signed_in_sessions(contact, [here, there])
    page = here.get("/accounts/sessions/").content.decode()
    assert "Safari on iPhone" in page
    other = UserSession.objects.get(session_key=there.session.session_key)
    here.post("/accounts/sessions/", {"session": other.pk})
    assert there.get("/accounts/").status_code == 302
    assert here.get("/accounts/").status_code == 200


def test_all_other_sessions_are_ended_at_once(contact):
    here, there, elsewhere = Client(), Client(), Client()
    signed_in_sessions(contact, [here, there, elsewhere])
    here.post("/accounts/sessions/")
    assert [c.get("/accounts/").status_code for c in (here, there, elsewhere)] == [200, 302, 302]


def test_nobody_ends_the_session_of_somebody_else(contact, other_contact):
    mine, theirs = Client(), Client()
    signed_in_sessions(contact, [mine])
    signed_in_sessions(other_contact, [theirs])
    session = UserSession.objects.get(user=other_contact)
    assert mine.post("/accounts/sessions/", {"session": session.pk}).status_code == 404
    assert mine.post("/accounts/sessions/", {"session": "x"}).status_code == 404
    assert theirs.get("/accounts/").status_code == 200


def test_owners_manage_staff(client_for, applicator):
    colleague = make_applicator(name="Terry Tech")
    TOTP.activate(colleague, "JBSWY3DPEHPK3PXP")
    client, url = client_for(applicator), reverse("office:change_staff", args=[colleague.pk])
    assert "Terry Tech" in client.get("/office/people/staff/").content.decode()
    client.post(url, {"change": "owner"})
    client.post(url, {"change": "reset"})
    colleague.refresh_from_db()
    assert colleague.is_owner
    assert not colleague.authenticator_set.exists()
    client.post(url, {"change": "off"})
    colleague.refresh_from_db()
    assert not colleague.is_active


def test_owners_enter_licence_numbers_and_nobody_else_does(client_for, applicator):
    colleague = make_applicator(name="Terry Tech")
    url = reverse("office:staff_licence", args=[colleague.pk])
    owner, theirs = client_for(applicator), client_for(colleague)
    assert theirs.get(url).status_code == theirs.post(url, {}).status_code == 403
    assert "Only an owner can change it." in shown(theirs.get(reverse("accounts:profile")))
    theirs.post(reverse("accounts:profile"), {"name": "Terry", "licence_number": "T-1"})
    colleague.refresh_from_db()
    assert (colleague.name, colleague.licence_number) == ("Terry", "")
    assert 'name="licence_number"' in owner.get(url).content.decode()
    assert owner.post(url, {"licence_number": "T-2208"})["Location"] == reverse("office:staff")
    for client in (owner, theirs):
        text = shown(client.get(reverse("office:staff")))
        assert "Only owners can invite people, set licence numbers" in text
        assert "Licence T-2208." in text
    own = shown(theirs.get(reverse("accounts:profile")))
    assert "Licence number: <strong>T-2208</strong>." in own


def test_an_owner_enters_their_own_licence_from_their_account(client_for, applicator):
    client, url = client_for(applicator), reverse("office:staff_licence", args=[applicator.pk])
    assert url in client.get(reverse("accounts:profile")).content.decode()
    client.post(url, {"licence_number": "T-1"})
    applicator.refresh_from_db()
    assert applicator.licence_number == "T-1"


def test_who_joins_the_staff_is_asked_for_no_licence(client, applicator):
    invited = inviting.invite_staff(applicator, "new@applicator.example")
    assert "licence" not in client.get(path_of(invited)).content.decode().split("<form")[1]


def test_staff_who_are_not_owners_may_see_staff_but_not_change_it(client_for, applicator):
    client = client_for(make_applicator())
    assert client.get("/office/people/staff/").status_code == 200
    assert client.get("/office/people/staff/invite/").status_code == 403
    url = reverse("office:change_staff", args=[applicator.pk])
    assert client.post(url, {"change": "off"}).status_code == 403


def test_the_first_owner_comes_from_the_command_line(client, capsys):
    call_command("add_owner", "Boss@applicator.example", name="Pat Boss")
    path = re.search(r"http://[^/]+(/\S+)", capsys.readouterr().out)[1]
    form = client.get(path, follow=True)
    client.post(
        form.request["PATH_INFO"],
        {"password1": "three random words", "password2": "three random words"},
    )
    boss = User.objects.get(email="boss@applicator.example")
    assert boss.is_owner
    assert boss.check_password("three random words")


def test_a_builders_contact_cannot_become_an_owner(contact):
    with pytest.raises(CommandError, match="already signs in for a builder"):
        call_command("add_owner", contact.email)
    with pytest.raises(CommandError, match="not an e-mail address"):
        call_command("add_owner", "not an address")


def test_switching_a_contact_off_ends_their_sessions_for_good(applicator, contact, client_for):
    old = client_for(contact)
    assert old.get("/builder/").status_code == 200
    rights.switch_contact(applicator, contact.memberships.get(), on=False)
    assert old.get("/builder/").status_code == 302
    contact.refresh_from_db()
    rights.switch_contact(applicator, contact.memberships.get(), on=True)
    assert is_signed_out(old, "/builder/"), "the old cookie revived"
    assert client_for(User.objects.get(pk=contact.pk)).get("/builder/").status_code == 200


def test_switching_a_colleague_off_ends_their_sessions_for_good(client_for):
    owner = make_applicator(is_owner=True)
    colleague = make_applicator(password="three random words")
    old, home = client_for(colleague), reverse("office:home")
    assert old.get(home).status_code == 200
    cookie = old.cookies["sessionid"].value
    rights.switch_staff(owner, colleague, on=False)
    rights.switch_staff(owner, colleague, on=True)
    old.cookies["sessionid"] = cookie
    assert is_signed_out(old, home), "the old cookie revived"
    assert client_for(User.objects.get(pk=colleague.pk)).get(home).status_code == 200


def test_a_kept_session_of_somebody_switched_off_does_not_revive(applicator, contact, client_for):
    """Whatever store the sessions are in, and whoever brought the row back."""
    old = client_for(contact)
    row = Session.objects.get(session_key=old.cookies["sessionid"].value)
    rights.switch_contact(applicator, contact.memberships.get(), on=False)
    rights.switch_contact(applicator, BuilderContact.objects.get(user=contact), on=True)
    row.save(force_insert=not Session.objects.filter(pk=row.pk).exists())
    assert is_signed_out(old, "/builder/")


def test_nobody_is_signed_out_by_the_upgrade_alone(contact):
    """An account that was never switched off has the hash that Django alone would give it."""
    plain = salted_hmac(
        "django.contrib.auth.models.AbstractBaseUser.get_session_auth_hash",
        contact.password,
        algorithm="sha256",
    ).hexdigest()
    assert contact.get_session_auth_hash() == plain


def is_signed_out(client, page) -> bool:
    response = client.get(page)
    return response.status_code == 302 and "login" in response["Location"]
