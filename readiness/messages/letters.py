"""What each e-mail says: plain facts in, a subject, sentences and one link out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.conf import settings
from django.urls import reverse

from readiness.facts import SiteState
from readiness.messages.calendar_file import CalendarFile, calendar_file
from readiness.models import (
    Booking,
    DefectItem,
    Message,
    Paper,
    ReadinessConfirmation,
    Site,
    SiteReport,
)
from readiness.rules.defects.catalogue import TRADES
from readiness.rules.vocabulary import ItemState
from readiness.rules.words import counted, where
from readiness.standing import standing
from readiness.wording import dates
from readiness.wording.due import to_fix_words


@dataclass
class Letter:
    """One e-mail: `points` become a list, `link` the one thing to do.

    `page` is the builder's page about the site that does it, where it is not the site's own.
    """

    subject: str
    opening: str
    points: list[str] = field(default_factory=list)
    closing: str = ""
    link: str = ""
    link_label: str = "Open the site"
    cautions: bool = False
    calendar: CalendarFile | None = None
    page: str = "site"


def write(message: Message) -> Letter:
    """The letter of a message, from how things stand now."""
    letter = WRITERS[message.kind](message)
    letter.link = letter.link or site_url(message.site, message.to, letter.page)
    return letter


def site_url(site: Site, user, page: str = "site") -> str:
    """Where this person sees the site, or a builder's `page` about it."""
    view = "office:site" if user.is_applicator else f"builder:{page}"
    return settings.SITE_URL + reverse(view, args=[site.pk])


def item_line(item: DefectItem) -> str:
    """An item on one line: number, wall and place, what to do, whose trade, by when."""
    place = f"{item.wall_run.label} {where(item.from_mm, item.to_mm)}".strip()
    due = f" By {dates.long_day(item.due_on)}." if item.due_on else ""
    return f"{item.number}. {place}: {item.required_fix} ({TRADES[item.trade]}).{due}"


def _report_issued(message: Message) -> Letter:
    report = SiteReport.objects.get(pk=message.about)
    letter = report_letter(report, message.site, report.number)
    papers = report.papers.exclude(kind=Paper.Kind.CONFIRMATION)
    if papers.exclude(state=Paper.State.MADE).exists():
        late = "Its papers are not all made yet; the page has everything."
        letter.closing = f"{letter.closing} {late}".strip()
    return letter


def report_letter(report: SiteReport, site: Site, number: int) -> Letter:
    """The letter about a report; also of a draft, with the number that it will get."""
    holding = [item for item in _as_they_stand(report) if item.holds]
    to_fix = [
        item for item in holding if item.state != ItemState.REPORTED_FIXED and not item.is_disputed
    ]
    facts = SiteState.of(site).facts()
    issued = f"Report {number} on {site.address} is issued"
    if not holding:
        return _nothing_to_fix(issued, site, facts.is_treated)
    stands = "The house stays treated." if facts.is_treated else "It is not ready:"
    left = left_words(to_fix, facts.today) or "nothing is left for you to fix for now"
    waiting = len(holding) - len(to_fix)
    looked_at = f" We are looking at {waiting} more." if waiting and to_fix else ""
    if waiting and not to_fix:
        looked_at = f" We are looking at {counted(waiting, 'thing')}."
    found = f"Found since: {left}" if facts.is_treated else left
    closing = "Show each one fixed with a photo"
    if not facts.is_treated:
        closing += "; then you can confirm readiness and get a day"
    subject = f"{counted(len(to_fix), 'thing')} to fix" if to_fix else f"Report {number}"
    return Letter(
        f"{subject}: {site}",
        f"{issued}. {stands} {found}.{looked_at}",
        [item_line(item) for item in to_fix],
        f"{closing}." if to_fix else "",
        link_label="See what to fix" if to_fix else "Open the site",
    )


def _nothing_to_fix(issued: str, site: Site, is_treated: bool) -> Letter:
    if is_treated:
        opening = f"{issued}: nothing to fix. The house stays treated."
        return Letter(f"Nothing to fix: {site}", opening)
    return Letter(
        f"Nothing to fix: {site}",
        f"{issued}: nothing holds the booking. Please confirm that the site is ready.",
        link_label="Confirm that it is ready",
        page="confirm",
    )


def _as_they_stand(report: SiteReport) -> list[DefectItem]:
    items = report.items.select_related("wall_run", "carried_from").order_by("number")
    return standing(items) if report.is_draft else list(items)


def left_words(items: Sequence[DefectItem], today: date) -> str:
    """These items in the words of a headline, "" for none."""
    fresh = [item.due_on for item in items if item.state != ItemState.SENT_BACK]
    back = [item.due_on for item in items if item.state == ItemState.SENT_BACK]
    return to_fix_words(fresh, back, today)


def _items_letter(subject: str, opening: str, *, with_reason: bool = False, label: str = ""):
    def write_items(message: Message) -> Letter:
        reasons = {entry["item"]: entry["reason"] for entry in message.details["items"]}
        items = list(
            DefectItem.objects.filter(pk__in=reasons).select_related("wall_run").order_by("number")
        )
        points = []
        for item in items:
            reason = reasons[str(item.pk)]
            said = f" “{reason}”" if with_reason and reason else ""
            points.append(f"{item.number}. {item.kind_entry.name}, {item.wall_run.label}.{said}")
        count = counted(len(items), "item")
        return Letter(
            subject.format(count=count, site=message.site),
            opening.format(count=count, site=message.site.address),
            points,
            link_label=label or "Open the site",
        )

    return write_items


