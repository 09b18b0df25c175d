"""A house lot and the walls round it, as measured. Levels are mm above the site's datum."""

import uuid
from functools import reduce
from operator import or_
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import Q

from readiness.rules.defects.catalogue import FINISHES, STATES
from readiness.rules.site.priority import WAITING
from readiness.rules.vocabulary import SOIL_CLASSES

from .people import Builder, BuilderContact, User
from .search import SearchText, words_of

SEARCHED = frozenset({"builder", "street", "suburb", "state", "postcode", "job_number"})
STATE_CHOICES = [(state.code, state.name) for state in STATES.values()]


def _seen_by(membership: BuilderContact) -> Q:
    if membership.all_sites:
        return Q(builder=membership.builder_id)
    listed = BuilderContact.sites.through.objects.filter(buildercontact=membership)
    return Q(builder=membership.builder_id, pk__in=listed.values("site"))


class SiteQuerySet(models.QuerySet):
    """Named questions about sites."""

    def visible_to(self, user) -> "SiteQuerySet":
        """All sites for the applicator; of each of a contact's builders all, or those listed."""
        if not user.is_authenticated or not user.is_active:
            return self.none()
        if user.is_applicator:
            return self
        seen = [_seen_by(membership) for membership in user.active_memberships]
        return self.filter(reduce(or_, seen)) if seen else self.none()

    def open(self) -> "SiteQuerySet":
        """Sites that still have work to come."""
        return self.filter(closed_at=None)

    def stale(self, now) -> "SiteQuerySet":
        """Sites whose stored rank time has overtaken; see `readiness.priorities`."""
        return self.filter(need_until__lte=now)

    def closed(self) -> "SiteQuerySet":
        """Finished sites that were archived."""
        return self.exclude(closed_at=None)

    def alike(self, site: "Site") -> "SiteQuerySet":
        """Other sites of the same house type that have walls, this builder's first."""
        if not site.house_type:
            return self.none()
        same = models.Case(models.When(builder=site.builder_id, then=0), default=1)
        walls = models.Count("wall_runs", filter=Q(wall_runs__removed_at=None))
        return (
            self.filter(house_type__iexact=site.house_type.strip())
            .exclude(pk=site.pk)
            .annotate(walls=walls)
            .filter(walls__gt=0)
            .order_by(same, "-created_at")
        )

    def matching(self, text: str) -> "SiteQuerySet":
        """Sites whose address, job number or builder has every word of `text`.

        Capitals do not matter; every other character stands for itself.
        """
        found = self
        for word in words_of(text):
            found = found.filter(search_text__contains=word)
        return found


class Site(models.Model):
    """One house lot. Its state gives the time zone and the public holidays."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    builder = models.ForeignKey(Builder, on_delete=models.PROTECT, related_name="sites")
    street = models.CharField("street address", max_length=160)
    suburb = models.CharField(max_length=80)
    state = models.CharField(max_length=3, choices=STATE_CHOICES)
    postcode = models.CharField(max_length=8, blank=True)
    job_number = models.CharField("builder's job number", max_length=40, blank=True)
    house_type = models.CharField(
        max_length=80,
        blank=True,
        help_text="The builder's name for the design. Walls can be copied between such sites.",
    )
    access_notes = models.TextField(
        "site access", blank=True, help_text="Gate code, where to park, dogs, who to ring."
    )
    datum = models.CharField(
        "levels are measured from",
        max_length=80,
        default="top of the slab",
        help_text="The level that counts as 0 mm.",
    )
    soil_class = models.CharField(
        max_length=2,
        choices=list(SOIL_CLASSES.items()),
        blank=True,
        help_text="From the soil report or the plans. Leave empty if you don't know it.",
    )
    treatment_wanted_on = models.DateField(null=True, blank=True)
    latitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    longitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    rained_at = models.DateTimeField(
        null=True, blank=True, help_text="When it last rained on the walls, entered by hand."
    )
    notify = models.ManyToManyField(
        BuilderContact, blank=True, related_name="notified_of", verbose_name="contacts to notify"
    )
    created_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    search_text = SearchText(default="", editable=False)

    # What lists are sorted by; actions write it (readiness.priorities), nothing decides by it.
    need = models.PositiveSmallIntegerField(default=WAITING, editable=False)
    need_first_due = models.DateField(null=True, editable=False)
    need_until = models.DateTimeField(
        null=True, editable=False, help_text="From then on the rank is to be worked out anew."
    )
    to_review = models.BooleanField(default=False, editable=False)
    to_fix = models.BooleanField(default=False, editable=False)

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "id"]
        indexes = [
            models.Index(fields=["-created_at", "id"], name="site_newest"),
            models.Index(fields=["builder", "-created_at"], name="site_builder_newest"),
            models.Index(
                fields=["builder", "-created_at"], condition=Q(closed_at=None), name="site_open"
            ),
            models.Index(
                fields=["builder", "need", "need_first_due", "-created_at", "id"],
                condition=Q(closed_at=None),
                name="site_by_need",
            ),
            models.Index(
                fields=["need_until"],
                condition=Q(closed_at=None, need_until__isnull=False),
                name="site_need_until",
            ),
            models.Index(
                fields=["-created_at", "id"], condition=Q(to_review=True), name="site_to_review"
            ),
            models.Index(
                fields=["-created_at", "id"], condition=Q(to_fix=True), name="site_to_fix"
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=list(STATES)), name="site_state"),
            models.CheckConstraint(
                condition=Q(latitude=None, longitude=None)
                | Q(
                    # A check that comes to NULL passes: half a position has to be ruled out.
                    latitude__isnull=False,
                    longitude__isnull=False,
                    latitude__range=(-90, 90),
                    longitude__range=(-180, 180),
                ),
                name="site_position_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.street}, {self.suburb}"

    def save(self, *args, update_fields=None, **kwargs):
        if update_fields is not None and SEARCHED.intersection(update_fields):
            update_fields = {*update_fields, "search_text"}
        super().save(*args, update_fields=update_fields, **kwargs)

    @property
    def zone(self) -> ZoneInfo:
        """The time zone that this site's times are shown in."""
        return ZoneInfo(STATES[self.state].zone)

    @property
    def address(self) -> str:
        """The whole address on one line."""
        return f"{self.street}, {self.suburb} {self.state} {self.postcode}".strip()


class WallRun(models.Model):
    """One straight stretch of external wall between corners, in order round the perimeter."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="wall_runs")
    position = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=60)
    length_mm = models.PositiveIntegerField()
    finish = models.CharField(max_length=20, choices=FINISHES)
    turn_degrees = models.SmallIntegerField(
        "turn at its end", default=90, help_text="90 is an outside corner, -90 an inside corner."
    )
    levels = models.JSONField(
        default=dict,
        blank=True,
        help_text="What was measured on it.",  # as `rules.band.geometry` keeps it
    )
    levels_changed_at = models.DateTimeField(null=True, blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["position", "label"]
        indexes = [models.Index(fields=["site", "position"], name="wallrun_order")]
        constraints = [
            models.CheckConstraint(
                condition=Q(length_mm__range=(100, 200_000)), name="wallrun_length_believable"
            ),
            models.CheckConstraint(
                condition=Q(turn_degrees__range=(-180, 180)), name="wallrun_turn"
            ),
        ]

    def __str__(self) -> str:
        return self.label
