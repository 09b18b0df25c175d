"""Photos: the original bytes, what was read from them, and the work done on top of them.

An ``Original`` is the unchanged file, known by its SHA-256. A ``Photo`` is one use of an original
on one site: who sent it, when, and what it shows. Everything else here (flags, markup,
measurements, fingerprint index) can be made again or is kept beside the original, never in it.
"""

import uuid
from functools import reduce
from operator import or_

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.db.models.lookups import Exact
from django.utils import timezone

from .errand import LONGEST_PAUSE
from .site import Site

DIGEST_LENGTH = 64


class OriginalQuerySet(models.QuerySet):
    def without_sizes(self):
        """Kept, but its smaller sizes are not made (yet)."""
        return self.filter(sizes_made_at=None, deleted_at=None)

    def sizes_waiting(self):
        return self.without_sizes().filter(sizes_given_up_at=None)

    def sizes_due(self, now):
        """What a worker may try at `now`; a time too far ahead comes from a wrong clock."""
        when = Q(sizes_next_try_at=None) | Q(sizes_next_try_at__lte=now)
        return self.sizes_waiting().filter(when | Q(sizes_next_try_at__gt=now + LONGEST_PAUSE))


class Original(models.Model):
    """One file exactly as received, stored once however often it is sent.

    ``width_px`` and ``height_px`` are as displayed, after the Exif orientation. ``fingerprint`` is
    the perceptual fingerprint as a signed 64-bit integer; null when the picture is too plain for
    one. The row outlives the file: ``deleted_at`` says when the bytes were deleted.
    """

    digest = models.CharField(max_length=DIGEST_LENGTH, primary_key=True)
    byte_size = models.PositiveBigIntegerField()
    media_type = models.CharField(max_length=40)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    orientation = models.PositiveSmallIntegerField(default=1)
    frames = models.PositiveIntegerField(default=1)
    received_at = models.DateTimeField(default=timezone.now)
    fingerprint = models.BigIntegerField(null=True, blank=True, db_index=True)
    metadata = models.JSONField(default=dict, blank=True)
    sizes_made_at = models.DateTimeField(null=True, blank=True)
    sizes_error = models.CharField(max_length=200, blank=True)
    sizes_attempts = models.PositiveSmallIntegerField(default=0)
    sizes_next_try_at = models.DateTimeField(null=True, blank=True)
    sizes_given_up_at = models.DateTimeField(null=True, blank=True)
    deleted_at = models.DateTimeField(null=True, blank=True)

    objects = OriginalQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(
                fields=["sizes_next_try_at"],
                condition=Q(sizes_made_at=None, deleted_at=None),
                name="original_without_sizes",
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Exact(Length("digest"), DIGEST_LENGTH), name="original_digest_is_sha256"
            ),
            models.CheckConstraint(condition=Q(byte_size__gt=0), name="original_is_not_empty"),
            models.CheckConstraint(
                condition=Q(width_px__gt=0, height_px__gt=0), name="original_has_pixels"
            ),
            models.CheckConstraint(
                condition=Q(orientation__gte=1, orientation__lte=8),
                name="original_orientation_is_exif",
            ),
            models.CheckConstraint(condition=Q(frames__gte=1), name="original_has_a_frame"),
        ]

    def __str__(self):
        return self.short_digest

    @property
    def storage_name(self) -> str:
        """Where the bytes lie in the photo storage; it follows from the digest alone."""
        return f"originals/{self.digest[:2]}/{self.digest[2:4]}/{self.digest}"

    @property
    def short_digest(self) -> str:
        """The first 128 bits: a hint at the file, where nobody compares."""
        return self.digest[:32]

    @property
    def is_deleted(self) -> bool:
        return self.deleted_at is not None


SHOWS = ("item", "fix", "run_check", "referral", "referral_decision")
"""What a photo shows: one of these, or none."""


def _at_most_one(*names: str) -> Q:
    """At most one of the columns has a value."""
    ways = [Q(**dict.fromkeys(n for n in names if n != name)) for name in names]
    return reduce(or_, ways)


class PhotoQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Photos the user may see.

        A contact sees, on the sites visible to them, the photos of issued reports, those of fixes,
        those of what a technician decides, and their own. What is only kept for the site
        (`on_site`) came out of a draft: like the draft it is the applicator's.
        """
        found = self.filter(site__in=Site.objects.visible_to(user))
        if not user.is_authenticated or user.is_applicator:
            return found
        return found.filter(
            Q(item__report__issued_at__isnull=False)
            | Q(run_check__report__issued_at__isnull=False)
            | Q(fix__isnull=False)
            | Q(referral__isnull=False)
            | Q(referral_decision__isnull=False)
            | Q(uploaded_by=user)
        )

    def kept(self):
        """Photos that were not removed by a retention deletion."""
        return self.filter(removed_at=None)

    def unattached(self):
        """Uploaded, but the form they belong to was not saved (yet)."""
        return self.filter(**dict.fromkeys(SHOWS), on_site=False, removed_at=None)

    def with_originals(self):
        return self.select_related("original", "markup")


class Photo(models.Model):
    """One photo of one site.

    Times are kept as two different statements: ``taken_*`` is what the camera said,
    ``received_at`` is what the server saw. ``taken_at`` is filled only when the camera also said
    its offset from UTC; without it only the camera's own local text is known.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    site = models.ForeignKey("readiness.Site", on_delete=models.PROTECT, related_name="photos")
    original = models.ForeignKey(Original, on_delete=models.PROTECT, related_name="photos")
    item = models.ForeignKey(
        "readiness.DefectItem",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="photos",
    )
    fix = models.ForeignKey(
        "readiness.Fix", on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    run_check = models.ForeignKey(
        "readiness.RunCheck",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="photos",
    )
    referral = models.ForeignKey(
        "readiness.Referral",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="photos",
    )
    referral_decision = models.ForeignKey(
        "readiness.ReferralDecision",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="photos",
    )
    # Kept though its draft, draft item or draft check is gone; the builder does not see it.
    on_site = models.BooleanField(default=False, help_text="Kept for the site as a whole.")
    before = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="afters"
    )
    alignment = models.JSONField(
        null=True, blank=True, help_text="Marked pairs of points: this photo over its before photo."
    )
    uploaded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="uploaded_photos",
    )
    filename = models.CharField(max_length=200, blank=True)
    caption = models.CharField(max_length=300, blank=True)
    received_at = models.DateTimeField(default=timezone.now, db_index=True)

    taken_at = models.DateTimeField(null=True, blank=True)
    taken_at_local = models.CharField(max_length=40, blank=True)
    taken_offset = models.CharField(max_length=8, blank=True)
    camera_make = models.CharField(max_length=80, blank=True)
    camera_model = models.CharField(max_length=80, blank=True)
    software = models.CharField(max_length=120, blank=True)
    latitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    longitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)

    removed_at = models.DateTimeField(null=True, blank=True)

    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ["received_at", "id"]
        indexes = [
            models.Index(fields=["site", "received_at"], name="photo_site_received"),
        ]
        constraints = [
            models.CheckConstraint(condition=_at_most_one(*SHOWS), name="photo_shows_one_thing"),
            models.CheckConstraint(
                condition=Q(latitude=None, longitude=None)
                | Q(
                    # A check that comes to NULL passes: half a position has to be ruled out.
                    latitude__isnull=False,
                    longitude__isnull=False,
                    latitude__gte=-90,
                    latitude__lte=90,
                    longitude__gte=-180,
                    longitude__lte=180,
                ),
                name="photo_position_is_on_earth",
            ),
            models.CheckConstraint(
                condition=Q(taken_at=None) | ~Q(taken_offset=""),
                name="photo_taken_at_needs_an_offset",
            ),
        ]

    def __str__(self):
        return self.filename or str(self.id)

    @property
    def is_attached(self) -> bool:
        return self.shows_something or self.on_site

    @property
    def shows_something(self) -> bool:
        """It belongs to an item, a fix, a check, a referral or a decision."""
        return any(getattr(self, f"{name}_id") for name in SHOWS)

    @property
    def is_removed(self) -> bool:
        return self.removed_at is not None

    @property
    def taken_from(self) -> str:
        """The XMP property that gave the capture time; empty where the camera's Exif gave it."""
        return self.original.metadata.get("taken_from", "")

    @property
    def sizes_made_at(self):
        return self.original.sizes_made_at

    @property
    def width_px(self) -> int:
        return self.original.width_px

    @property
    def height_px(self) -> int:
        return self.original.height_px

    @property
    def short_digest(self) -> str:
        return self.original_id[:32]