def _disagreement_decided(message: Message) -> Letter:
    points = []
    for entry in message.details["items"]:
        item = DefectItem.objects.select_related("wall_run").get(pk=entry["item"])
        stands = item.decision == DefectItem.Decision.STANDS
        verdict = "it stands" if stands else "it is let go: nothing to do"
        reason = f" “{item.decision_reason}”" if item.decision_reason else ""
        points.append(f"{item.number}. {item.kind_entry.name}: {verdict}.{reason}")
    return Letter(
        f"Decided: {message.site}",
        f"We looked at what you disagreed with at {message.site.address}:",
        points,
    )


def _ready_confirmed(message: Message) -> Letter:
    confirmation = ReadinessConfirmation.objects.select_related("report").get(pk=message.about)
    until = confirmation.valid_until.astimezone(message.site.zone)
    return Letter(
        f"Confirmed ready: {message.site}",
        f"{confirmation.name} ({confirmation.position}) confirmed that {message.site.address} is "
        f"ready, on report {confirmation.report.number}. It holds until "
        f"{dates.moment(until)}.",
        link_label="Offer a day",
    )


def _confirmation_withdrawn(message: Message) -> Letter:
    confirmation = ReadinessConfirmation.objects.get(pk=message.about)
    return Letter(
        f"No longer confirmed ready: {message.site}",
        f"The readiness confirmation of {message.site.address} was withdrawn: "
        f"“{confirmation.withdrawn_reason}”",
    )


def _booking(message: Message) -> Booking:
    return Booking.objects.select_related("site").get(pk=message.about)


def say_booking(booking: Booking) -> str:
    """The day and half-day of a booking."""
    return f"{dates.long_day(booking.day)} in the {booking.half}"


def _booking_asked(message: Message) -> Letter:
    booking = _booking(message)
    days = [
        f"{dates.long_day(datetime.fromisoformat(wish['date']))}, {wish['half']}"
        for wish in booking.preferences
    ]
    return Letter(
        f"A day is asked for: {message.site}",
        f"{message.site.builder} asks for a booking at {message.site.address}. "
        "These half-days suit:",
        days,
        f"“{booking.note}”" if booking.note else "",
        link_label="Offer a day",
    )


def _booking_offered(message: Message) -> Letter:
    booking = _booking(message)
    if not booking.day:
        return _booking_declined(message)
    return Letter(
        f"A day is offered: {message.site}",
        f"We can treat {message.site.address} on {say_booking(booking)}. Accept it to confirm the "
        "booking; the site has to be ready and confirmed ready first.",
        closing=f"“{booking.offer_note}”" if booking.offer_note else "",
        link_label="See the offer",
        page="book",
    )


def _booking_confirmed(message: Message) -> Letter:
    booking = _booking(message)
    day = say_booking(booking)
    return Letter(
        f"Booked for {day}: {message.site}",
        f"The treatment at {message.site.address} is booked for {day}. Keep the walls clean, dry "
        "and clear until then.",
        cautions=True,
        calendar=calendar_file(booking),
    )


def _booking_declined(message: Message) -> Letter:
    booking = _booking(message)
    return Letter(
        f"The offered day does not suit: {message.site}",
        f"{message.site.builder} turned down the day offered for {message.site.address}.",
        closing=f"“{booking.note}”" if booking.note else "",
        link_label="Offer another day",
    )


def _booking_cancelled(message: Message) -> Letter:
    booking = _booking(message)
    reason = f" “{booking.closing_note}”" if booking.closing_note else ""
    was_booked = booking.confirmed_at is not None
    return Letter(
        f"Booking cancelled: {message.site}",
        f"The booking at {message.site.address} is cancelled.{reason}",
        closing="The attached file takes the day out of your calendar." if was_booked else "",
        calendar=calendar_file(booking) if was_booked else None,
    )


def _booking_turned_away(message: Message) -> Letter:
    booking = _booking(message)
    return Letter(
        f"Not treated, the site was not ready: {message.site}",
        f"We came to {message.site.address} on {dates.long_day(booking.day)} and could not treat "
        f"it: “{booking.closing_note}”",
        closing="Fix this, confirm readiness again, then choose a new day.",
    )


def _site_treated(message: Message) -> Letter:
    booking = _booking(message)
    return Letter(
        f"Treated: {message.site}",
        f"The site at {message.site.address} was treated on {dates.long_day(booking.day)}. "
        "The treatment record is with the site's papers.",
        closing="Keep soil, paving and fixtures below and clear of the treated band.",
        cautions=True,
    )


WRITERS: dict[str, Callable[[Message], Letter]] = {
    "report_issued": _report_issued,
    "fix_said": _items_letter(
        "{count} said fixed: {site}",
        "The builder says that this is fixed at {site}:",
        label="Review the fixes",
    ),
    "item_accepted": _items_letter("{count} accepted: {site}", "Accepted at {site}:"),
    "item_sent_back": _items_letter(
        "{count} sent back: {site}",
        "This is not right yet at {site}:",
        with_reason=True,
        label="See what is still to do",
    ),
    "item_disagreed": _items_letter(
        "Disagrees with {count}: {site}",
        "The builder disagrees with this at {site}:",
        with_reason=True,
        label="Look at it and decide",
    ),
    "disagreement_decided": _disagreement_decided,
    "ready_confirmed": _ready_confirmed,
    "confirmation_withdrawn": _confirmation_withdrawn,
    "booking_asked": _booking_asked,
    "booking_offered": _booking_offered,
    "booking_confirmed": _booking_confirmed,
    "booking_declined": _booking_declined,
    "booking_cancelled": _booking_cancelled,
    "booking_turned_away": _booking_turned_away,
    "site_treated": _site_treated,
}
