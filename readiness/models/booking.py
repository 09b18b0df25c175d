"""The builder's signed statement that a site is ready, and the day of treatment."""

import uuid
from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta

from django.db import models
from django.db.models import Case, Count, Exists, OuterRef, Q, Value, When

from readiness.rules.vocabulary import BookingState, PutOffCause
from readiness.rules.vocabulary import Half as HalfDay

from .local_days import LocalDays
from .people import User
from .record import RecordEntry
from .referral import Referral
from .report import SiteReport
from .site import Site
from .verbs import Verb

DATED = (BookingState.OFFERED, BookingState.CONFIRMED)
OPEN = (BookingState.ASKED, *DATED)
VISITED = (BookingState.TREATED, BookingState.TURNED_AWAY)


class ReadinessConfirmation(models.Model):
    """A builder contact's signed statement on one issued report.

    Whether it still holds is computed from facts (readiness.rules.site.assessment), never stored.
    From `version` 2 on it keeps how the signer showed who they are: by what, when, to which
    address, on which device.
    """

    class Method(models.TextChoices):
        CODE = "code", "E-mailed code"
        PASSKEY = "passkey", "Passkey"
        APP = "app", "Authenticator app"

    VERSION = 2

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    report = models.ForeignKey(SiteReport, on_delete=models.PROTECT, related_name="confirmations")
    confirmed_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    statement = models.TextField()
    name = models.CharField(max_length=120)
    position = models.CharField(max_length=80)
    signature = models.CharField(max_length=120)  # typed, up to version 0.1; empty since
    ticks = models.JSONField(help_text='{wall run id: ["clean", "dry", "clear"]}')
    version = models.PositiveSmallIntegerField(default=1, help_text="Of what its digest covers.")
    account_address = models.EmailField(
        max_length=254, blank=True, help_text="The account's address, as the signer was shown it."
    )
    proved_by = models.CharField(max_length=8, choices=Method, blank=True)
    proved_at = models.DateTimeField(null=True, blank=True)
    device = models.CharField(max_length=60, blank=True)
    confirmed_at = models.DateTimeField()
    valid_until = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    withdrawn_reason = models.TextField(blank=True)

    class Meta:
        ordering = ["-confirmed_at"]

    def __str__(self) -> str:
        return f"Readiness confirmation of {self.report}"


class BookingPriority(models.TextChoices):
    """What an open booking asks of the applicator; the values sort by urgency."""

    WRITE_DOWN = "1_write_down", "Record the visit"
    TODAY = "2_today", "Today"
    LAPSED = "3_lapsed", "The offered day has passed"
    ASKED = "4_asked", "Builders asking for a day"
    THIS_WEEK = "5_week", "This week"
    LATER = "6_later", "Later"


def _past(today: date) -> tuple[date | None, date | None]:
    return None, today - timedelta(days=1)


def _today(today: date) -> tuple[date | None, date | None]:
    return today, today


def _seven_days(today: date) -> tuple[date | None, date | None]:
    return today, today + timedelta(days=6)


def _sunday(today: date) -> date:
    return today + timedelta(days=6 - today.weekday())


def _rest_of_week(today: date) -> tuple[date | None, date | None]:
    """None on a Sunday: its first day is after its last."""
    return today + timedelta(days=1), _sunday(today)


def _after_this_week(today: date) -> tuple[date | None, date | None]:
    return _sunday(today) + timedelta(days=1), None


