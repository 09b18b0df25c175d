"""What was found on a site and only a licensed technician decides, and what they decided."""

import uuid

from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery

from readiness.rules.vocabulary import GO_ON, NoAccess, Outcome, ReferralKind

from .people import User
from .site import Site, WallRun


class ReferralQuerySet(models.QuerySet):
    """Named questions about referrals."""

    def visible_to(self, user) -> "ReferralQuerySet":
        return self.filter(site__in=Site.objects.visible_to(user))

    def with_outcome(self) -> "ReferralQuerySet":
        """Each with the `outcome` and `decided_at` of its decision in force; None without one."""
        in_force = ReferralDecision.objects.in_force().filter(referral=OuterRef("pk"))
        return self.annotate(
            outcome=Subquery(in_force.values("outcome")[:1]),
            decided_at=Subquery(in_force.values("decided_at")[:1]),
        )

    def undecided(self) -> "ReferralQuerySet":
        return self.filter(~Exists(ReferralDecision.objects.filter(referral=OuterRef("pk"))))

    def keeping_closed(self) -> "ReferralQuerySet":
        """Live termites of which no decision says that work may go on.

        What decides is `ReferralFacts.keeps_closed`; this only keeps lists short.
        """
        settled = ReferralDecision.objects.filter(referral=OuterRef("pk"), outcome__in=GO_ON)
        return self.filter(~Exists(settled), kind=ReferralKind.LIVE_TERMITES)

    def to_decide(self) -> "ReferralQuerySet":
        """What waits for a technician's first decision on an open site; live termites first."""
        standing = Q(wall_run=None) | Q(wall_run__removed_at=None)
        found = self.undecided().filter(site__closed_at=None)
        return found.filter(standing | Q(kind=ReferralKind.LIVE_TERMITES)).order_by(
            "kind", "noted_at", "pk"
        )


class Referral(models.Model):
    """Live termites, or a wall that nobody can reach. Never changed and never deleted.

    Without distances it is the whole wall. Only a decision settles it, a tap by mistake too.
    """

    class Kind(models.TextChoices):
        LIVE_TERMITES = ReferralKind.LIVE_TERMITES.value, "Live termites"
        NO_ACCESS = ReferralKind.NO_ACCESS.value, "Nobody can reach it"

    class Cause(models.TextChoices):
        BOUNDARY = NoAccess.BOUNDARY.value, "Boundary wall"
        HIDDEN = NoAccess.HIDDEN.value, "Hidden behind something fixed"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="referrals")
    kind = models.CharField(max_length=16, choices=Kind)
    wall_run = models.ForeignKey(
        WallRun, null=True, blank=True, on_delete=models.PROTECT, related_name="referrals"
    )
    from_mm = models.PositiveIntegerField("distance along the wall", null=True, blank=True)
    to_mm = models.PositiveIntegerField("to", null=True, blank=True)
    cause = models.CharField(max_length=10, choices=Cause, blank=True)
    note = models.TextField(blank=True)
    noted_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    noted_at = models.DateTimeField()

    objects = ReferralQuerySet.as_manager()

    class Meta:
        ordering = ["noted_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind=ReferralKind.LIVE_TERMITES, cause="")
                | Q(kind=ReferralKind.NO_ACCESS, wall_run__isnull=False) & ~Q(cause=""),
                name="referral_fits_kind",
            ),
            models.CheckConstraint(
                condition=Q(from_mm=None, to_mm=None)
                | Q(from_mm__isnull=False, wall_run__isnull=False)
                & (Q(to_mm=None) | Q(to_mm__gte=F("from_mm"))),
                name="referral_extent_forwards",
            ),
            models.CheckConstraint(
                condition=~Q(kind=ReferralKind.NO_ACCESS)
                | Q(from_mm=None, to_mm=None)
                # A check that comes to NULL passes: half a stretch has to be ruled out.
                | Q(from_mm__isnull=False, to_mm__isnull=False, to_mm__gt=F("from_mm")),
                name="referral_stretch_whole",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def is_termites(self) -> bool:
        return self.kind == ReferralKind.LIVE_TERMITES

    @property
    def in_force(self) -> "ReferralDecision | None":
        """The decision that counts: the last one. Reads `decisions`, which lists prefetch."""
        decisions = list(self.decisions.all())
        replaced = {decision.supersedes_id for decision in decisions}
        return next((one for one in decisions if one.pk not in replaced), None)

    @property
    def is_settled(self) -> bool:
        """Live termites of which a decision said that work may go on: a further find is another."""
        decision = self.in_force
        return decision is not None and decision.outcome in GO_ON


class ReferralDecisionQuerySet(models.QuerySet):
    def in_force(self) -> "ReferralDecisionQuerySet":
        """Those that no later decision takes the place of."""
        return self.filter(superseded_by=None)


class ReferralDecision(models.Model):
    """What a licensed technician decided, with the name and licence that they had then.

    Never changed: a later decision takes the place of an earlier one, in one line.
    """

    class Choice(models.TextChoices):
        TREATED_SEPARATELY = Outcome.TREATED_SEPARATELY.value, "Treated separately, go on"
        NOT_TERMITES = Outcome.NOT_TERMITES.value, "Not termites"
        STAYS_CLOSED = Outcome.STAYS_CLOSED.value, "Site stays closed"
        NOT_TREATED = Outcome.NOT_TREATED.value, "Not treated: no access"
        CAN_BE_REACHED = Outcome.CAN_BE_REACHED.value, "It can be reached: treat it"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    referral = models.ForeignKey(Referral, on_delete=models.PROTECT, related_name="decisions")
    outcome = models.CharField(max_length=20, choices=Choice)
    reason = models.TextField()
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    decided_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    name = models.CharField(max_length=120)
    licence_number = models.CharField(max_length=60)
    decided_at = models.DateTimeField()

    objects = ReferralDecisionQuerySet.as_manager()

    class Meta:
        ordering = ["decided_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["referral"], condition=Q(supersedes=None), name="decision_one_first"
            ),
            models.UniqueConstraint(
                fields=["referral"], condition=Q(outcome__in=GO_ON), name="decision_one_opens"
            ),
            models.CheckConstraint(
                condition=~Q(reason="") & ~Q(name="") & ~Q(licence_number=""),
                name="decision_whole",
            ),
        ]

    def __str__(self) -> str:
        return self.get_outcome_display()
