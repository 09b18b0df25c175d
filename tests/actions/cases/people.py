"""The business, builders and people: a site's Record tells of none but a removal."""

from datetime import timedelta

from readiness import clock
from readiness.actions import sharing
from readiness.actions.firm import business, rule_values
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.people import builders, inviting, removing
from readiness.models import Paper
from tests.actions.cases.base import MAIL, NOW, RANKS, Case, case
from tests.factories import (
    make_applicator,
    make_contact,
)


@case(business.change_business)
def _(cast):
    return Case(
        lambda: business.change_business(cast.applicator, fixes_needed="said_fixed"),
        cast.applicator,
        handed_on=[RANKS],
    )


@case(rule_values.change_rule_values)
def _(cast):
    return Case(
        lambda: change_rule_values(cast.applicator, {"invitation_valid_days": "2"}),
        cast.applicator,
        handed_on=[RANKS],
    )


@case(builders.add_builder)
def _(cast):
    return Case(lambda: builders.add_builder(cast.applicator, name="New"), cast.applicator)


@case(builders.change_builder)
def _(cast):
    return Case(
        lambda: builders.change_builder(cast.applicator, cast.builder, name="Newer"),
        cast.applicator,
    )


@case(inviting.invite_contact)
def _(cast):
    return Case(
        lambda: inviting.invite_contact(cast.applicator, cast.builder, "kim@wattle.example"),
        cast.applicator,
        handed_on=[MAIL],
    )


@case(inviting.invite_staff)
def _(cast):
    return Case(
        lambda: inviting.invite_staff(cast.applicator, "kim@applicator.example"),
        cast.applicator,
        handed_on=[MAIL],
    )


def invited(cast) -> inviting.Invited:
    return inviting.invite_contact(cast.applicator, cast.builder, "kim@wattle.example")


@case(inviting.resend_invitation)
def _(cast):
    invitation = invited(cast).invitation
    return Case(
        lambda: inviting.resend_invitation(cast.applicator, invitation),
        cast.applicator,
        handed_on=[MAIL],
    )


@case(inviting.revoke_invitation)
def _(cast):
    invitation = invited(cast).invitation
    return Case(lambda: inviting.revoke_invitation(cast.applicator, invitation), cast.applicator)


@case(inviting.accept_invitation)
def _(cast):
    token = invited(cast).token
    with clock.at(NOW + timedelta(minutes=1)):
        report = cast.issued(kinds=())
    report.papers.update(
        state=Paper.State.MADE, digest="0" * 64, pages=1, started_at=NOW, made_at=NOW
    )
    return Case(lambda: inviting.accept_invitation(token, name="Kim"), None, handed_on=[MAIL])


@case(inviting.change_contact)
def _(cast):
    return Case(
        lambda: inviting.change_contact(
            cast.applicator, cast.contact.contact, position="Office", sites=None
        ),
        cast.applicator,
    )


@case(inviting.switch_contact)
def _(cast):
    return Case(
        lambda: inviting.switch_contact(cast.applicator, cast.contact.contact, on=False),
        cast.applicator,
    )


@case(inviting.switch_staff)
def _(cast):
    colleague = make_applicator()
    return Case(
        lambda: inviting.switch_staff(cast.applicator, colleague, on=False), cast.applicator
    )


@case(inviting.change_ownership)
def _(cast):
    colleague = make_applicator()
    return Case(
        lambda: inviting.change_ownership(cast.applicator, colleague, owner=True),
        cast.applicator,
    )


@case(removing.remove_person, "person_removed")
def _(cast):
    person = make_contact(cast.builder)
    sharing.share_trade_list(person, cast.site, "bricklayer")
    return Case(
        lambda: removing.remove_person(cast.applicator, person),
        cast.applicator,
        lambda _none: [{"person": str(person.pk)}],
    )
