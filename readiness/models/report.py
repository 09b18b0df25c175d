"""A pre-treatment visit: what was looked at, what was found, and how each thing was fixed."""

import uuid
from datetime import date, timedelta

from django.conf import settings
from django.core import signing
from django.db import models
from django.db.models import Case, Count, F, Min, Q, When
from django.urls import reverse

from readiness.rules.defects.catalogue import EFFECTS, ITEM_STATES, TRADES, get_kind
from readiness.rules.vocabulary import OPEN_STATES, TO_DO, Effect, ItemState

from .frozen import ITEM_MOVES
from .local_days import LocalDays
from .people import User
from .site import Site, WallRun


class FrozenReport(Exception):
    """An issued report, or an item of one, would have changed."""


def refuse_if_issued(report_id) -> None:
    """Raise FrozenReport when the stored report is issued."""
    if SiteReport.objects.filter(pk=report_id, issued_at__isnull=False).exists():
        raise FrozenReport("An issued report never changes: start a new one instead.")


class SiteReportQuerySet(models.QuerySet):
    """Named questions about reports."""

    def visible_to(self, user) -> "SiteReportQuerySet":
        """Reports of the sites a user may see; a builder contact sees issued ones only."""
        visible = self.filter(site__in=Site.objects.visible_to(user))
        if user.is_authenticated and user.is_applicator:
            return visible
        return visible.issued()

    def drafts(self) -> "SiteReportQuerySet":
        return self.filter(issued_at=None)

    def issued(self) -> "SiteReportQuerySet":
        return self.filter(issued_at__isnull=False)

    def current(self) -> "SiteReportQuerySet":
        """The one issued report of each site that no later one supersedes."""
        return self.issued().filter(superseded_at=None)


class SiteReport(models.Model):
    """One visit: a draft until issued; then it never changes, and a later one supersedes it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="reports")
    number = models.PositiveIntegerField(null=True, blank=True)
    visited_on = models.DateField()
    treatment_wanted_on = models.DateField(null=True, blank=True)
    weather = models.CharField(max_length=120, blank=True)
    notes = models.TextField(blank=True)
    prepared_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField()
    issued_at = models.DateTimeField(null=True, blank=True)
    issued_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    superseded_at = models.DateTimeField(null=True, blank=True)
    rule_values = models.JSONField(default=dict, help_text="The values it was issued with.")
    snapshot = models.JSONField(default=dict, help_text="Walls, levels and items as issued.")
    digest = models.CharField(max_length=64, blank=True, help_text="SHA-256 of the snapshot.")

    objects = SiteReportQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["site", "number"], name="report_number_once"),
            models.UniqueConstraint(
                fields=["site"], condition=Q(issued_at=None), name="report_one_draft"
            ),
            models.UniqueConstraint(
                fields=["site"],
                condition=Q(issued_at__isnull=False, superseded_at=None),
                name="report_one_current",
            ),
            models.CheckConstraint(
                condition=Q(issued_at=None, number=None, digest="")
                | Q(issued_at__isnull=False, number__isnull=False) & ~Q(digest=""),
                name="report_issued_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"Report {self.number}" if self.number else "Draft report"

    def save(self, *args, **kwargs):
        """Raises FrozenReport where an issued report would change; the database refuses too."""
        if not self._state.adding and set(kwargs.get("update_fields") or ["*"]) - {"superseded_at"}:
            refuse_if_issued(self.pk)
        super().save(*args, **kwargs)

    @property
    def is_draft(self) -> bool:
        return self.issued_at is None

    @property
    def is_current(self) -> bool:
        return self.issued_at is not None and self.superseded_at is None


class RunCheck(models.Model):
    """A wall run that was walked from end to end on this visit."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    report = models.ForeignKey(SiteReport, on_delete=models.CASCADE, related_name="checks")
    wall_run = models.ForeignKey(WallRun, on_delete=models.PROTECT, related_name="checks")
    checked_at = models.DateTimeField()
    checked_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["wall_run__position"]
        constraints = [
            models.UniqueConstraint(fields=["report", "wall_run"], name="run_checked_once")
        ]

    def __str__(self) -> str:
        return f"{self.wall_run} checked"


def waiting_since() -> Case:
    """Since when an item is as it is: a dispute since its own day, else since its state is."""
    undecided = When(disputed_at__isnull=False, decided_at=None, then=F("disputed_at"))
    return Case(undecided, default=F("state_changed_at"))


def _yesterday(today: date) -> tuple[None, date]:
    """Up to yesterday: what was due by then is overdue."""
    return None, today - timedelta(days=1)


