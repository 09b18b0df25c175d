"""Who is written to about what. What each e-mail says is in `letters`."""

import uuid
from collections.abc import Iterable
from datetime import timedelta
from functools import partial

from django.db import transaction
from django.db.models import Q

from readiness import clock
from readiness.messages.changes import Change
from readiness.messages.delivery import send_message
from readiness.models import (
    Booking,
    Builder,
    BuilderContact,
    DefectItem,
    Fix,
    Invitation,
    Message,
    Paper,
    PutOff,
    ReadinessConfirmation,
    Referral,
    ReferralDecision,
    Site,
    SiteReport,
    User,
)
from readiness.models.message import MessageQuerySet
from readiness.models.people import BuilderContactQuerySet
from readiness.wording import emails

GATHERING = timedelta(minutes=2)

HELD_AT_MOST = timedelta(hours=1)
"""How long the e-mail about a report waits for its papers: what to fix is on the page anyway."""

INVITATION = "invitation"

DROPPED = {"state": Message.State.DROPPED, "given_up_at": None, "next_try_at": None}


def office(site: Site) -> list[User]:
    """The applicator's people to write to about a site: who issued its report, else the owners."""
    staff = User.objects.filter(role=User.Role.APPLICATOR, is_active=True)
    issuers = SiteReport.objects.current().filter(site=site).values("issued_by")
    return list(staff.filter(pk__in=issuers)) or list(staff.filter(is_owner=True))


def builder_side(site: Site) -> list[User]:
    """The builder's people to write to: those the site names, else all who can see it."""
    own = BuilderContact.objects.filter(builder=site.builder_id)
    active = own.filter(is_active=True, user__is_active=True)
    named = active.filter(notified_of=site)
    if not named.exists():
        named = active.filter(Q(all_sites=True) | Q(sites=site))
    return _people(named)


def _people(contacts: BuilderContactQuerySet) -> list[User]:
    return list(User.objects.filter(memberships__in=contacts).distinct())


def report_issued(report: SiteReport, contacts: Iterable[BuilderContact]) -> None:
    """To the chosen contacts, once the report's papers are made, or an hour later at the latest."""
    users = [contact.user for contact in contacts if contact.is_active]
    unfinished = report.papers.filter(state__in=Paper.UNFINISHED).exists()
    _post("report_issued", report.site, users, report.pk, wait_for_papers=unfinished)


def fix_said(fix: Fix) -> None:
    _gather("fix_said", fix.item, office(fix.item.report.site))


def item_reviewed(item: DefectItem, outcome: str, reason: str) -> None:
    """To the builder: accepted or sent back; several in one go make one e-mail."""
    _gather(f"item_{outcome}", item, builder_side(item.report.site), reason)


def item_disagreed(item: DefectItem) -> None:
    _gather("item_disagreed", item, office(item.report.site), item.dispute_reason)


def disagreement_decided(item: DefectItem) -> None:
    _gather("disagreement_decided", item, builder_side(item.report.site), item.decision_reason)


def ready_confirmed(confirmation: ReadinessConfirmation) -> None:
    site = confirmation.report.site
    _post("ready_confirmed", site, office(site), confirmation.pk)


def account_changed(
    change: Change, by: User, person: User | None = None, builder: Builder | None = None
) -> None:
    """To the owners, who did it included, and to the person concerned.

    Of what somebody may for one builder the e-mail names that builder. Who was removed has no
    address here any more.
    """
    users = list(User.objects.filter(role=User.Role.APPLICATOR, is_owner=True, is_active=True))
    if person is not None and change is not Change.REMOVED:
        users.append(person)
    details = {"change": str(change), "by": str(by.pk)}
    if builder is not None:
        details["builder"] = str(builder.pk)
    about = person.pk if person else by.pk
    _post("account_changed", None, users, about, details=details, once=False)


def account_added(contact: BuilderContact) -> None:
    """To all others of the builder: somebody new can sign in for them."""
    others = BuilderContact.objects.filter(
        builder=contact.builder_id, is_active=True, user__is_active=True
    ).exclude(pk=contact.pk)
    details = {"builder": str(contact.builder_id)}
    _post("account_added", None, _people(others), contact.user_id, details=details, once=False)


def signed_for_builder(confirmation: ReadinessConfirmation) -> None:
    """To all of the builder who see the site, whoever is named for it, and to who signed."""
    site = confirmation.report.site
    users = _people(BuilderContact.objects.seeing(site))
    _post("signed_for_builder", site, users, confirmation.pk)


def confirmation_withdrawn(confirmation: ReadinessConfirmation) -> None:
    site = confirmation.report.site
    everyone = office(site) + builder_side(site)
    users = [user for user in everyone if user != confirmation.withdrawn_by]
    _post("confirmation_withdrawn", site, users, confirmation.pk)


def booking_asked(booking: Booking) -> None:
    _about_booking("booking_asked", booking, office(booking.site))


def booking_offered(booking: Booking) -> None:
    _about_booking("booking_offered", booking, builder_side(booking.site))


def booking_confirmed(booking: Booking) -> None:
    """To both sides, with an entry for the calendar."""
    everyone = office(booking.site) + builder_side(booking.site)
    _about_booking("booking_confirmed", booking, everyone)


