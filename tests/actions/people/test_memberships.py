"""One account in several builders: in each it may what that membership says, and nothing else."""

from itertools import product

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from readiness.actions import sharing
from readiness.actions.errors import Refused
from readiness.actions.people import inviting, profile, removing, rights, vouching
from readiness.actions.permission import require_administrator, require_contact, require_visible
from readiness.actions.visits.proof import proof_problems
from readiness.evidence.checking import check_business
from readiness.evidence.kept import key_of
from readiness.messages import outbox
from readiness.messages.writing import NotNeeded, write_email
from readiness.models import BuilderContact, Message, RecordEntry, Site, TradeLink, User
from readiness.models.freeze import without_triggers
from tests.factories import (
    confirm,
    join,
    make_applicator,
    make_builder,
    make_contact,
    make_issued,
    make_runs,
    make_site,
    proof_of,
    token_of,
)
from tests.pages import shown
from tests.recorded import verified

pytestmark = pytest.mark.django_db

Role = BuilderContact.Role
TEAM, PROFILE = reverse("builder:team"), reverse("accounts:profile")


@pytest.fixture
def banksia():
    return make_builder("Banksia Builders")


@pytest.fixture
def sam(contact, banksia):
    """A supervisor at Wattle Homes, who only reads at Banksia Builders."""
    contact.memberships.update(vouched_how="administrator")
    join(contact, banksia, role=Role.READER)
    return contact


@pytest.fixture
def elsewhere(banksia):
    site = make_site(banksia)
    make_runs(site)
    return site


# What counts where


def test_a_supervisor_of_one_builder_only_reads_at_the_other(
    client_for, applicator, sam, site, elsewhere
):
    foreign = make_site(make_builder("Casuarina Homes"))
    for one in (site, elsewhere, foreign):
        make_issued(applicator, one, kinds=())
    assert set(Site.objects.visible_to(sam)) == {site, elsewhere}
    client = client_for(sam)
    shares = {one: reverse("builder:share", args=[one.pk, "bricklayer"]) for one in (site, foreign)}
    assert client.get(reverse("builder:site", args=[elsewhere.pk])).status_code == 200
    assert client.get(reverse("builder:site", args=[foreign.pk])).status_code == 404
    assert client.get(shares[foreign]).status_code == 404
    assert sharing.share_trade_list(sam, site, "bricklayer")
    for one in (elsewhere, foreign):
        with pytest.raises(PermissionDenied):
            sharing.share_trade_list(sam, one, "bricklayer")
    assert TradeLink.objects.filter(created_by=sam).values_list("site", flat=True).get() == site.pk


def test_who_vouches_at_one_builder_does_so_there_alone(applicator, sam, site, elsewhere):
    here, there = (make_issued(applicator, one, kinds=()) for one in (site, elsewhere))
    passkey = proof_of(sam, method="passkey", address="")
    with pytest.raises(PermissionDenied):
        confirm(sam, there, proof=passkey)
    sam.memberships.filter(builder=elsewhere.builder).update(role=Role.SUPERVISOR)
    with pytest.raises(Refused, match="ask an administrator of your firm to vouch"):
        confirm(sam, there, proof=passkey)
    assert confirm(sam, here, proof=passkey)
    assert confirm(sam, there), "a code goes to their own address, whatever the builder"


def test_the_position_that_is_signed_with_is_that_of_the_sites_builder(
    applicator, sam, site, elsewhere
):
    sam.memberships.filter(builder=elsewhere.builder).update(
        role="supervisor", position="Estimator"
    )
    here, there = (make_issued(applicator, one, kinds=()) for one in (site, elsewhere))
    assert confirm(sam, here).position == "Site supervisor"
    assert confirm(sam, there).position == "Estimator"


SITES = ("all", "this one", "another one")
MATRIX = list(product(Role.values, ("", "administrator"), (True, False), SITES))


