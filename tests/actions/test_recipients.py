"""Who gets each kind of e-mail, by what lies in the outbox once everything is committed."""

from datetime import timedelta

import pytest

from readiness import clock
from readiness.actions import referrals
from readiness.actions.fixing import fixes
from readiness.actions.people import inviting, rights
from readiness.actions.visits import booking, confirming, putting_off
from readiness.messages import outbox
from readiness.messages.letters import WRITERS
from readiness.models import Message
from readiness.papers import render
from readiness.papers.render import RenderedPaper
from tests.actions.cases.base import FRIDAY, MONDAY, NOW, Cast
from tests.factories import confirm, make_applicator, make_contact, make_issued, make_site, token_of

pytestmark = pytest.mark.django_db

OWNER, ISSUER = "owner@applicator.example", "issuer@applicator.example"
"""Of the office: who issued the report is written to, the owner only where there is none."""

NAMED, ALSO_NAMED = "named@wattle.example", "also@wattle.example"
"""Of the builder's people those that the site names; `cast` has others, too."""

UNNAMED = "unnamed@wattle.example"
EVERYBODY = [OWNER, ISSUER, NAMED, ALSO_NAMED, UNNAMED]


@pytest.fixture
def cast(applicator, builder, site, other_contact, monkeypatch):
    """A site with people on both sides who are told, and others who are not."""
    monkeypatch.setattr(render, "render_paper", lambda *_, **__: RenderedPaper(b"%PDF", 1))
    named, also = make_contact(builder, NAMED), make_contact(builder, ALSO_NAMED)
    make_contact(builder, UNNAMED)
    make_contact(builder, "elsewhere@wattle.example", sites=[make_site(builder)])
    left = make_contact(builder, "left@wattle.example", is_active=False)
    switched_off = make_contact(builder, "off@wattle.example")
    switched_off.memberships.update(is_active=False)
    make_applicator("idle@applicator.example")
    issuer = make_applicator(ISSUER)
    people = (named, also, left, switched_off)
    site.notify.set([person.memberships.get() for person in people])
    with clock.at(NOW):
        yield Cast(issuer, named, builder, site)


KINDS = {}
"""By the kind of e-mail, what brings it about: from the cast to what to do then, and who is told.

What happens before is committed by nobody, so nothing of it lies in the outbox.
"""


def brings(kind: str):
    def note(arrange):
        assert kind not in KINDS
        KINDS[kind] = arrange
        return arrange

    return note


@brings("report_issued")
def _(cast):
    """Those who were ticked; whoever of them does not sign in any more gets nothing."""
    ticked = [
        cast.contact.memberships.get(),
        cast.site.notify.get(user__email="left@wattle.example"),
    ]
    return lambda: make_issued(cast.applicator, cast.site, notify=ticked), [NAMED]


@brings("fix_said")
def _(cast):
    item, photo = cast.item(), cast.photo()
    return lambda: fixes.report_fixed(cast.contact, item, photos=[photo]), [ISSUER]


@brings("item_accepted")
def _(cast):
    item, _fix = cast.fixed()
    return lambda: fixes.accept_fix(cast.applicator, item), [NAMED, ALSO_NAMED]


@brings("item_sent_back")
def _(cast):
    item, _fix = cast.fixed()
    return lambda: fixes.send_back(cast.applicator, item, reason="Still there"), [
        NAMED,
        ALSO_NAMED,
    ]


@brings("item_disagreed")
def _(cast):
    item = cast.item()
    return lambda: fixes.disagree(cast.contact, item, reason="Not ours"), [ISSUER]


@brings("disagreement_decided")
def _(cast):
    item = fixes.disagree(cast.contact, cast.item(), reason="Not ours")
    return lambda: fixes.decide_disagreement(cast.applicator, item, stands=False), [
        NAMED,
        ALSO_NAMED,
    ]


@brings("ready_confirmed")
def _(cast):
    report = cast.issued(kinds=())
    return lambda: confirm(cast.contact, report), [ISSUER]