class BookingQuerySet(models.QuerySet):
    def visible_to(self, user) -> "BookingQuerySet":
        return self.filter(site__in=Site.objects.visible_to(user))

    def open(self) -> "BookingQuerySet":
        return self.filter(state__in=OPEN)

    def asked(self) -> "BookingQuerySet":
        """Requests that wait for a day to be offered, the oldest first."""
        return self.filter(state=BookingState.ASKED).order_by("asked_at")

    def to_offer(self) -> "BookingQuerySet":
        """Those of them that a day can be offered for: not where we were turned away, nor where
        live termites keep the site closed.

        What decides are the site's facts; this only keeps a list short.
        """
        since = ReadinessConfirmation.objects.filter(
            report__site=OuterRef("site"),
            withdrawn_at=None,
            confirmed_at__gt=OuterRef("closed_at"),
        )
        in_vain = Booking.objects.filter(site=OuterRef("site"), state=BookingState.TURNED_AWAY)
        closed = Referral.objects.keeping_closed().filter(site=OuterRef("site"))
        return self.asked().filter(~Exists(in_vain.filter(~Exists(since))), ~Exists(closed))

    def to_record(self, days: LocalDays) -> "BookingQuerySet":
        """Confirmed days that have passed, with nothing written down about them yet."""
        return self.filter(days.within("day", _past), state=BookingState.CONFIRMED).order_by("day")

    def between(self, first, last) -> "BookingQuerySet":
        """Offered and confirmed days from `first` to `last`, in the order of the day."""
        dated = self.filter(state__in=DATED, day__range=(first, last))
        return dated.order_by("day", "-half", "site__suburb")

    def counts_by_day(self, first: date, last: date) -> dict[date, int]:
        """How many half-days are offered or booked on each day from `first` to `last` with any."""
        return Counter(self.between(first, last).values_list("day", flat=True))

    def this_week(self, days: LocalDays) -> "BookingQuerySet":
        """Offered and confirmed days of the seven from today on."""
        return self.filter(days.within("day", _seven_days), state__in=DATED).order_by(
            "day", "-half", "site__suburb"
        )

    def of_priority(self, priority: str, days: LocalDays) -> "BookingQuerySet":
        """The open bookings of one `BookingPriority`, in their order, which an index has."""
        dated = self.filter(state__in=DATED)
        found = {
            BookingPriority.WRITE_DOWN: self.to_record(days),
            BookingPriority.TODAY: dated.filter(days.within("day", _today)),
            BookingPriority.LAPSED: self.filter(
                days.within("day", _past), state=BookingState.OFFERED
            ),
            BookingPriority.ASKED: self.filter(state=BookingState.ASKED),
            BookingPriority.THIS_WEEK: dated.filter(days.within("day", _rest_of_week)),
            BookingPriority.LATER: dated.filter(days.within("day", _after_this_week)),
        }[BookingPriority(priority)]
        first = ("asked_at",) if priority == BookingPriority.ASKED else ("day", "-half")
        return found.order_by(*first, "site__suburb", "pk")

    def counts_by_priority(self, days: LocalDays) -> dict[str, int]:
        """How many open bookings there are of each priority that has any, in their order."""
        past = days.within("day", _past)
        priority = Case(
            When(state=BookingState.ASKED, then=Value(BookingPriority.ASKED)),
            When(past, state=BookingState.CONFIRMED, then=Value(BookingPriority.WRITE_DOWN)),
            When(past, then=Value(BookingPriority.LAPSED)),
            When(days.within("day", _today), then=Value(BookingPriority.TODAY)),
            When(days.within("day", _rest_of_week), then=Value(BookingPriority.THIS_WEEK)),
            default=Value(BookingPriority.LATER),
            output_field=models.CharField(),
        )
        counted = self.open().annotate(priority=priority).order_by("priority").values("priority")
        return {row["priority"]: row["found"] for row in counted.annotate(found=Count("pk"))}

    def ended(self) -> "BookingQuerySet":
        """Visits that took place: treated or turned away, the latest first."""
        return self.filter(state__in=VISITED).order_by("-closed_at")

    def first_treatments(self) -> "BookingQuerySet":
        """Of each house its first treatment that relied on a confirmed report, the latest first.

        A second one is of what was left. Not those that came in with a site from elsewhere: they
        tell of another's work. By the day, which an index has.
        """
        earlier = Booking.objects.filter(
            site=OuterRef("site"), state=BookingState.TREATED, closed_at__lt=OuterRef("closed_at")
        )
        came_in = RecordEntry.objects.filter(
            site=OuterRef("site"), verb=Verb.IMPORTED, at__gt=OuterRef("closed_at")
        )
        return (
            self.filter(state=BookingState.TREATED, used_ml__gt=0, confirmation__isnull=False)
            .filter(~Exists(earlier), ~Exists(came_in))
            .order_by("-day", "pk")
        )


class ByPriority(Sequence):
    """Open bookings, what is most urgent first; each that is read has its `priority`.

    Sorting all of them at once would take longer with each. The kinds follow one another, and each
    is sorted by an index: a slice reads only the kinds that it lies in.
    """

    def __init__(self, bookings: BookingQuerySet, days: LocalDays, counts: dict[str, int]):
        self.bookings, self.days, self.counts = bookings, days, counts

    def __len__(self) -> int:
        return sum(self.counts.values())

    def __getitem__(self, wanted):
        if not isinstance(wanted, slice):
            return self[wanted : wanted + 1][0]
        first, last, _ = wanted.indices(len(self))
        found, passed = [], 0
        for priority in sorted(self.counts):
            start, end = max(first - passed, 0), min(last - passed, self.counts[priority])
            passed += self.counts[priority]
            if start < end:
                rows = list(self.bookings.of_priority(priority, self.days)[start:end])
                for booking in rows:
                    booking.priority = priority
                found += rows
        return found