def test_each_right_goes_by_the_membership_in_that_builder(applicator, banksia, subtests):
    """Everything at another builder, which must not count here."""
    site, other = make_site(banksia), make_site(banksia)
    seen = {"all": None, "this one": [site], "another one": [other]}
    member = make_contact()
    member.memberships.update(role=Role.ADMINISTRATOR, vouched_how="address")
    here = join(member, banksia)
    for role, vouched, active, sites in MATRIX:
        with subtests.test(role=role, vouched=vouched, active=active, sites=sites):
            here.role, here.vouched_how, here.is_active = role, vouched, active
            here.all_sites = sites == "all"
            here.save()
            here.sites.set(seen[sites] or [])
            sees = active and sites != "another one"
            acts = sees and role != Role.READER
            assert Site.objects.visible_to(member).filter(pk=site.pk).exists() == sees
            assert (member in outbox.builder_side(site)) == sees
            assert allowed(require_contact, member, site) == acts
            assert allowed(require_visible, member, site) == acts
            is_administrator = active and role == Role.ADMINISTRATOR
            assert allowed(require_administrator, member, banksia.pk) == is_administrator
            passkey = proof_of(member, method="passkey", address="")
            assert bool(proof_problems(member, passkey, site)) != (active and bool(vouched))


def allowed(require, *given) -> bool:
    try:
        require(*given)
    except PermissionDenied:
        return False
    return True


def test_an_administrator_of_one_builder_vouches_there_alone(applicator, sam, builder, banksia):
    sam.memberships.filter(builder=builder).update(role=Role.ADMINISTRATOR)
    vouching.vouch_for(sam, make_contact(builder).memberships.get())
    with pytest.raises(PermissionDenied):
        vouching.vouch_for(sam, make_contact(banksia).memberships.get())


def test_a_code_to_the_own_address_counts_at_each_builder_and_the_record_names_them(sam, builder):
    vouching.vouch_by_address(sam)
    entries = RecordEntry.objects.filter(verb="account_vouched")
    told = {entry.data["builder"] for entry in entries}
    assert told == {str(one.builder_id) for one in sam.memberships.all()}
    assert set(sam.memberships.values_list("vouched_how", flat=True)) == {"address"}


# Screens


def test_lists_have_the_sites_of_all_builders_and_name_each(client_for, sam, site, elsewhere):
    foreign = make_site(make_builder("Casuarina Homes"))
    for name in ("builder:home", "builder:sites"):
        page = shown(client_for(sam).get(reverse(name)))
        assert f"Job {site.job_number} · Wattle Homes" in page
        assert f"Job {elsewhere.job_number} · Banksia Builders" in page
        assert foreign.street not in page


def test_who_belongs_to_one_builder_reads_no_name_beside_each_site(client_for, contact, site):
    page = shown(client_for(contact).get(reverse("builder:home")))
    assert f"Job {site.job_number}" in page
    assert "Wattle Homes" not in page


def test_more_builders_take_no_query_more(client_for, sam, django_assert_max_num_queries):
    client, home = client_for(sam), reverse("builder:home")
    client.get(home)
    with django_assert_max_num_queries(20) as one:
        client.get(home)
    for _ in range(3):
        join(sam, make_builder())
    with django_assert_max_num_queries(len(one)):
        client.get(home)


def test_the_page_of_people_has_a_part_for_each_builder(client_for, applicator, sam, banksia):
    colleague = make_contact(banksia, name="Lee Colleague")
    sam.memberships.filter(builder__name="Wattle Homes").update(role=Role.ADMINISTRATOR)
    page = shown(client_for(sam).get(TEAM))
    assert page.index("Banksia Builders") < page.index("Lee Colleague") < page.index("Wattle Homes")
    assert "Vouch for this account" not in page, "an administrator, but not of that builder"
    theirs = shown(client_for(colleague).get(TEAM))
    assert "People of Banksia Builders" in theirs
    assert "Sam Supervisor" in theirs
    assert "Wattle" not in theirs


def test_nobody_reads_what_happened_to_a_colleague_at_another_builder(
    client_for, applicator, sam, builder, banksia
):
    here, there = sam.memberships.get(builder=builder), sam.memberships.get(builder=banksia)
    rights.change_contact(applicator, here, position="Boss", sites=None, role="administrator")
    rights.change_contact(applicator, there, position="Help", sites=None, role="supervisor")
    colleague = make_contact(banksia)
    page = shown(client_for(colleague).get(TEAM))
    assert "changed the rights: Supervisor, all sites" in page
    assert "changed the rights: Administrator" not in page


