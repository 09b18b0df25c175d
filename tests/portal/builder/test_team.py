"""The builder's own people: who let them in, what they may do, who vouches for them."""

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from readiness.actions import sharing
from readiness.actions.errors import Refused
from readiness.actions.people import inviting, rights, vouching
from readiness.messages.writing import write_email
from readiness.models import BuilderContact, Message
from tests.factories import (
    confirm,
    make_builder,
    make_contact,
    make_issued,
    make_site,
    proof_of,
    token_of,
)
from tests.pages import shown

pytestmark = pytest.mark.django_db

Role = BuilderContact.Role
TEAM = reverse("builder:team")


@pytest.fixture
def kim(applicator, builder, contact):
    invited = inviting.invite_contact(
        applicator, builder, "kim@wattle.example", sites=[make_site(builder)], role=Role.READER
    )
    return inviting.accept_invitation(token_of(invited), name="Kim New", position="Trainee")


def administrator(contact):
    contact.memberships.update(role=Role.ADMINISTRATOR)
    return contact


def test_a_contact_reads_who_let_each_in_and_what_they_may_do(
    client_for, applicator, builder, contact, kim
):
    rights.switch_contact(applicator, kim.memberships.get(), on=False)
    inviting.invite_contact(applicator, builder, "lee@wattle.example")
    page = shown(client_for(contact).get(TEAM))
    assert "Read only. Sees 1 site only." in page
    assert "Alex Applicator invited kim@wattle.example (Read only, 1 site only), " in page
    assert "Kim New accepted the invitation to kim@wattle.example, " in page
    assert "Alex Applicator switched the account off, " in page
    assert "Switched off" in page
    assert "lee@wattle.example" in page


def test_what_somebody_may_do_before_and_after_is_kept(client_for, applicator, contact, kim):
    rights.change_contact(
        applicator, kim.memberships.get(), position="Foreman", sites=None, role=Role.SUPERVISOR
    )
    page = shown(client_for(contact).get(TEAM))
    assert "Alex Applicator changed the rights: Supervisor, all sites, " in page


def test_nobody_reads_of_another_builders_people(client_for, kim, other_contact):
    page = shown(client_for(other_contact).get(TEAM))
    assert "Kim New" not in page
    assert "Robin Rival" in page


def test_the_office_reads_the_same_on_the_builders_page(client_for, applicator, builder, kim):
    page = shown(client_for(applicator).get(reverse("office:builder", args=[builder.pk])))
    assert "Kim New accepted the invitation to kim@wattle.example, " in page


def test_one_more_person_takes_no_query_more(
    client_for, contact, builder, kim, django_assert_max_num_queries
):
    client = client_for(contact)
    client.get(TEAM)
    with django_assert_max_num_queries(25) as few:
        client.get(TEAM)
    for _ in range(3):
        make_contact(builder)
    with django_assert_max_num_queries(len(few)):
        client.get(TEAM)


def test_the_first_person_of_a_builder_is_its_administrator(applicator):
    builder = make_builder()
    for address, role in (("one@a.example", "administrator"), ("two@a.example", "supervisor")):
        invited = inviting.invite_contact(applicator, builder, address)
        user = inviting.accept_invitation(token_of(invited), name="Somebody")
        assert user.memberships.get().role == role
        assert user.memberships.get().vouched_how == "address"


def test_who_only_reads_sees_sites_and_can_not_act(client_for, applicator, contact, site):
    report = make_issued(applicator, site, kinds=())
    contact.memberships.update(role=Role.READER)
    page = shown(client_for(contact).get(reverse("builder:confirm", args=[site.pk])))
    assert "You can read here. Ask us if you need to do more" in page
    with pytest.raises(PermissionDenied):
        confirm(contact, report)
    with pytest.raises(PermissionDenied):
        sharing.share_trade_list(contact, site, "bricklayer")


def test_who_nobody_vouches_for_signs_after_a_code_or_an_administrators_word(
    client_for, applicator, builder, contact, site
):
    """Imported, or switched on by the office: only a code shows that the address is theirs."""
    report = make_issued(applicator, site, kinds=())
    colleague = make_contact(builder)
    passkey = proof_of(colleague, method="passkey", address="")
    with pytest.raises(Refused, match="ask an administrator of your firm to vouch"):
        confirm(colleague, report, proof=passkey)
    client = client_for(administrator(contact))
    assert "Vouch for this account" in client.get(TEAM).content.decode()
    client.post(reverse("builder:vouch", args=[colleague.memberships.get().pk]))
    page = shown(client.get(TEAM))
    assert "Can sign: Sam Supervisor vouched for the account." in page
    colleague.memberships.get().refresh_from_db()
    assert confirm(colleague, report, proof=passkey)


def test_a_code_to_their_own_address_vouches_for_them(applicator, contact, site):
    report = make_issued(applicator, site, kinds=())
    assert confirm(contact, report)
    vouching.vouch_by_address(contact)
    contact.memberships.get().refresh_from_db()
    assert contact.memberships.get().vouched_how == "address"


def test_only_an_administrator_of_that_builder_vouches(contact, other_contact, builder):
    colleague = make_contact(builder).memberships.get()
    for somebody in (contact, administrator(other_contact)):
        with pytest.raises(PermissionDenied):
            vouching.vouch_for(somebody, colleague)
    with pytest.raises(Refused, match="vouch for yourself"):
        vouching.vouch_for(administrator(contact), contact.memberships.get())


def test_the_e_mail_about_a_new_account_says_who_and_what_to_do(contact, kim):
    message = Message.objects.get(kind="account_added", to=contact)
    body = write_email(message).email.body
    assert "Kim New (kim@wattle.example) can now sign in for Wattle Homes." in " ".join(
        body.split()
    )
    assert TEAM in body