@brings("account_added")
def _(cast):
    """All others of the builder, also those who see another site only."""
    token = token_of(inviting.invite_contact(cast.applicator, cast.builder, "kim@wattle.example"))
    return lambda: inviting.accept_invitation(token, name="Kim"), [
        NAMED,
        ALSO_NAMED,
        UNNAMED,
        "elsewhere@wattle.example",
    ]


@brings("account_changed")
def _(cast):
    """The owners, who did it included, and the person concerned."""
    owner = make_applicator("second@applicator.example", is_owner=True)
    return lambda: rights.change_ownership(owner, cast.applicator, owner=False), [
        OWNER,
        ISSUER,
        "second@applicator.example",
    ]


@brings("signed_for_builder")
def _(cast):
    """All of the builder who see the site, whoever is named: also who signed."""
    report = cast.issued(kinds=())
    return lambda: confirm(cast.contact, report), [NAMED, ALSO_NAMED, UNNAMED]


@brings("confirmation_withdrawn")
def _(cast):
    """All but who did it: the builder's others find a day gone."""
    given = cast.confirmed()
    return lambda: confirming.withdraw_confirmation(cast.contact, given, reason="Scaffold"), [
        ISSUER,
        ALSO_NAMED,
    ]


@brings("booking_asked")
def _(cast):
    cast.issued(kinds=())
    wanted = [(FRIDAY, "morning")]
    return lambda: booking.ask_for_booking(cast.contact, cast.site, preferences=wanted), [ISSUER]


@brings("booking_offered")
def _(cast):
    return cast.offered, [NAMED, ALSO_NAMED]


@brings("booking_confirmed")
def _(cast):
    cast.confirmed()
    offered = cast.offered()
    return lambda: booking.accept_offer(cast.contact, offered), [ISSUER, NAMED, ALSO_NAMED]


@brings("booking_declined")
def _(cast):
    cast.issued(kinds=())
    offered = cast.offered()
    return lambda: booking.decline_offer(cast.contact, offered), [ISSUER]


@brings("booking_put_off")
def _(cast):
    """It stands in everybody's calendar; the day offered instead is in the same e-mail."""
    booked = cast.booked()
    return lambda: putting_off.put_off(
        cast.applicator, booked, cause="wind", day=MONDAY, half="morning"
    ), [ISSUER, NAMED, ALSO_NAMED]


@brings("booking_cancelled")
def _(cast):
    """A confirmed day stands in everybody's calendar, also in that of who cancels it."""
    booked = cast.booked()
    return lambda: booking.cancel_booking(cast.contact, booked, reason="Storm"), [
        ISSUER,
        NAMED,
        ALSO_NAMED,
    ]


@brings("booking_turned_away")
def _(cast):
    booked = cast.booked(MONDAY)
    return lambda: booking.turn_away(cast.applicator, booked, reason="Wet"), [NAMED, ALSO_NAMED]


@brings("termites_found")
def _(cast):
    """All who see the site, whoever it names, the owners, and who issued its report."""
    cast.issued(kinds=())
    return lambda: referrals.note_live_termites(cast.applicator, cast.site), EVERYBODY


@brings("termites_decided")
def _(cast):
    cast.issued(kinds=())
    licensed = make_applicator("licensed@applicator.example", licence_number="T-1")
    found = referrals.note_live_termites(cast.applicator, cast.site)
    return lambda: referrals.decide_referral(
        licensed, found, outcome="stays_closed", reason="Under the slab"
    ), EVERYBODY


@brings("site_treated")
def _(cast):
    booked = cast.booked(MONDAY)
    return lambda: booking.record_treatment(cast.applicator, booked, used_ml=5000), [
        NAMED,
        ALSO_NAMED,
    ]