def test_each_position_is_changed_by_itself(client_for, sam, builder, banksia):
    client = client_for(sam)
    page = shown(client.get(PROFILE))
    assert "for Banksia Builders, Wattle Homes" in page
    assert "Position at Banksia Builders" in page
    client.post(PROFILE, {"name": sam.name, "position": "Foreman", "position_2": "Adviser"})
    assert sam.memberships.get(builder=builder).position == "Foreman"
    assert sam.memberships.get(builder=banksia).position == "Adviser"
    entry = RecordEntry.objects.get(verb="profile_changed")
    assert set(entry.data["builders"]) == {str(builder.pk), str(banksia.pk)}
    assert not verified().first_break


def test_a_position_at_a_builder_of_others_is_not_changed(sam):
    foreign = make_contact().memberships.get()
    profile.change_profile(sam, positions={foreign.builder_id: "Boss"})
    foreign.refresh_from_db()
    assert foreign.position == "Site supervisor"


# Joining


@pytest.fixture
def invited(applicator, contact, banksia):
    return inviting.invite_contact(applicator, banksia, contact.email, role=Role.READER)


def link(invitation) -> str:
    return reverse("accounts:invitation", args=[token_of(invitation)])


def test_one_more_builder_is_accepted_from_the_account_itself(
    client_for, contact, banksia, invited, django_capture_on_commit_callbacks
):
    colleague = make_contact(banksia)
    client = client_for(contact)
    page = shown(client.get(link(invited)))
    assert "Sign in for Banksia Builders too" in page
    assert not contact.memberships.filter(builder=banksia).exists(), "looking accepts nothing"
    assert client.post(link(invited), {"position": "Adviser"}).status_code == 302
    here = contact.memberships.get(builder=banksia)
    assert (here.role, here.position, here.number) == (Role.READER, "Adviser", 2)
    contact.refresh_from_db()
    assert contact.name == "Sam Supervisor", "the account stays as it is"
    entry = RecordEntry.objects.get(verb="invitation_accepted")
    assert entry.data["builder"] == str(banksia.pk)
    told = Message.objects.get(kind="account_added")
    assert told.to == colleague
    body = " ".join(write_email(told).email.body.split())
    assert "can now sign in for Banksia Builders. Read only." in body
    assert "Wattle" not in body
    assert not verified().first_break


def test_the_link_alone_lets_nobody_into_an_account(client_for, contact, banksia, invited):
    stranger = client_for()
    page = shown(stranger.get(link(invited)))
    assert "You have an account already. Sign in with it, then open the link" in page
    stranger.post(link(invited), {"name": "Eve", "position": "Adviser"})
    assert "_auth_user_id" not in stranger.session
    with pytest.raises(Refused, match="has an account already"):
        inviting.accept_invitation(token_of(invited), name="Eve")
    assert not contact.memberships.filter(builder=banksia).exists()


@pytest.mark.parametrize("make", [make_contact, make_applicator])
def test_another_account_can_not_accept(client_for, make, contact, banksia, invited):
    somebody = make()
    page = shown(client_for(somebody).get(link(invited)))
    assert f"Sign out, sign in as {contact.email}" in page
    client_for(somebody).post(link(invited), {"position": "Adviser"})
    with pytest.raises(PermissionDenied):
        inviting.join_builder(somebody, token_of(invited))
    assert not somebody.memberships.filter(number__gt=1).exists()


def test_an_account_that_was_switched_off_can_not_accept(contact, banksia, invited):
    contact.is_active = False
    contact.save(update_fields=["is_active"])
    with pytest.raises(PermissionDenied):
        inviting.join_builder(contact, token_of(invited))
    assert not contact.memberships.filter(builder=banksia).exists()


def test_the_e_mail_says_to_sign_in_and_not_to_enter_a_name(contact, invited):
    body = " ".join(write_email(Message.objects.get(kind="invitation")).email.body.split())
    assert "Open this link, sign in with your account and accept:" in body
    assert "Wattle" not in body


def test_staff_stay_staff(applicator, builder, contact):
    with pytest.raises(Refused, match="belongs to the applicator's staff"):
        inviting.invite_contact(applicator, builder, make_applicator().email)
    with pytest.raises(Refused, match="Staff need another address") as refused:
        inviting.invite_staff(applicator, contact.email)
    assert "Wattle" not in str(refused.value)


