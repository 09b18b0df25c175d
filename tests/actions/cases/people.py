"""The business, builders and people: told in the business's own Record."""

import json
from dataclasses import replace
from datetime import timedelta
from functools import partial
from uuid import uuid4

from allauth.mfa.models import Authenticator

from readiness import clock
from readiness.actions import sharing
from readiness.actions.firm import business, days_off, rule_values
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.people import (
    builders,
    inviting,
    profile,
    removing,
    rights,
    second_factor,
    vouching,
)
from readiness.models import BuilderContact, Invitation, Paper
from tests.actions.cases.base import MAIL, NOW, RANKS, THEMSELVES, Case, case
from tests.factories import SHOW_DAY, make_applicator, make_contact, make_day_off, token_of


def settings(before: dict, after: dict) -> dict:
    said = {"before": json.dumps(before), "after": json.dumps(after)}
    return {"fields": sorted(before), **said}


@case(business.change_business, "business_changed")
def _(cast):
    return Case(
        lambda: business.change_business(cast.applicator, fixes_needed="said_fixed"),
        cast.applicator,
        lambda _business: [settings({"fixes_needed": "accepted"}, {"fixes_needed": "said_fixed"})],
        handed_on=[MAIL, RANKS],
    )


@case(rule_values.change_rule_values, "rule_values_changed")
def _(cast):
    return Case(
        lambda: change_rule_values(cast.applicator, {"invitation_valid_days": "2"}),
        cast.applicator,
        lambda _business: [
            settings({"rule_overrides": {}}, {"rule_overrides": {"invitation_valid_days": 2}})
        ],
        handed_on=[MAIL, RANKS],
    )


IN_WORDS = "Brisbane show day: second Wednesday of August, every year, postcodes 4000-4179"


@case(days_off.keep_day_off, "day_off_added")
def _(cast):
    return Case(
        lambda: days_off.keep_day_off(cast.applicator, SHOW_DAY, day_off_id=uuid4()),
        cast.applicator,
        lambda _row: [{"day_off": IN_WORDS}],
        handed_on=[MAIL],
    )


@case(days_off.keep_day_off, "day_off_changed")
def _(cast):
    row = make_day_off()
    everywhere = replace(SHOW_DAY, postcodes=())
    return Case(
        lambda: days_off.keep_day_off(cast.applicator, everywhere, day_off_id=row.pk),
        cast.applicator,
        lambda _row: [
            {
                "day_off": "Brisbane show day: second Wednesday of August, every year, everywhere",
                "day_off_before": IN_WORDS,
            }
        ],
        handed_on=[MAIL],
    )


@case(days_off.remove_day_off, "day_off_removed")
def _(cast):
    row = make_day_off()
    return Case(
        lambda: days_off.remove_day_off(cast.applicator, row),
        cast.applicator,
        lambda _none: [{"day_off_before": IN_WORDS}],
        handed_on=[MAIL],
    )


@case(builders.add_builder, "builder_added")
def _(cast):
    return Case(
        lambda: builders.add_builder(cast.applicator, name="New"),
        cast.applicator,
        lambda builder: [{"builder": str(builder.pk)}],
    )


@case(builders.change_builder, "builder_changed")
def _(cast):
    return Case(
        lambda: builders.change_builder(cast.applicator, cast.builder, name="Newer"),
        cast.applicator,
        lambda builder: [{"builder": str(builder.pk)}],
    )


def of_invited(made: Invitation) -> list[dict]:
    return [{"invitation": str(made.pk)} | builder_of(made)]


def builder_of(made: Invitation | BuilderContact) -> dict:
    return {"builder": str(made.builder_id)} if made.builder_id else {}


@case(inviting.invite_contact, "person_invited")
def _(cast):
    return Case(
        lambda: inviting.invite_contact(cast.applicator, cast.builder, "kim@wattle.example"),
        cast.applicator,
        lambda made: [of_invited(made)[0] | {"rights": {"role": "supervisor", "sees": "all"}}],
        handed_on=[MAIL],
    )


@case(inviting.invite_staff, "person_invited")
def _(cast):
    return Case(
        lambda: inviting.invite_staff(cast.applicator, "kim@applicator.example"),
        cast.applicator,
        of_invited,
        handed_on=[MAIL],
    )


def invited(cast) -> Invitation:
    return inviting.invite_contact(cast.applicator, cast.builder, "kim@wattle.example")


@case(inviting.resend_invitation, "invitation_renewed")
def _(cast):
    invitation = invited(cast)
    return Case(
        lambda: inviting.resend_invitation(cast.applicator, invitation),
        cast.applicator,
        of_invited,
        handed_on=[MAIL],
    )


@case(inviting.revoke_invitation, "invitation_cancelled")
def _(cast):
    invitation = invited(cast)
    return Case(
        lambda: inviting.revoke_invitation(cast.applicator, invitation),
        cast.applicator,
        of_invited,
    )


@case(inviting.accept_invitation, "invitation_accepted")
def _(cast):
    made = invited(cast)
    with clock.at(NOW + timedelta(minutes=1)):
        report = cast.issued(kinds=())
    report.papers.update(
        state=Paper.State.MADE, digest="0" * 64, pages=1, started_at=NOW, made_at=NOW
    )

    def entries(person):
        return [{"person": str(person.pk), **of_invited(made)[0]}]

    do = partial(inviting.accept_invitation, token_of(made), name="Kim")
    return Case(do, THEMSELVES, entries, handed_on=[MAIL, MAIL])


