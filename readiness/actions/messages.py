"""Who is written to about what. What each e-mail says is in `letters`."""

import uuid
from collections.abc import Iterable
from datetime import timedelta
from functools import partial

from django.db import transaction
from django.db.models import Q

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator
from readiness.models import (
    Booking,
    BuilderContact,
    DefectItem,
    Fix,
    Message,
    Paper,
    ReadinessConfirmation,
    Site,
    SiteReport,
    User,
)

GATHERING = timedelta(minutes=2)


def office(site: Site) -> list[User]:
    """The applicator's people to write to about a site: who issued its report, else the owners."""
    staff = User.objects.filter(role=User.Role.APPLICATOR, is_active=True)
    issuers = SiteReport.objects.current().filter(site=site).values("issued_by")
    return list(staff.filter(pk__in=issuers)) or list(staff.filter(is_owner=True))


def builder_side(site: Site) -> list[User]:
    """The builder's people to write to: those the site names, else all who can see it."""
    active = BuilderContact.objects.filter(is_active=True, user__is_active=True)
    named = active.filter(notified_of=site)
    if not named.exists():
        named = active.filter(builder=site.builder_id).filter(Q(all_sites=True) | Q(sites=site))
    return list(User.objects.filter(builder_contact__in=named))


def report_issued(report: SiteReport, contacts: Iterable[BuilderContact]) -> None:
    """To the chosen contacts, once the report's papers exist."""
    users = [contact.user for contact in contacts if contact.is_active]
    _post("report_issued", report.site, users, report.pk, wait_for_papers=True)


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


def _about_booking(kind: str, booking: Booking, users: Iterable[User]) -> None:
    _post(kind, booking.site, users, booking.pk, once=False)


def _post(
    kind: str,
    site: Site,
    users: Iterable[User],
    about: uuid.UUID,
    *,
    details: dict | None = None,
    once: bool = True,
    wait_for_papers: bool = False,
) -> None:
    for user in dict.fromkeys(users):
        key = f"{kind}/{about}/{user.pk}" if once else f"{kind}/{uuid.uuid4()}"
        message, made = Message.objects.get_or_create(
            key=key,
            defaults={
                "site": site,
                "to": user,
                "kind": kind,
                "about": about,
                "details": {**(details or {}), "wait_for_papers": wait_for_papers},
                "queued_at": clock.now(),
            },
        )
        if made and not wait_for_papers:
            enqueue(message)


def _gather(kind: str, item: DefectItem, users: Iterable[User], reason: str = "") -> None:
    """One e-mail for several items done in one go: what is not sent yet takes more items."""
    site = item.report.site
    entry = {"item": str(item.pk), "reason": reason}
    for user in dict.fromkeys(users):
        waiting = (
            Message.objects.select_for_update()
            .filter(site=site, to=user, kind=kind, sent_at=None, error="")
            .filter(queued_at__gte=clock.now() - GATHERING)
            .first()
        )
        if waiting:
            waiting.details["items"].append(entry)
            waiting.save(update_fields=["details"])
        else:
            _post(kind, site, [user], site.pk, details={"items": [entry]}, once=False)


@transaction.atomic
def retry_message(actor: User, message: Message) -> Message:
    """Send an e-mail again that did not go; one that went, or is under way, is left alone.

    Only the applicator can. Raises Refused when the person gets no e-mails any more.
    """
    require_applicator(actor)
    message = (
        Message.objects.select_for_update(of=("self",)).select_related("to").get(pk=message.pk)
    )
    if message.sent_at or not message.error:
        return message
    if not message.to.is_active:
        raise Refused(f"{message.to} does not sign in any more, so no e-mail goes there.")
    message.error, message.queued_at = "", clock.now()
    message.details["wait_for_papers"] = False  # it was let go before; nothing holds it now
    message.save(update_fields=["error", "queued_at", "details"])
    enqueue(message)
    return message


def enqueue(message: Message) -> None:
    """Hand a message to the background once this transaction is through."""
    from readiness.actions import tasks

    transaction.on_commit(partial(tasks.send_message.enqueue, str(message.pk)))


def release_report_messages(report: SiteReport) -> None:
    """Let the e-mails of a report go, once all of its papers are made."""
    if report.papers.exclude(state=Paper.State.MADE).exists():
        return
    for message in Message.objects.filter(kind="report_issued", about=report.pk, sent_at=None):
        enqueue(message)