class DefectItemQuerySet(models.QuerySet):
    """Named questions about items."""

    def visible_to(self, user) -> "DefectItemQuerySet":
        return self.filter(report__in=SiteReport.objects.visible_to(user))

    def current(self) -> "DefectItemQuerySet":
        """Items of issued reports that are not superseded."""
        return self.filter(report__issued_at__isnull=False, report__superseded_at=None)

    def holding(self) -> "DefectItemQuerySet":
        """Items that hold the booking and are not accepted yet."""
        return self.filter(effect=Effect.HOLDS, state__in=OPEN_STATES)

    def awaiting_builder(self) -> "DefectItemQuerySet":
        """Items that the builder has to fix, and has not disagreed with."""
        return self.filter(effect=Effect.HOLDS, state__in=TO_DO, disputed_at=None) | self.filter(
            effect=Effect.HOLDS, state__in=TO_DO, decided_at__isnull=False
        )

    def awaiting_review(self) -> "DefectItemQuerySet":
        """Items reported fixed, or disputed, that the applicator has to look at."""
        return self.filter(
            Q(state=ItemState.REPORTED_FIXED)
            | Q(state__in=OPEN_STATES, disputed_at__isnull=False, decided_at=None)
        )

    def of_site(self, site) -> "DefectItemQuerySet":
        return self.filter(report__site=site)

    def for_review(self) -> "DefectItemQuerySet":
        """With everything that a reviewer looks at: photos, what was said, and the flags."""
        return (
            self.select_related("wall_run", "report__site", "disputed_by", "carried_from__report")
            .defer("report__snapshot", "carried_from__report__snapshot")
            .prefetch_related(
                "photos__original",
                "fixes__photos__original",
                "fixes__photos__flags",
                "fixes__said_by",
            )
            .order_by("wall_run__position", "number")
        )

    def counts_by_site(self, days: LocalDays) -> models.QuerySet:
        """One row a site: how many, overdue, disagreed with; the oldest and the first due."""
        return (
            self.order_by()
            .values("report__site")
            .annotate(
                count=Count("id"),
                overdue=Count("id", filter=days.within("due_on", _yesterday, "report__site")),
                disagreed=Count("id", filter=Q(disputed_at__isnull=False, decided_at=None)),
                oldest=Min(waiting_since()),
                first_due=Min("due_on"),
            )
        )