def test_invitations_of_two_builders_stand_beside_each_other(applicator, builder, banksia):
    first = inviting.invite_contact(applicator, builder, "kim@kim.example")
    second = inviting.invite_contact(applicator, banksia, "kim@kim.example")
    kim = inviting.accept_invitation(token_of(first), name="Kim")
    inviting.join_builder(kim, token_of(second), position="Adviser")
    assert [one.number for one in kim.memberships.order_by("number")] == [1, 2]


def test_who_joins_is_told_of_that_builders_reports_only(applicator, contact, site, elsewhere):
    """Nobody was told of either; those of the other builder are none of this one's business."""
    for one in (site, elsewhere):
        make_issued(applicator, one)
    Message.objects.all().delete()
    invited = inviting.invite_contact(applicator, elsewhere.builder, contact.email)
    inviting.join_builder(contact, token_of(invited))
    assert Message.objects.get(kind="report_issued").site == elsewhere


# Leaving


def test_one_membership_is_switched_off_and_the_other_stays(
    client_for, applicator, sam, builder, banksia, site, elsewhere
):
    client = client_for(sam)
    rights.switch_contact(applicator, sam.memberships.get(builder=builder), on=False)
    assert client.get(reverse("builder:site", args=[site.pk])).status_code == 404
    assert client.get(reverse("builder:site", args=[elsewhere.pk])).status_code == 200
    entry = RecordEntry.objects.get(verb="switched_off")
    assert entry.data == {"person": str(sam.pk), "builder": str(builder.pk)}
    last = sam.memberships.get(builder=banksia)
    rights.switch_contact(applicator, last, on=False)
    assert not User.objects.get(pk=sam.pk).is_active
    assert client.get(reverse("builder:site", args=[elsewhere.pk])).status_code == 302
    rights.switch_contact(applicator, last, on=True)
    assert set(Site.objects.visible_to(User.objects.get(pk=sam.pk))) == {elsewhere}
    assert not verified().first_break


def test_no_e_mail_tells_of_the_people_of_a_builder_that_somebody_left(applicator, sam, banksia):
    rights.switch_contact(applicator, make_contact(banksia).memberships.get(), on=False)
    newcomer = make_contact(banksia, is_active=False)
    newcomer.memberships.update(is_active=False)
    rights.switch_contact(applicator, newcomer.memberships.get(), on=True)
    waiting = Message.objects.get(kind="account_added", to=sam)
    rights.switch_contact(applicator, sam.memberships.get(builder=banksia), on=False)
    with pytest.raises(NotNeeded):
        write_email(waiting)


def test_an_e_mail_about_rights_names_the_builder(applicator, sam, banksia):
    there = sam.memberships.get(builder=banksia)
    rights.change_contact(applicator, there, position="Help", sites=None, role="supervisor")
    told = Message.objects.get(kind="account_changed", to=sam)
    body = " ".join(write_email(told).email.body.split())
    assert "changed what Sam Supervisor may see and do for Banksia Builders." in body


def test_removing_the_details_of_a_person_covers_every_builder(applicator, sam):
    verified()
    removing.remove_person(applicator, sam)
    assert not sam.memberships.filter(is_active=True).exists()
    assert set(sam.memberships.values_list("position", flat=True)) == {""}
    assert not verified().first_break


# The Record


def test_the_first_membership_keeps_its_name_in_the_record(sam, builder, banksia):
    assert key_of(sam.memberships.get(builder=builder)) == f"contact/{sam.pk}"
    assert key_of(sam.memberships.get(builder=banksia)) == f"contact/{sam.pk}/2"


@pytest.mark.parametrize("change", ["user", "number", "builder", "role"])
def test_a_membership_that_was_changed_past_the_portal_is_found(sam, banksia, change):
    assert not verified().first_break
    there = sam.memberships.filter(builder=banksia)
    with without_triggers():
        if change == "user":
            there.update(user=make_contact().pk)
        elif change == "number":
            there.update(number=7)
        elif change == "builder":
            there.update(builder=make_builder())
        else:
            there.update(role=Role.ADMINISTRATOR)
    assert check_business().first_break
