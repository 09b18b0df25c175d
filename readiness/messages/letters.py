"""Each e-mail: the facts that its words are made from, the one link, and what is attached."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.conf import settings
from django.urls import reverse

from readiness import clock
from readiness.calendars import unbooked_days
from readiness.facts import SiteState
from readiness.messages.calendar_file import CalendarFile, calendar_file, without_day
from readiness.models import (
    Booking,
    Builder,
    BuilderContact,
    Business,
    DefectItem,
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
from readiness.rules.vocabulary import ItemState
from readiness.standing import standing
from readiness.wording.builder.reasons import BUILDER
from readiness.wording.due import to_fix_in_full
from readiness.wording.letters import both, builder, office
from readiness.wording.letters.words import Words

DAYS_NAMED = 3
"""How many days with nothing booked are named in an e-mail."""


@dataclass
class Letter(Words):
    """One e-mail: its words, the `link` that is the one thing to do, and what goes with it.

    `page` is the builder's page about the site that does it, where it is not the site's own.
    """

    link: str = ""
    cautions: bool = False
    calendar: CalendarFile | None = None
    page: str = "site"


def letter(
    words: Words,
    *,
    page: str = "site",
    cautions: bool = False,
    calendar: CalendarFile | None = None,
) -> Letter:
    """These words as an e-mail."""
    return Letter(**vars(words), page=page, cautions=cautions, calendar=calendar)


def write(message: Message) -> Letter:
    """The letter of a message, from how things stand now."""
    written = WRITERS[message.kind](message)
    if message.site is None:
        written.link = people_url(message.to)
    else:
        written.link = site_url(message.site, message.to, written.page)
    return written


def people_url(user) -> str:
    """Where this person sees whose accounts there are."""
    view = "office:staff" if user.is_applicator else "builder:team"
    return settings.SITE_URL + reverse(view)


def site_url(site: Site, user, page: str = "site") -> str:
    """Where this person sees the site, or a builder's `page` about it."""
    view = "office:site" if user.is_applicator else f"builder:{page}"
    return settings.SITE_URL + reverse(view, args=[site.pk])


# The report


def _report_issued(message: Message) -> Letter:
    report = SiteReport.objects.get(pk=message.about)
    written = report_letter(report, message.site, report.number)
    papers = report.papers.exclude(kind=Paper.Kind.CONFIRMATION)
    if papers.exclude(state=Paper.State.MADE).exists():
        written.closing = f"{written.closing} {builder.papers_are_late()}".strip()
    return written


def report_letter(report: SiteReport, site: Site, number: int) -> Letter:
    """The letter about a report; also of a draft, with the number that it will get."""
    holding = [item for item in _as_they_stand(report) if item.holds]
    to_fix = [
        item for item in holding if item.state != ItemState.REPORTED_FIXED and not item.is_disputed
    ]
    state = SiteState.of(site, with_levels=False)
    facts, reasons = state.facts(), state.assessment.reasons
    termites = [reason for reason in reasons if reason.code.is_about_termites]
    told = builder.Report(
        site,
        number,
        to_fix,
        _left(to_fix, facts.today),
        checked=len(holding) - len(to_fix),
        treated_on=facts.last_visit.day if facts.is_treated and facts.last_visit else None,
        termites=BUILDER.sentence(termites[0]) if termites else "",
    )
    is_to_confirm = not holding and told.treated_on is None and not termites
    return letter(builder.report_issued(told), page="confirm" if is_to_confirm else "site")


def _as_they_stand(report: SiteReport) -> list[DefectItem]:
    items = report.items.select_related("wall_run", "carried_from").order_by("number")
    return standing(items) if report.is_draft else list(items)


def _left(items: Sequence[DefectItem], today: date) -> str:
    """These items by their due days, "" for none."""
    fresh = [item.due_on for item in items if item.state != ItemState.SENT_BACK]
    back = [item.due_on for item in items if item.state == ItemState.SENT_BACK]
    return to_fix_in_full(fresh, back, today)


# Fixes and disputes


def _about_items(say: Callable[[Site, dict[DefectItem, str]], Words]):
    """The letter about the items of a message, each with the reason that somebody gave."""

    def written(message: Message) -> Letter:
        reasons = {entry["item"]: entry["reason"] for entry in message.details["items"]}
        items = _items(reasons)
        return letter(say(message.site, {item: reasons[str(item.pk)] for item in items}))

    return written


def _items(ids: Iterable[str]):
    return DefectItem.objects.filter(pk__in=ids).select_related("wall_run").order_by("number")


def _dispute_decided(message: Message) -> Letter:
    items = _items(entry["item"] for entry in message.details["items"])
    return letter(builder.dispute_decided(message.site, items))


# Confirming


def _ready_confirmed(message: Message) -> Letter:
    return letter(office.confirmed(message.site, _confirmation(message)))


def _account_added(message: Message) -> Letter:
    contact = _membership(message)
    return letter(builder.account_added(contact))