class FingerprintBand(models.Model):
    """Index for near-duplicate search: four rows per fingerprint, one for each 16-bit band.

    ``key`` is ``band * 65536 + value``. See ``readiness.photos.fingerprint`` for the search and
    its recall.
    """

    id = models.BigAutoField(primary_key=True)
    key = models.PositiveIntegerField()
    fingerprint = models.BigIntegerField()
    original = models.ForeignKey(
        Original, on_delete=models.CASCADE, related_name="bands", db_index=True
    )

    class Meta:
        indexes = [models.Index(fields=["key", "fingerprint"], name="fingerprint_band_key")]
        constraints = [
            models.UniqueConstraint(fields=["original", "key"], name="fingerprint_band_once"),
            models.CheckConstraint(
                condition=Q(key__lt=4 * 65536), name="fingerprint_band_key_in_range"
            ),
        ]

    def __str__(self):
        return f"{self.original_id[:32]} band {self.key >> 16}"


class PhotoFlag(models.Model):
    """Something a reviewer should know about a fix photo, as a plain sentence. Never a refusal."""

    class Code(models.TextChoices):
        SAME_FILE = "same_file", "Same file as an earlier photo"
        NEAR_DUPLICATE = "near_duplicate", "Looks like an earlier photo"
        TAKEN_BEFORE_REPORT = "taken_before_report", "Taken before the report"
        TAKEN_LONG_BEFORE_UPLOAD = "taken_long_before_upload", "Taken long before it was sent"
        TAKEN_AFTER_UPLOAD = "taken_after_upload", "Camera clock is ahead"
        NO_CAPTURE_TIME = "no_capture_time", "No capture time"
        FAR_FROM_SITE = "far_from_site", "Position far from the site"
        EDITED = "edited", "Edited after capture"
        SCREENSHOT = "screenshot", "Screenshot"

    id = models.BigAutoField(primary_key=True)
    photo = models.ForeignKey(Photo, on_delete=models.CASCADE, related_name="flags")
    code = models.CharField(max_length=40, choices=Code.choices)
    sentence = models.CharField(max_length=400)
    other_photo = models.ForeignKey(
        Photo, on_delete=models.SET_NULL, null=True, blank=True, related_name="flagged_as_other"
    )
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["photo", "code"], name="photo_flag_once_a_code"),
        ]

    def __str__(self):
        return self.sentence


class Markup(models.Model):
    """Shapes drawn over a photo, as data: the original stays untouched.

    ``shapes`` is what ``readiness.photos.markup.clean_shapes`` returns: positions are fractions of
    the displayed width and height, 0 to 1 from the top left. ``version`` counts the saves.
    """

    id = models.BigAutoField(primary_key=True)
    photo = models.OneToOneField(Photo, on_delete=models.CASCADE, related_name="markup")
    shapes = models.JSONField(default=list, blank=True)
    version = models.PositiveIntegerField(default=1)
    blurred_at = models.DateTimeField(
        null=True, blank=True, help_text="When something more was blurred, the last time."
    )
    updated_at = models.DateTimeField(default=timezone.now)
    updated_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    def __str__(self):
        return f"{len(self.shapes)} shapes on {self.photo_id}"

    @property
    def blurs(self) -> list[list[float]]:
        """The boxes to blur: left, top, right, bottom as fractions of the displayed picture."""
        return [shape["box"] for shape in self.shapes if shape.get("kind") == "blur"]

    @property
    def has_blur(self) -> bool:
        return bool(self.blurs)


class PhotoMeasurement(models.Model):
    """A distance measured on a photo, with the uncertainty that belongs to it.

    ``value_mm`` is rounded to whole millimetres; ``uncertainty_mm`` (rounded up) is the half-width
    that contains the true value 95 times in 100. ``marks`` keeps the clicks so that the
    measurement can be shown and worked out again.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    photo = models.ForeignKey(Photo, on_delete=models.CASCADE, related_name="measurements")
    item = models.ForeignKey(
        "readiness.DefectItem",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="photo_measurements",
    )
    marks = models.JSONField()
    value_mm = models.PositiveIntegerField()
    uncertainty_mm = models.PositiveIntegerField()
    reference = models.CharField(max_length=200)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["made_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(uncertainty_mm__gte=1), name="photo_measurement_is_uncertain"
            ),
        ]

    def __str__(self):
        return f"{self.value_mm} mm ± {self.uncertainty_mm} mm"
