"""The page that issues a report says who is told and who is not, and so does the page after it."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions.people import inviting, rights
from readiness.actions.reporting import drafts
from tests.factories import make_contact, make_draft, make_issued, token_of

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def draft(applicator, site):
    draft = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    return draft


def test_who_can_not_be_told_yet_is_named_before_the_report_is_issued(
    client_for, applicator, builder, contact, draft
):
    off = make_contact(builder, name="Olly Off")
    rights.switch_contact(applicator, off.memberships.get(), on=False)
    inviting.invite_contact(applicator, builder, "new@wattle.example")
    page = client_for(applicator).get(reverse("office:issue", args=[draft.pk]))
    assert page.context["not_told"] == [
        "Olly Off: switched off",
        "new@wattle.example: invited, not joined yet",
    ]
    assert "Anybody not ticked gets no e-mail." in page.content.decode()


def test_who_was_not_told_is_named_afterwards(client_for, applicator, builder, contact, site):
    make_contact(builder, name="Una Unticked")
    report = make_issued(applicator, site, notify=[contact.memberships.get()])
    page = client_for(applicator).get(reverse("office:issued", args=[report.pk]))
    assert page.context["not_told"] == ["Una Unticked: not ticked"]
    assert "Una Unticked: not ticked" in page.content.decode()


def test_who_joined_after_the_issue_is_not_said_to_have_been_left_out(
    client_for, applicator, builder, contact, site
):
    """The site names whom to tell, so who joins later gets no e-mail about this report."""
    site.notify.set([contact.memberships.get()])
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    report = make_issued(applicator, site, notify=[contact.memberships.get()])
    with clock.at(NOW + timedelta(days=1)):
        inviting.accept_invitation(token_of(invited), name="New Start", password="x" * 20)
        page = client_for(applicator).get(reverse("office:issued", args=[report.pk]))
        assert page.context["not_told"] == ["New Start: joined after the report was issued"]
        draft = make_draft(applicator, site)
        page = client_for(applicator).get(reverse("office:issue", args=[draft.pk]))
        assert page.context["not_told"] == []


def test_a_site_that_names_only_people_who_are_switched_off_ticks_everyone_else(
    client_for, applicator, builder, contact, site, draft
):
    off = make_contact(builder, name="Olly Off")
    site.notify.set([off.memberships.get()])
    rights.switch_contact(applicator, off.memberships.get(), on=False)
    form = client_for(applicator).get(reverse("office:issue", args=[draft.pk])).context["form"]
    assert form.initial["notify"] == [contact.memberships.get().pk]