def _membership(message: Message) -> BuilderContact:
    """Whom an e-mail is about; of one that was queued before it named the builder, the first."""
    theirs = BuilderContact.objects.select_related("user", "builder").filter(user=message.about)
    builder = message.details.get("builder")
    return theirs.get(builder=builder) if builder else theirs.order_by("number")[0]


def _account_changed(message: Message) -> Letter:
    people = User.objects.in_bulk([message.about, UUID(message.details["by"])])
    by = people[UUID(message.details["by"])]
    builder = Builder.objects.filter(pk=message.details.get("builder")).first()
    person = people[message.about]
    return letter(both.account_changed(message.details["change"], by, person, builder))


def _signed_for_builder(message: Message) -> Letter:
    words = builder.signed(message.site, _confirmation(message))
    return letter(words, page="confirm")


def _confirmation_withdrawn(message: Message) -> Letter:
    side = office if message.to.is_applicator else builder
    return letter(side.confirmation_withdrawn(message.site, _confirmation(message)))


def _confirmation(message: Message) -> ReadinessConfirmation:
    return ReadinessConfirmation.objects.select_related("report").get(pk=message.about)


# Live termites


def _termites_found(message: Message) -> Letter:
    referral = Referral.objects.select_related("site", "wall_run").get(pk=message.about)
    side = office if message.to.is_applicator else builder
    return letter(side.termites_found(referral, Business.current()))


def _termites_decided(message: Message) -> Letter:
    decisions = ReferralDecision.objects.select_related("referral__site", "referral__wall_run")
    side = office if message.to.is_applicator else builder
    return letter(side.termites_decided(decisions.get(pk=message.about)))


# Booking


def _booking(message: Message) -> Booking:
    return Booking.objects.select_related("site").get(pk=message.about)


def _booking_link(message: Message) -> str:
    """Where this person sees the booking."""
    return site_url(message.site, message.to, "book")


def _booking_asked(message: Message) -> Letter:
    return letter(office.day_asked_for(message.site, _booking(message)))


def _booking_offered(message: Message) -> Letter:
    booking = _booking(message)
    if not booking.day:
        return letter(builder.day_turned_down(message.site))
    assessment = SiteState.of(message.site).assessment
    return letter(builder.day_offered(message.site, booking, assessment), page="book")


def _booking_confirmed(message: Message) -> Letter:
    booking = _booking(message)
    side = office if message.to.is_applicator else builder
    words = side.booked(message.site, booking)
    calendar = calendar_file(booking, message.to, _booking_link(message))
    return letter(words, cautions=True, calendar=calendar)


def _booking_declined(message: Message) -> Letter:
    return letter(office.day_turned_down(message.site, _booking(message)))


def _booking_put_off(message: Message) -> Letter:
    one = PutOff.objects.select_related("booking__site").get(pk=message.about)
    words = both.put_off(message.site, one, one.booking)
    calendar = without_day(one, message.to, _booking_link(message))
    return letter(words, page="book", calendar=calendar)


def _booking_cancelled(message: Message) -> Letter:
    booking = _booking(message)
    was_booked = booking.confirmed_at is not None
    words = both.cancelled(message.site, booking, was_booked)
    if not was_booked:
        return letter(words)
    return letter(words, calendar=calendar_file(booking, message.to, _booking_link(message)))


def _booking_turned_away(message: Message) -> Letter:
    site = message.site
    today = clock.now().astimezone(site.zone).date()
    free = unbooked_days(site, today)[:DAYS_NAMED]
    return letter(builder.turned_away(site, _booking(message), free))


def _site_treated(message: Message) -> Letter:
    booking = _booking(message)
    record = Paper.objects.filter(booking=booking, kind=Paper.Kind.TREATMENT)
    is_made = record.filter(state=Paper.State.MADE).exists()
    return letter(builder.treated(message.site, booking, is_made), cautions=True)


WRITERS: dict[str, Callable[[Message], Letter]] = {
    "report_issued": _report_issued,
    "fix_said": _about_items(office.reported_fixed),
    "item_accepted": _about_items(builder.accepted),
    "item_sent_back": _about_items(builder.sent_back),
    "item_disagreed": _about_items(office.disputed),
    "disagreement_decided": _dispute_decided,
    "ready_confirmed": _ready_confirmed,
    "account_added": _account_added,
    "account_changed": _account_changed,
    "signed_for_builder": _signed_for_builder,
    "confirmation_withdrawn": _confirmation_withdrawn,
    "termites_found": _termites_found,
    "termites_decided": _termites_decided,
    "booking_asked": _booking_asked,
    "booking_offered": _booking_offered,
    "booking_confirmed": _booking_confirmed,
    "booking_declined": _booking_declined,
    "booking_put_off": _booking_put_off,
    "booking_cancelled": _booking_cancelled,
    "booking_turned_away": _booking_turned_away,
    "site_treated": _site_treated,
}
