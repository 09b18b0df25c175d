"""In which order a builder's sites want attention, worked out by the database.

This only sorts a list; what each site says comes from readiness.facts. The order follows the same
facts, so that the first page shows what the builder can act on.
"""

from datetime import date, datetime, time

from django.db.models import Case, Exists, F, IntegerField, Min, OuterRef, Q, Subquery, Value, When
from django.utils import timezone

OVERDUE, OFFERED, TO_FIX, TO_CONFIRM, TO_ASK, WAITING, BOOKED, TREATED = range(8)


def by_builder_need(sites, now: datetime, today: date):
    """`sites` with what its builder can act on first: overdue, offers, fixes, confirming, asking.

    With the overdue ones comes a visit that is booked and can't take place as things stand.

    Adds `need` (one of the ranks above) and `first_due` (the earliest due date still to meet).
    """
    ranked = sites.annotate(first_due=Subquery(_first_due())).annotate(need=_need(now, today))
    return ranked.order_by("need", F("first_due").asc(nulls_last=True), "-created_at", "id")


def _need(now: datetime, today: date) -> Case:
    to_do = _items().awaiting_builder()
    open_items = _items().filter(effect="holds").exclude(state="accepted")
    is_coming = _booking("confirmed", day__gte=today)
    to_confirm = Exists(_current_report()) & ~Exists(open_items) & ~_confirmed(_start_of(today))
    return Case(
        When(is_coming & (Exists(to_do) | to_confirm), then=Value(OVERDUE)),
        When(_booking("confirmed"), then=Value(BOOKED)),
        When(_is_treated() & ~Exists(to_do), then=Value(TREATED)),
        When(first_due__lt=today, then=Value(OVERDUE)),
        When(Exists(to_do), then=Value(TO_FIX)),
        When(_booking("offered"), then=Value(OFFERED)),
        When(~Exists(_current_report()) | Exists(open_items), then=Value(WAITING)),
        When(_confirmed(now) & _booking("asked"), then=Value(WAITING)),
        When(_confirmed(now), then=Value(TO_ASK)),
        default=Value(TO_CONFIRM),
        output_field=IntegerField(),
    )


def _first_due():
    found = _items().awaiting_builder().order_by().values("report__site")
    return found.annotate(first=Min("due_on")).values("first")


def _items():
    from readiness.models import DefectItem

    return DefectItem.objects.current().filter(report__site=OuterRef("pk"))


def _current_report():
    from readiness.models import SiteReport

    return SiteReport.objects.current().filter(site=OuterRef("pk"))


def _booking(state: str, **more) -> Exists:
    from readiness.models import Booking

    return Exists(Booking.objects.filter(site=OuterRef("pk"), state=state, **more))


def _start_of(day: date) -> datetime:
    """On its last day a confirmation still counts for a visit."""
    return timezone.make_aware(datetime.combine(day, time.min))


def _is_treated() -> Exists:
    """The latest visit treated it, and no other is under way; whatever a later report found."""
    from readiness.models import Booking

    of_site = Booking.objects.filter(site=OuterRef("site"))
    newer = of_site.open() | of_site.filter(
        state="turned_away", closed_at__gt=OuterRef("closed_at")
    )
    return Exists(Booking.objects.filter(Q(site=OuterRef("pk"), state="treated") & ~Exists(newer)))


def _confirmed(now: datetime) -> Exists:
    """Confirmed, and not turned away since."""
    from readiness.models import Booking, ReadinessConfirmation

    in_vain = Booking.objects.filter(
        site=OuterRef("report__site"), state="turned_away", closed_at__gte=OuterRef("confirmed_at")
    )
    return Exists(
        ReadinessConfirmation.objects.filter(
            ~Exists(in_vain),
            report__site=OuterRef("pk"),
            report__superseded_at=None,
            withdrawn_at=None,
            valid_until__gt=now,
        )
    )