def booking_declined(booking: Booking) -> None:
    _about_booking("booking_declined", booking, office(booking.site))


def booking_put_off(one: PutOff) -> None:
    """To both sides: the day stands in all of their calendars."""
    site = one.booking.site
    _post("booking_put_off", site, office(site) + builder_side(site), one.pk)


def booking_cancelled(booking: Booking) -> None:
    """To the other side; of a confirmed day to all, as it stands in all of their calendars."""
    everyone = office(booking.site) + builder_side(booking.site)
    is_in_calendars = booking.confirmed_at is not None
    told = [user for user in everyone if is_in_calendars or user != booking.closed_by]
    _about_booking("booking_cancelled", booking, told)


def booking_turned_away(booking: Booking) -> None:
    _about_booking("booking_turned_away", booking, builder_side(booking.site))


def site_treated(booking: Booking) -> None:
    _about_booking("site_treated", booking, builder_side(booking.site))


def termites_found(referral: Referral) -> None:
    """To all of the builder who see the site, to the owners, and to the office's people for it."""
    _post("termites_found", referral.site, _on_both_sides(referral.site), referral.pk)


def termites_decided(decision: ReferralDecision) -> None:
    """To the same people."""
    site = decision.referral.site
    _post("termites_decided", site, _on_both_sides(site), decision.pk)


def _on_both_sides(site: Site) -> list[User]:
    """Whoever may come near it: what nobody is to disturb is told to more than the site names."""
    owners = User.objects.filter(role=User.Role.APPLICATOR, is_owner=True, is_active=True)
    return [*owners, *office(site), *_people(BuilderContact.objects.seeing(site))]


def _about_booking(kind: str, booking: Booking, users: Iterable[User]) -> None:
    _post(kind, booking.site, users, booking.pk, once=False)


def _post(
    kind: str,
    site: Site | None,
    users: Iterable[User],
    about: uuid.UUID,
    *,
    details: dict | None = None,
    once: bool = True,
    wait_for_papers: bool = False,
) -> None:
    for user in dict.fromkeys(users):
        key = f"{kind}/{about}/{user.pk}" if once else f"{kind}/{uuid.uuid4()}"
        held = wait_for_papers
        message, made = Message.objects.get_or_create(
            key=key,
            defaults={
                "site": site,
                "to": user,
                "kind": kind,
                "about": about,
                "details": details or {},
                "queued_at": clock.now(),
                "state": Message.State.HELD if held else Message.State.WAITING,
                "next_try_at": clock.now() + (HELD_AT_MOST if held else timedelta(0)),
            },
        )
        if made and not held:
            enqueue(message)


def _gather(kind: str, item: DefectItem, users: Iterable[User], reason: str = "") -> None:
    """One e-mail for several items done in one go: what no try was begun of takes more items."""
    site = item.report.site
    entry = {"item": str(item.pk), "reason": reason}
    for user in dict.fromkeys(users):
        waiting = (
            Message.objects.select_for_update()
            .filter(site=site, to=user, kind=kind, state=Message.State.WAITING, attempts=0)
            .filter(queued_at__gte=clock.now() - GATHERING)
            .first()
        )
        if waiting:
            waiting.details["items"].append(entry)
            waiting.save(update_fields=["details"])
        else:
            _post(kind, site, [user], site.pk, details={"items": [entry]}, once=False)


def invitation_made(invitation: Invitation) -> None:
    """To the invited address. One about the same invitation that has not gone is not needed."""
    drop_invitation(invitation, emails.invitation_replaced())
    message = Message.objects.create(
        key=f"{INVITATION}/{uuid.uuid4()}",
        invitation=invitation,
        kind=INVITATION,
        about=invitation.pk,
        queued_at=clock.now(),
        next_try_at=clock.now(),
    )
    enqueue(message)


def drop_unsent(person: User, reason: str) -> None:
    """What has not gone to a person does not go any more."""
    Message.objects.filter(
        to=person, state__in=(Message.State.HELD, Message.State.WAITING, Message.State.GIVEN_UP)
    ).update(error=reason, **DROPPED)


def drop_invitation(invitation: Invitation, reason: str) -> None:
    """What has not gone of an invitation's e-mails does not go any more."""
    unsent = Message.objects.filter(
        invitation=invitation, state__in=(Message.State.WAITING, Message.State.GIVEN_UP)
    )
    unsent.update(error=reason, **DROPPED)


def enqueue(message: Message) -> None:
    """Hand a message to the background once this transaction is through."""
    transaction.on_commit(partial(send_message.enqueue, str(message.pk)))


def release_report_messages(report_id: uuid.UUID) -> None:
    """Let the e-mails of a report go, once each of its papers is made or given up."""
    _release(Message.objects.filter(about=report_id))


def release_held() -> None:
    """Let all e-mails go that waited for papers, and wait in vain or for too long."""
    with transaction.atomic():
        _release(Message.objects.all())


def _release(messages: MessageQuerySet) -> None:
    for message in messages.released(clock.now()):
        held = Message.objects.filter(pk=message.pk, state=Message.State.HELD)
        if held.update(state=Message.State.WAITING, next_try_at=clock.now()):
            enqueue(message)
