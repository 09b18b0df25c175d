"""A house lot and the walls round it, as measured. Levels are mm above the site's datum."""

import uuid
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import F, Q

from readiness.rules.catalogue import FINISHES, STATES, SURFACES

from .people import Builder, BuilderContact, User

STATE_CHOICES = [(state.code, state.name) for state in STATES.values()]


class SiteQuerySet(models.QuerySet):
    """Named questions about sites."""

    def visible_to(self, user) -> "SiteQuerySet":
        """All sites for the applicator; a contact's own builder's, or those they are limited to."""
        if not user.is_authenticated or not user.is_active:
            return self.none()
        if user.is_applicator:
            return self
        contact = user.contact
        if contact is None:
            return self.none()
        own = self.filter(builder=contact.builder_id)
        return own if contact.all_sites else own.filter(limited_contacts=contact)

    def open(self) -> "SiteQuerySet":
        """Sites that still have work to come."""
        return self.filter(closed_at=None)

    def matching(self, text: str) -> "SiteQuerySet":
        """Sites whose address, job number or builder has every word of `text`."""
        found = self
        for word in text.split():
            found = found.filter(
                Q(street__icontains=word)
                | Q(suburb__icontains=word)
                | Q(postcode__startswith=word)
                | Q(job_number__icontains=word)
                | Q(builder__name__icontains=word)
            )
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

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "id"]
        indexes = [
            models.Index(fields=["-created_at", "id"], name="site_newest"),
            models.Index(fields=["builder", "-created_at"], name="site_builder_newest"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=list(STATES)), name="site_state"),
            models.CheckConstraint(
                condition=Q(latitude=None, longitude=None)
                | Q(latitude__range=(-90, 90), longitude__range=(-180, 180)),
                name="site_position_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.street}, {self.suburb}"

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
        "turn at its end", default=90, help_text="Clockwise round the house; right is positive."
    )
    gauge_courses = models.PositiveSmallIntegerField(null=True, blank=True)
    gauge_height_mm = models.PositiveIntegerField(null=True, blank=True)
    first_bed_joint_mm = models.IntegerField("level of the lowest bed joint", null=True, blank=True)
    brick_length_mm = models.PositiveSmallIntegerField(
        default=230, help_text="Without its mortar joint."
    )
    struck_joint_mm = models.IntegerField("level of the struck joint", null=True, blank=True)
    weep_hole_level_mm = models.IntegerField("underside of the weep holes", null=True, blank=True)
    weep_hole_spacing_mm = models.PositiveIntegerField(null=True, blank=True)
    slab_level_mm = models.IntegerField("top of the slab", null=True, blank=True)
    surface = models.CharField(
        "finished surface beside it", max_length=20, choices=SURFACES, blank=True
    )
    fall_first_metre_mm = models.IntegerField(
        "fall away from the wall over the first metre", null=True, blank=True
    )
    courses_treated = models.PositiveSmallIntegerField(default=2)
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["position", "label"]
        indexes = [models.Index(fields=["site", "position"], name="wallrun_order")]
        constraints = [
            models.CheckConstraint(
                condition=Q(length_mm__range=(100, 200_000)), name="wallrun_length_believable"
            ),
            models.CheckConstraint(
                condition=Q(gauge_courses=None, gauge_height_mm=None)
                | Q(gauge_courses__gte=1, gauge_height_mm__gte=1),
                name="wallrun_gauge_whole",
            ),
            models.CheckConstraint(
                condition=Q(turn_degrees__range=(-180, 180)), name="wallrun_turn"
            ),
            models.CheckConstraint(
                condition=Q(courses_treated__range=(1, 20)), name="wallrun_courses_treated"
            ),
        ]

    def __str__(self) -> str:
        return self.label


class GroundPoint(models.Model):
    """Ground level at a distance along a run; straight between points."""

    class When(models.TextChoices):
        TODAY = "today", "Today"
        FINISHED = "finished", "As it will be finished"

    run = models.ForeignKey(WallRun, on_delete=models.CASCADE, related_name="ground_points")
    when = models.CharField(max_length=8, choices=When, default=When.TODAY)
    distance_mm = models.PositiveIntegerField()
    level_mm = models.IntegerField()

    class Meta:
        ordering = ["when", "distance_mm"]
        constraints = [
            models.UniqueConstraint(
                fields=["run", "when", "distance_mm"], name="ground_point_once"
            ),
            models.CheckConstraint(
                condition=Q(level_mm__range=(-5000, 5000)), name="ground_level_believable"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.level_mm} mm at {self.distance_mm} mm"


class FinishToCome(models.Model):
    """Paving, topsoil or the like still to be laid over part of a run."""

    run = models.ForeignKey(WallRun, on_delete=models.CASCADE, related_name="finishes_to_come")
    from_mm = models.PositiveIntegerField()
    to_mm = models.PositiveIntegerField()
    thickness_mm = models.PositiveIntegerField()
    surface = models.CharField(max_length=20, choices=SURFACES)

    class Meta:
        ordering = ["from_mm"]
        constraints = [
            models.CheckConstraint(condition=Q(to_mm__gt=F("from_mm")), name="finish_has_length"),
            models.CheckConstraint(
                condition=Q(thickness_mm__range=(1, 1000)), name="finish_thickness_believable"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.thickness_mm} mm of {self.get_surface_display()}"


class Joint(models.Model):
    """An articulation joint or a crack that takes sealant, at a distance along a run."""

    class Kind(models.TextChoices):
        ARTICULATION = "articulation", "Articulation joint"
        CRACK = "crack", "Tight crack"
        GAP = "gap", "Gap"

    run = models.ForeignKey(WallRun, on_delete=models.CASCADE, related_name="joints")
    kind = models.CharField(max_length=12, choices=Kind, default=Kind.ARTICULATION)
    distance_mm = models.PositiveIntegerField()
    width_mm = models.PositiveSmallIntegerField()
    depth_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    height_mm = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["distance_mm"]
        constraints = [
            models.CheckConstraint(
                condition=Q(width_mm__range=(1, 200)), name="joint_width_believable"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.distance_mm} mm"


class Attachment(models.Model):
    """Something fixed to or standing beside a run, with its clear gap to the wall."""

    run = models.ForeignKey(WallRun, on_delete=models.CASCADE, related_name="attachments")
    label = models.CharField(max_length=80)
    distance_mm = models.PositiveIntegerField()
    gap_mm = models.PositiveIntegerField()

    class Meta:
        ordering = ["distance_mm"]

    def __str__(self) -> str:
        return self.label
