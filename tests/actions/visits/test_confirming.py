"""Confirming readiness: only when nothing holds, in full, and it lapses."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import confirming
from readiness.facts import SiteState
from readiness.models import Business, Message, Paper
from tests.factories import (
    all_ticks,
    confirm,
    make_draft,
    make_issued,
    make_item,
    make_photo,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def clean_report(applicator, site):
    return make_issued(applicator, site, kinds=())


def in_force(site) -> bool:
    return SiteState.of(site).assessment.confirmation_in_force


def test_a_clean_site_is_confirmed_with_every_wall_ticked(contact, clean_report, site):
    confirmation = confirm(contact, clean_report)
    assert confirmation.statement == Business.current().confirmation_statement
    assert set(confirmation.ticks) == set(all_ticks(site))
    assert in_force(site)
    assert Message.objects.filter(kind="ready_confirmed").exists()


def test_an_item_that_holds_keeps_it_from_being_signed(contact, applicator, site):
    report = make_issued(applicator, site, kinds=("dirty_brick",))
    with pytest.raises(Refused) as refused:
        confirm(contact, report)
    item = report.items.get()
    assert [problem.about_id for problem in refused.value.problems] == [str(item.pk)]


def test_a_missing_tick_names_wall_and_word(contact, clean_report, site):
    ticks = all_ticks(site)
    ticks[str(site.wall_runs.first().pk)] = ["clean", "clear"]
    with pytest.raises(Refused, match="North wall: tick dry"):
        confirm(contact, clean_report, ticks=ticks)


def test_the_name_and_position_are_the_accounts(contact, clean_report):
    confirmation = confirm(contact, clean_report, signed_as=["  sam   SUPERVISOR ", ""])
    assert (confirmation.name, confirmation.position) == (
        contact.name,
        contact.memberships.get().position,
    )
    assert confirmation.signature == "", "nobody typed one"


def test_another_name_can_not_sign(contact, clean_report):
    with pytest.raises(Refused, match="“Olga Other” can't sign here"):
        confirm(contact, clean_report, signed_as=[contact.name, "Olga Other"])
    assert not clean_report.confirmations.exists()


def test_a_position_with_another_builder_signs_nothing_here(contact, other_contact, site):
    assert confirming.signer_problems(contact, site) == []
    (problem,) = confirming.signer_problems(other_contact, site)
    assert "no position" in problem.sentence


@pytest.mark.parametrize("field", ["name", "position"])
def test_nothing_is_signed_by_an_account_that_does_not_say_who(contact, clean_report, field):
    person = contact if field == "name" else contact.memberships.get()
    setattr(person, field, " ")
    person.save()
    with pytest.raises(Refused, match=f"Your account has no {field} yet"):
        confirm(contact, clean_report)


def test_the_applicator_cannot_sign_for_the_builder(applicator, clean_report):
    with pytest.raises(PermissionDenied):
        confirm(applicator, clean_report)


@pytest.mark.parametrize(("policy", "enough"), [("accepted", False), ("said_fixed", True)])
def test_the_business_chooses_whether_said_fixed_is_enough(
    contact, applicator, site, policy, enough
):
    Business.objects.update_or_create(pk=1, defaults={"fixes_needed": policy})
    report = make_issued(applicator, site)
    fixes.report_fixed(contact, report.items.get(), photos=[make_photo(site, contact)])
    assert SiteState.of(site).assessment.can_confirm is enough


def test_it_lapses_when_its_days_have_run_out(contact, clean_report, site):
    confirmation = confirm(contact, clean_report)
    # common practice (no source): seven days, a value that the business can change.
    assert confirmation.valid_until - confirmation.confirmed_at == timedelta(days=7)
    with clock.at(confirmation.valid_until - timedelta(minutes=1)):
        assert in_force(site)
    with clock.at(confirmation.valid_until + timedelta(minutes=1)):
        assert not in_force(site)


def test_it_lapses_when_a_new_holding_item_is_issued(contact, clean_report, site, applicator):
    confirm(contact, clean_report)
    second = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, second, run)
    make_item(applicator, second, kind="dirty_brick")
    issuing.issue_report(applicator, second)
    assert not in_force(site)
    assert any(reason.code.has_lapsed for reason in SiteState.of(site).assessment.booking_reasons)


def test_a_withdrawal_makes_a_new_edition_of_its_paper_and_keeps_the_signed_one(
    contact, clean_report
):
    confirmation = confirm(contact, clean_report)
    papers = Paper.objects.filter(confirmation=confirmation)
    papers.update(state="made", digest="0" * 64, made_at=clock.now())
    confirming.withdraw_confirmation(contact, confirmation, reason="Scaffold is back.")
    confirming.withdraw_confirmation(contact, confirmation, reason="Scaffold is back.")
    first, second = papers.order_by("edition")
    assert (first.state, first.edition_reason, first.withheld_at) == ("made", "", None)
    assert second.edition_reason == "The confirmation was withdrawn."


def test_a_withdrawal_before_the_paper_is_made_leaves_one_paper(contact, clean_report):
    confirmation = confirm(contact, clean_report)
    confirming.withdraw_confirmation(contact, confirmation, reason="Scaffold is back.")
    assert Paper.objects.get(confirmation=confirmation).edition == 1


def test_it_ends_when_it_is_withdrawn_with_a_reason(contact, clean_report, site):
    confirmation = confirm(contact, clean_report)
    with pytest.raises(Refused, match="Say why"):
        confirming.withdraw_confirmation(contact, confirmation, reason="")
    confirming.withdraw_confirmation(contact, confirmation, reason="Scaffold is back.")
    assert not in_force(site)


def test_signing_a_superseded_report_says_so(contact, clean_report, site, applicator):
    second = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, second, run)
    issuing.issue_report(applicator, second)
    with pytest.raises(Refused, match="newer report"):
        confirm(contact, clean_report)
