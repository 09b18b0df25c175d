"""A PDF made once of something that does not change, stored with its digest."""

import uuid

from django.db import models
from django.db.models import Q

from readiness.rules.defects.catalogue import TRADES

from .booking import Booking, ReadinessConfirmation
from .checkpoint import Checkpoint
from .errand import Errand, ErrandQuerySet, only_in
from .report import SiteReport, TradeLink
from .site import Site

ONE_PAPER = ("site_id", "kind", "trade", "report_id", "confirmation_id", "booking_id")


class PaperQuerySet(ErrandQuerySet):
    def visible_to(self, user) -> "PaperQuerySet":
        papers = self.filter(site__in=Site.objects.visible_to(user))
        if not user.is_authenticated or user.is_applicator:
            return papers
        return papers.filter(withheld_at=None)

    def withheld_from(self, user) -> "PaperQuerySet":
        """Papers of the user's sites that only the business sees any more."""
        hidden = self.exclude(withheld_at=None).filter(site__in=Site.objects.visible_to(user))
        return hidden.none() if user.is_applicator else hidden

    def editions_of(self, paper: "Paper") -> "PaperQuerySet":
        """Every edition of one paper; by the index of the site's papers of a kind."""
        return self.filter(**paper.one_paper)

    def made(self) -> "PaperQuerySet":
        return self.filter(state="made")

    def in_force(self) -> "PaperQuerySet":
        """Those that somebody may still wait for: of no superseded report."""
        return self.filter(report__superseded_at=None)


class Paper(Errand):
    """One paper of a site. A corrected template makes a new edition, never a silent change."""

    class Kind(models.TextChoices):
        SITE_REPORT = "site_report", "Site report"
        FIX_LIST = "fix_list", "Fix list"
        CONFIRMATION = "confirmation", "Readiness confirmation"
        PHOTO_RECORD = "photo_record", "Photo record"
        GUIDE = "guide", "Preparation guide"
        TREATMENT = "treatment", "Treatment record"
        RULE_VALUES = "rule_values", "Rule values and sources"

    class State(models.TextChoices):
        QUEUED = "queued", "Waiting to be made"
        MAKING = "making", "Being made"
        MADE = "made", "Made"
        FAILED = "failed", "Could not be made"

    READY, CLAIMED, GIVEN_UP = State.QUEUED, State.MAKING, State.FAILED
    UNFINISHED = (State.QUEUED, State.MAKING)
    SINCE = "requested_at"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(max_length=16, choices=Kind)
    report = models.ForeignKey(
        SiteReport, null=True, blank=True, on_delete=models.PROTECT, related_name="papers"
    )
    trade = models.CharField(max_length=20, choices=TRADES, blank=True)
    confirmation = models.ForeignKey(
        ReadinessConfirmation,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="papers",
    )
    booking = models.ForeignKey(
        Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="papers"
    )
    trade_link = models.ForeignKey(
        TradeLink, null=True, blank=True, on_delete=models.SET_NULL, related_name="papers"
    )
    subject = models.CharField(
        max_length=120, unique=True, help_text="Kind, what it is about, trade and edition."
    )
    edition = models.PositiveSmallIntegerField(default=1)
    edition_reason = models.CharField(max_length=200, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.QUEUED)
    progress = models.CharField(max_length=80, blank=True)
    requested_at = models.DateTimeField()
    made_at = models.DateTimeField(null=True, blank=True)
    pages = models.PositiveIntegerField(null=True, blank=True)
    byte_size = models.PositiveBigIntegerField(null=True, blank=True)
    digest = models.CharField(max_length=64, blank=True)
    storage_name = models.CharField(max_length=200, blank=True)
    checkpoint = models.ForeignKey(
        Checkpoint,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="papers",
        help_text="The one that it carries: kept, so that the paper made again is the same.",
    )
    withheld_at = models.DateTimeField(
        null=True, blank=True, help_text="From then on only the business sees this edition."
    )

    objects = PaperQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "trade", "-edition"]
        indexes = [
            models.Index(fields=["site", "kind"], name="paper_site_kind"),
            models.Index(fields=["next_try_at"], condition=Q(state="queued"), name="paper_to_make"),
            models.Index(
                fields=["claimed_by"], condition=Q(state="making"), name="paper_under_way"
            ),
            models.Index(
                fields=["given_up_at"], condition=Q(state="failed"), name="paper_given_up"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="made") | ~Q(digest="") & Q(made_at__isnull=False),
                name="paper_made_whole",
            ),
            models.CheckConstraint(
                condition=only_in("making", ~Q(claimed_by="")), name="paper_making_is_claimed"
            ),
            models.CheckConstraint(
                condition=only_in("failed", Q(given_up_at__isnull=False)),
                name="paper_failed_has_time",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def title(self) -> str:
        """Its kind, with the trade that it is for: "Fix list: bricklayer"."""
        return f"{self}: {self.get_trade_display().lower()}" if self.trade else str(self)

    @property
    def one_paper(self) -> dict[str, object]:
        """What all editions of one paper have in common, and no other paper has."""
        return {name: getattr(self, name) for name in ONE_PAPER}

    @property
    def about_id(self) -> uuid.UUID:
        """What it is about: a confirmation, a visit, a report, or the site itself."""
        return self.confirmation_id or self.booking_id or self.report_id or self.site_id