class Booking(models.Model):
    """Asked for, offered, confirmed; then treated, turned away or cancelled."""

    class State(models.TextChoices):
        ASKED = BookingState.ASKED.value, "Asked for"
        OFFERED = BookingState.OFFERED.value, "Offered"
        CONFIRMED = BookingState.CONFIRMED.value, "Confirmed"
        TREATED = BookingState.TREATED.value, "Treated"
        TURNED_AWAY = BookingState.TURNED_AWAY.value, "Turned away"
        CANCELLED = BookingState.CANCELLED.value, "Cancelled"

    class Half(models.TextChoices):
        MORNING = HalfDay.MORNING.value, "Morning"
        AFTERNOON = HalfDay.AFTERNOON.value, "Afternoon"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="bookings")
    state = models.CharField(max_length=12, choices=State, default=State.ASKED)
    asked_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField()
    preferences = models.JSONField(
        default=list, help_text='[{"date": "2027-03-11", "half": "morning"}], best first'
    )
    note = models.TextField(blank=True)
    day = models.DateField(null=True, blank=True)
    half = models.CharField(max_length=10, choices=Half, blank=True)
    offered_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    offered_at = models.DateTimeField(null=True, blank=True)
    offer_note = models.TextField(blank=True)
    confirmed_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    confirmed_at = models.DateTimeField(null=True, blank=True)
    confirmation = models.ForeignKey(
        ReadinessConfirmation,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="bookings",
    )
    put_off_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text="When the booked day was put off, until another is asked for or offered.",
    )
    closed_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closing_note = models.TextField(blank=True)
    treated_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    used_ml = models.PositiveIntegerField("liquid used, mL", null=True, blank=True)
    batch_number = models.CharField(max_length=60, blank=True)
    weather = models.CharField(max_length=120, blank=True)

    objects = BookingQuerySet.as_manager()

    class Meta:
        ordering = ["day", "-asked_at"]
        indexes = [
            models.Index(fields=["state", "day"], name="booking_state_day"),
            models.Index(fields=["site", "state"], name="booking_site_state"),
            models.Index(
                fields=["day", "-half"],
                condition=Q(state__in=DATED),
                name="booking_coming",
            ),
            models.Index(
                fields=["asked_at"], condition=Q(state=BookingState.ASKED), name="booking_asked"
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["site"],
                condition=Q(state__in=OPEN),
                name="booking_one_open",
            ),
            models.CheckConstraint(
                condition=Q(put_off_at=None)
                | Q(state__in=(BookingState.ASKED, BookingState.CANCELLED)),
                name="booking_put_off_without_day",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=(*DATED, *VISITED)) | Q(day__isnull=False) & ~Q(half=""),
                name="booking_dated",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=(BookingState.CONFIRMED, *VISITED))
                | Q(confirmed_at__isnull=False),
                name="booking_confirmed_whole",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=(*VISITED, BookingState.CANCELLED))
                | Q(closed_at__isnull=False),
                name="booking_closed_whole",
            ),
        ]

    def __str__(self) -> str:
        when = f" {self.day} {self.get_half_display().lower()}" if self.day else ""
        return f"Booking {self.get_state_display().lower()}{when}"

    @property
    def offer(self) -> str:
        """The half-day on offer as forms carry it, to tell it from a later one; "" without one."""
        if self.state != self.State.OFFERED or self.day is None:
            return ""
        return f"{self.day.isoformat()}/{self.half}"

    @property
    def booked(self) -> str:
        """The booked half-day as forms carry it, to tell it from a later one; "" without one."""
        if self.state != self.State.CONFIRMED or self.day is None:
            return ""
        return f"{self.day.isoformat()}/{self.half}"

    def wishes(self, today: date) -> list[tuple[date, str]]:
        """The half-days asked for that have neither passed nor been put off, best first."""
        asked = [(date.fromisoformat(wish["date"]), wish["half"]) for wish in self.preferences]
        off = {(one.day, one.half) for one in self.put_offs.all()} if asked else ()
        return [wish for wish in asked if wish[0] >= today and wish not in off]

    @property
    def was_asked(self) -> bool:
        """Whether the builder asked for days; else we offered one, which they may have declined."""
        return bool(self.preferences)

    @property
    def was_put_off(self) -> bool:
        """Whether it has no day because the booked one was put off."""
        return self.put_off_at is not None

    @property
    def state_words(self) -> str:
        """The state as it reads; what was declined or put off was not "asked for" by anybody."""
        if self.was_put_off or (self.state == self.State.ASKED and not self.was_asked):
            return "To offer"
        return self.get_state_display()

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.ASKED, self.State.OFFERED, self.State.CONFIRMED)


class PutOff(models.Model):
    """A booked day that was put off, and why. The booking goes on with another day, or none yet.

    Never changed and never deleted: what was booked before stands nowhere else but in the Record.
    """

    class Cause(models.TextChoices):
        RAIN = PutOffCause.RAIN.value, "Rain"
        WIND = PutOffCause.WIND.value, "Wind"
        OURS = PutOffCause.OURS.value, "We can’t come"
        BUILDER = PutOffCause.BUILDER.value, "The builder asked"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="put_offs")
    day = models.DateField()
    half = models.CharField(max_length=10, choices=Booking.Half)
    cause = models.CharField(max_length=10, choices=Cause)
    note = models.TextField(blank=True)
    put_off_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    put_off_at = models.DateTimeField()

    class Meta:
        ordering = ["put_off_at", "id"]

    def __str__(self) -> str:
        return f"{self.day} put off: {self.get_cause_display()}"