class DefectItem(models.Model):
    """One thing found, on one wall run at one distance."""

    class MeasuredFrom(models.TextChoices):
        TAPE = "tape", "With the tape"
        PHOTO = "photo", "From a photo"

    class Decision(models.TextChoices):
        STANDS = "stands", "Stands"
        WITHDRAWN = "let_go", "Withdrawn"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    report = models.ForeignKey(SiteReport, on_delete=models.CASCADE, related_name="items")
    number = models.PositiveSmallIntegerField()
    wall_run = models.ForeignKey(WallRun, on_delete=models.PROTECT, related_name="items")
    kind = models.CharField(max_length=40)  # of the catalogue, which the actions hold it to
    from_mm = models.PositiveIntegerField("distance along the wall", null=True, blank=True)
    to_mm = models.PositiveIntegerField("to", null=True, blank=True)
    measured_value = models.IntegerField(null=True, blank=True)
    measured_from = models.CharField(max_length=5, choices=MeasuredFrom, blank=True)
    measured_uncertainty = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    required_fix = models.TextField()
    trade = models.CharField(max_length=20, choices=TRADES)
    effect = models.CharField(max_length=12, choices=EFFECTS)
    due_on = models.DateField(null=True, blank=True)
    cleaned_wet_at = models.DateTimeField(
        null=True, blank=True, help_text="When the wall was last washed here."
    )
    carried_from = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="carried_to"
    )
    created_at = models.DateTimeField()

    state = models.CharField(max_length=10, choices=ITEM_STATES, blank=True)
    state_changed_at = models.DateTimeField(null=True, blank=True)
    disputed_at = models.DateTimeField(null=True, blank=True)
    disputed_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    dispute_reason = models.TextField(blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    decision = models.CharField(max_length=8, choices=Decision, blank=True)
    decision_reason = models.TextField(blank=True)

    objects = DefectItemQuerySet.as_manager()
    _loaded: dict[str, object]

    class Meta:
        ordering = ["number"]
        indexes = [
            models.Index(fields=["state", "due_on", "state_changed_at"], name="item_state_due"),
            models.Index(fields=["state", "state_changed_at"], name="item_state_since"),
            models.Index(
                fields=["disputed_at"],
                condition=Q(disputed_at__isnull=False, decided_at=None),
                name="item_disputed_on",
            ),
            models.Index(fields=["report", "effect", "state"], name="item_report_state"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["report", "number"], name="item_number_once"),
            models.CheckConstraint(
                condition=Q(to_mm=None) | Q(from_mm__isnull=False, to_mm__gte=F("from_mm")),
                name="item_extent_forwards",
            ),
            models.CheckConstraint(
                condition=Q(effect=Effect.RECORD, state="")
                | ~Q(effect=Effect.RECORD) & ~Q(state=""),
                name="item_state_fits_effect",
            ),
            models.CheckConstraint(
                condition=Q(decided_at=None, decision="") | Q(decided_at__isnull=False),
                name="item_decision_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"Item {self.number}: {self.kind_entry.name}"

    @classmethod
    def from_db(cls, db, field_names, values, **more):
        item = super().from_db(db, field_names, values, **more)
        item._loaded = dict(zip(field_names, values, strict=True))
        return item

    def save(self, *args, **kwargs):
        """Raises FrozenReport where what an issued report says of the item would change."""
        loaded = getattr(self, "_loaded", {})
        changed = {
            name
            for name, value in loaded.items()
            if name not in ITEM_MOVES and value != getattr(self, name)
        }
        if not self._state.adding and changed:
            refuse_if_issued(loaded.get("report_id", self.report_id))
        super().save(*args, **kwargs)

    @property
    def kind_entry(self):
        """The catalogue's entry of this item's kind."""
        return get_kind(self.kind)

    @property
    def holds(self) -> bool:
        return self.effect == Effect.HOLDS and self.state in OPEN_STATES

    @property
    def is_disputed(self) -> bool:
        """The builder disagrees and the applicator has not decided yet."""
        return self.disputed_at is not None and self.decided_at is None

    @property
    def shown_state(self) -> str:
        """The state as lists show it: while an open item is disputed, that comes first."""
        return "disputed" if self.is_disputed and self.state in OPEN_STATES else self.state


class Fix(models.Model):
    """One time that somebody said an item is fixed. A client may choose the id."""

    class Outcome(models.TextChoices):
        ACCEPTED = ItemState.ACCEPTED.value, "Accepted"
        SENT_BACK = ItemState.SENT_BACK.value, "Sent back"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    item = models.ForeignKey(DefectItem, on_delete=models.PROTECT, related_name="fixes")
    said_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    said_at = models.DateTimeField()
    note = models.TextField(blank=True)
    washed_at = models.DateTimeField(
        null=True, blank=True, help_text="When the wall was washed, where that was the fix."
    )
    taken_back_at = models.DateTimeField(null=True, blank=True)
    reviewed_at = models.DateTimeField(null=True, blank=True)
    reviewed_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    outcome = models.CharField(max_length=10, choices=Outcome, blank=True)
    reason = models.TextField(blank=True)

    class Meta:
        ordering = ["-said_at"]
        verbose_name_plural = "fixes"
        constraints = [
            models.UniqueConstraint(
                fields=["item"],
                condition=Q(taken_back_at=None, outcome=""),
                name="fix_one_open",
            ),
            models.CheckConstraint(
                condition=Q(outcome="", reviewed_at=None)
                | ~Q(outcome="") & Q(reviewed_at__isnull=False, taken_back_at=None),
                name="fix_review_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"Fix of {self.item}"

    @property
    def is_open(self) -> bool:
        return self.taken_back_at is None and not self.outcome


class TradeLinkQuerySet(models.QuerySet):
    def usable(self, now) -> "TradeLinkQuerySet":
        return self.filter(revoked_at=None, expires_at__gt=now)


class TradeLink(models.Model):
    """A read-only link to one trade's fix list of one site, for people without an account."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="trade_links")
    trade = models.CharField(max_length=20, choices=TRADES)
    created_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = TradeLinkQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return f"Link to the {self.get_trade_display()} list"

    @staticmethod
    def signer() -> signing.Signer:
        """Signs link ids; only an address that we made opens a list."""
        return signing.Signer(salt="trade-link")

    @property
    def token(self) -> str:
        """The unguessable part of the address: worked out again each time, stored nowhere."""
        return self.signer().sign(self.pk.hex)

    @property
    def url(self) -> str:
        """The full address, for sharing and for a QR code."""
        return settings.SITE_URL + reverse("trade:trade_list", args=[self.token])
