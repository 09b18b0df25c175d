"""Who hears of an issued report: those chosen, and who joins the builder afterwards."""

from datetime import UTC, datetime, timedelta

import pytest

from readiness import clock
from readiness.actions.people import inviting, rights
from readiness.actions.visits import booking
from readiness.messages import telling
from readiness.messages.telling import Why
from readiness.models import Message, Paper
from tests.factories import confirm, make_contact, make_issued, make_site, token_of

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _in_november():
    with clock.at(NOW):
        yield


def join(applicator, builder, *, after=lambda: None, sites=None):
    """Somebody who is invited, and accepts a day later; `after` happens in between."""
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example", sites=sites)
    with clock.at(NOW + timedelta(hours=1)):
        after()
    with clock.at(NOW + timedelta(days=1)):
        return inviting.accept_invitation(token_of(invited), name="New Start", password="x" * 20)


def told(user):
    return list(
        Message.objects.filter(kind="report_issued", to=user).values_list("about", flat=True)
    )


def test_who_accepts_after_the_issue_gets_the_report(applicator, builder, contact, site):
    issued = []
    newcomer = join(
        applicator,
        builder,
        after=lambda: issued.append(
            make_issued(applicator, site, notify=[contact.memberships.get()])
        ),
    )
    assert told(newcomer) == [issued[0].pk]
    message = Message.objects.get(kind="report_issued", to=newcomer)
    assert message.state == "held"  # its papers are not made yet


def test_it_goes_at_once_where_the_papers_are_made(applicator, builder, site):
    make_issued(applicator, site)
    Paper.objects.update(state=Paper.State.MADE, made_at=NOW, digest="0" * 64)
    newcomer = join(applicator, builder)
    assert Message.objects.get(kind="report_issued", to=newcomer).state == "waiting"


def test_a_report_that_nobody_was_told_of_goes_to_the_first_who_joins(applicator, builder, site):
    report = make_issued(applicator, site)
    with clock.at(NOW + timedelta(minutes=1)):
        assert told(join(applicator, builder)) == [report.pk]


def test_who_joins_a_builder_gets_no_heap_of_old_reports(applicator, builder, contact, site):
    with clock.at(NOW - timedelta(days=3)):
        make_issued(applicator, site, notify=[contact.memberships.get()])
    assert told(join(applicator, builder)) == []


def test_a_site_that_names_whom_to_tell_leaves_the_others_out(applicator, builder, contact, site):
    site.notify.set([contact.memberships.get()])
    newcomer = join(applicator, builder, after=lambda: make_issued(applicator, site))
    assert told(newcomer) == []


def test_only_of_sites_that_they_can_see(applicator, builder, site):
    other = make_site(builder)
    newcomer = join(applicator, builder, after=lambda: make_issued(applicator, site), sites=[other])
    assert told(newcomer) == []


def test_a_treated_house_asks_for_nothing(applicator, builder, contact, site):
    def treat():
        report = make_issued(applicator, site, kinds=())
        confirm(contact, report)
        day = clock.now().astimezone(site.zone).date()
        booked = booking.offer_date(applicator, site, day=day, half="morning")
        booking.accept_offer(contact, booked)
        booking.record_treatment(applicator, booked, used_ml=5000)

    assert told(join(applicator, builder, after=treat)) == []


def test_everybody_who_is_not_told_is_named_with_why(applicator, builder, contact, site):
    off = make_contact(builder, name="Olly Off")
    rights.switch_contact(applicator, off.memberships.get(), on=False)
    make_contact(builder, name="Elsa Elsewhere", sites=[])
    make_contact(builder, name="Una Unticked")
    inviting.invite_contact(applicator, builder, "new@wattle.example")
    with clock.at(NOW - timedelta(days=90)):
        inviting.invite_contact(applicator, builder, "old@wattle.example")
    found = {one.who: one.why for one in telling.not_told(site, [contact.pk])}
    assert found == {
        "Olly Off": Why.SWITCHED_OFF,
        "Elsa Elsewhere": Why.OTHER_SITES,
        "Una Unticked": Why.NOT_TICKED,
        "new@wattle.example": Why.INVITED,
        "old@wattle.example": Why.LINK_EXPIRED,
    }