@case(inviting.join_builder, "invitation_accepted")
def _(cast):
    """An account of one builder accepts that another one invites it."""
    newcomer = make_contact()
    made = inviting.invite_contact(cast.applicator, cast.builder, newcomer.email)
    token, cast.contact = token_of(made), newcomer
    return Case(
        lambda: inviting.join_builder(cast.contact, token, position="Office"),
        newcomer,
        lambda _contact: [{"person": str(newcomer.pk), **of_invited(made)[0]}],
        handed_on=[MAIL],
    )


def about(contact: BuilderContact) -> dict:
    return {"person": str(contact.user_id), "builder": str(contact.builder_id)}


@case(rights.change_contact, "access_changed")
def _(cast):
    member = cast.contact.memberships.get()
    return Case(
        lambda: rights.change_contact(
            cast.applicator,
            member,
            position="Office",
            sites=[cast.site],
            role="reader",
        ),
        cast.applicator,
        lambda _contact: [
            {
                **about(member),
                "rights_before": {"role": "supervisor", "sees": "all"},
                "rights": {"role": "reader", "sees": [str(cast.site.pk)]},
            }
        ],
        handed_on=[MAIL, MAIL],
    )


@case(vouching.vouch_by_address, "account_vouched")
def _(cast):
    return Case(
        lambda: vouching.vouch_by_address(cast.contact),
        cast.contact,
        lambda person: [{**about(person.memberships.get()), "how": "address"}],
    )


@case(vouching.vouch_for, "account_vouched")
def _(cast):
    cast.contact.memberships.update(role="administrator")
    colleague = make_contact(cast.builder).memberships.get()
    return Case(
        lambda: vouching.vouch_for(cast.contact, colleague),
        cast.contact,
        lambda _contact: [{**about(colleague), "how": "administrator"}],
    )


@case(rights.switch_contact, "switched_off")
def _(cast):
    member = cast.contact.memberships.get()
    return Case(
        lambda: rights.switch_contact(cast.applicator, member, on=False),
        cast.applicator,
        lambda _contact: [about(member)],
        handed_on=[MAIL, MAIL],
    )


@case(rights.switch_contact, "switched_on")
def _(cast):
    contact = cast.contact.memberships.get()
    rights.switch_contact(cast.applicator, contact, on=False)
    return Case(
        lambda: rights.switch_contact(cast.applicator, contact, on=True),
        cast.applicator,
        lambda _contact: [about(contact)],
        handed_on=[MAIL, MAIL],
    )


@case(rights.switch_staff, "switched_off")
def _(cast):
    colleague = make_applicator()
    return Case(
        lambda: rights.switch_staff(cast.applicator, colleague, on=False),
        cast.applicator,
        lambda _colleague: [{"person": str(colleague.pk)}],
        handed_on=[MAIL, MAIL],
    )


@case(rights.sign_out_everywhere)
def _(cast):
    colleague = make_applicator()
    return Case(lambda: rights.sign_out_everywhere(cast.applicator, colleague), cast.applicator)


@case(rights.change_ownership, "ownership_changed")
def _(cast):
    colleague = make_applicator()
    return Case(
        lambda: rights.change_ownership(cast.applicator, colleague, owner=True),
        cast.applicator,
        lambda _colleague: [{"person": str(colleague.pk), "owner": True}],
        handed_on=[MAIL, MAIL],
    )


@case(rights.set_licence, "licence_set")
def _(cast):
    colleague = make_applicator(licence_number="T-1")
    return Case(
        lambda: rights.set_licence(cast.applicator, colleague, "T-2208"),
        cast.applicator,
        lambda _colleague: [{"person": str(colleague.pk), "before": "T-1", "after": "T-2208"}],
        handed_on=[MAIL, MAIL],
    )


@case(second_factor.reset_second_factor, "second_factor_reset")
def _(cast):
    colleague = make_applicator()
    Authenticator.objects.create(user=colleague, type=Authenticator.Type.TOTP, data={})
    return Case(
        lambda: second_factor.reset_second_factor(cast.applicator, colleague),
        cast.applicator,
        lambda _colleague: [{"person": str(colleague.pk), "factors_before": ["totp"]}],
        handed_on=[MAIL, MAIL],
    )


@case(profile.change_profile, "profile_changed")
def _(cast):
    return Case(
        lambda: profile.change_profile(
            cast.contact, phone="0491 570 110", positions={cast.builder.pk: "Office"}
        ),
        cast.contact,
        lambda _person: [{"fields": ["phone", "position"], "builders": [str(cast.builder.pk)]}],
    )


@case(profile.add_owner, "owner_added")
def _(cast):
    return Case(
        lambda: profile.add_owner("kim@applicator.example", "Kim"),
        None,
        lambda person: [{"person": str(person.pk)}],
    )


@case(removing.remove_person, "person_removed", "person_removed")
def _(cast):
    person = make_contact(cast.builder)
    sharing.share_trade_list(person, cast.site, "bricklayer")
    return Case(
        lambda: removing.remove_person(cast.applicator, person),
        cast.applicator,
        lambda _none: [{"person": str(person.pk)}] * 2,  # the business's Record, and a site's
        handed_on=[MAIL],
    )