@pytest.fixture
def sent(mailoutbox, django_capture_on_commit_callbacks):
    """`sent(do)`: the kind of each e-mail that doing it sent, with its address; all of them."""

    def do_and_look(do):
        before = set(Message.objects.values_list("pk", flat=True))
        with django_capture_on_commit_callbacks(execute=True):
            do()
        made = Message.objects.exclude(pk__in=before).order_by("pk")
        assert sorted(one.address for one in made if one.sent_at) == sorted(
            address for email in mailoutbox for address in email.to
        )
        return sorted((one.kind, one.address) for one in made if one.sent_at)

    return do_and_look


TOGETHER = {
    "ready_confirmed": {"signed_for_builder"},
    "signed_for_builder": {"ready_confirmed"},
}
"""What goes beside it, when the same thing is done."""


@pytest.mark.parametrize("kind", WRITERS)
def test_each_kind_of_e_mail_reaches_its_people_and_nobody_else(cast, sent, kind):
    assert kind in KINDS, "Say in this file who gets the new kind of e-mail."
    do, told = KINDS[kind](cast)
    both = sent(do)
    reached = [one for one in both if one[0] == kind]
    assert {other for other, _ in both} - {kind} <= TOGETHER.get(kind, set())
    went = f"{kind} went to {', '.join(address for _, address in reached) or 'nobody'}."
    assert reached == sorted((kind, address) for address in told), went


def test_no_kind_is_looked_at_that_is_never_written():
    assert set(KINDS) == set(WRITERS)


def test_a_site_that_names_nobody_tells_all_who_can_see_it(cast, sent):
    cast.site.notify.clear()
    assert [address for _kind, address in sent(cast.offered)] == [ALSO_NAMED, NAMED, UNNAMED]


def test_the_owners_are_told_of_a_site_without_a_report(cast, sent):
    wanted = [(FRIDAY, "morning")]
    assert sent(lambda: booking.ask_for_booking(cast.contact, cast.site, preferences=wanted)) == [
        ("booking_asked", OWNER)
    ]


def test_the_owners_are_told_where_who_issued_the_report_left(cast, sent):
    report = cast.issued(kinds=())
    cast.applicator.is_active = False
    cast.applicator.save()
    assert ("ready_confirmed", OWNER) in sent(lambda: confirm(cast.contact, report))


def test_who_cancels_a_day_that_was_only_offered_is_not_told(cast, sent):
    cast.issued(kinds=())
    offered = cast.offered()
    assert sent(lambda: booking.cancel_booking(cast.contact, offered)) == [
        ("booking_cancelled", ALSO_NAMED),
        ("booking_cancelled", ISSUER),
    ]


def test_the_office_takes_a_confirmation_back_and_tells_the_builder(cast, sent):
    given = cast.confirmed()
    assert sent(lambda: confirming.withdraw_confirmation(cast.applicator, given, reason="Wet")) == [
        ("confirmation_withdrawn", ALSO_NAMED),
        ("confirmation_withdrawn", NAMED),
    ]


def test_what_waits_for_papers_goes_once_they_are_made(cast, sent, mailoutbox):
    assert sent(
        lambda: make_issued(cast.applicator, cast.site, notify=[cast.contact.memberships.get()])
    )
    (email,) = mailoutbox
    assert email.to == [NAMED]
    assert Message.objects.get(kind="report_issued").state == Message.State.SENT


def test_an_invitation_goes_to_the_invited_address_alone(cast, sent):
    assert sent(
        lambda: inviting.invite_contact(cast.applicator, cast.builder, "kim@wattle.example")
    ) == [(outbox.INVITATION, "kim@wattle.example")]


def test_who_joins_gets_the_report_that_was_issued_meanwhile(cast, sent):
    cast.site.notify.clear()
    invited = inviting.invite_contact(cast.applicator, cast.builder, "kim@wattle.example")
    token = token_of(invited)
    with clock.at(NOW + timedelta(minutes=1)):
        report = cast.issued(kinds=())
    report.papers.update(state="made", digest="0" * 64, pages=1, started_at=NOW, made_at=NOW)
    assert ("report_issued", "kim@wattle.example") in sent(
        lambda: inviting.accept_invitation(token, name="Kim")
    )
