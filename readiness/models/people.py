"""Who uses the portal: the one business, its staff, builders and their contacts."""

import uuid
from copy import copy
from typing import ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.db import models
from django.db.models import Count, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce, Lower
from django.utils.crypto import salted_hmac

from readiness import read_once


class UserManager(BaseUserManager["User"]):
    """Makes users; the e-mail address is the login name and is kept in lower case."""

    def create_user(self, email: str, password: str | None = None, **fields) -> "User":
        if not email:
            raise ValueError("A user needs an e-mail address.")
        user = self.model(email=email.strip().lower(), **fields)
        user.set_password(password) if password else user.set_unusable_password()
        user.save(using=self._db)
        return user

    def get_by_natural_key(self, email: str | None) -> "User":
        return self.get(email=(email or "").strip().lower())


class User(AbstractBaseUser, PermissionsMixin):
    """A person who signs in, for the applicator's business or for a builder."""

    class Role(models.TextChoices):
        APPLICATOR = "applicator", "Applicator"
        BUILDER = "builder", "Builder contact"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    email = models.EmailField("e-mail address", max_length=254, unique=True)
    name = models.CharField("full name", max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    role = models.CharField(max_length=12, choices=Role)
    is_owner = models.BooleanField(
        default=False, help_text="May change the business's settings and invite staff."
    )
    licence_number = models.CharField(max_length=60, blank=True)
    is_active = models.BooleanField(default=True)
    date_joined = models.DateTimeField(auto_now_add=True)
    session_epoch = models.PositiveIntegerField(
        default=0, editable=False, help_text="Raised to end every session for good."
    )

    objects = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("email"), name="user_email_once"),
            models.CheckConstraint(
                condition=Q(role="applicator") | Q(is_owner=False),
                name="user_owner_is_applicator",
            ),
        ]

    def __str__(self) -> str:
        return self.name or self.email

    def get_full_name(self) -> str:
        return str(self)

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Bound to the epoch too: a session of an earlier one never works again."""
        base = super()._get_session_auth_hash(secret)  # type: ignore[misc]  # not in the stubs
        if not self.session_epoch:
            return base
        salted = salted_hmac("session epoch", f"{base} {self.session_epoch}", secret=secret)
        return salted.hexdigest()

    @property
    def is_applicator(self) -> bool:
        return self.role == self.Role.APPLICATOR

    @property
    def active_memberships(self) -> "list[BuilderContact]":
        """For which builders this user signs in now, by their names; read once a request."""
        return read_once.once(f"memberships/{self.pk}", self._read_memberships)

    def _read_memberships(self) -> "list[BuilderContact]":
        mine = self.memberships.filter(is_active=True).select_related("builder")
        return list(mine.order_by("builder__name"))

    @property
    def is_contact(self) -> bool:
        """Whether this user signs in for a builder at all: never the applicator's staff."""
        return not self.is_applicator and bool(self.active_memberships)

    def membership_in(self, builder_id: uuid.UUID) -> "BuilderContact | None":
        """The membership in this builder alone, with its own role, sites and vouching."""
        mine = self.active_memberships
        return next((one for one in mine if one.builder_id == builder_id), None)


class Business(models.Model):
    """The applicator's firm: letterhead, licence, wording and its own rule values. One row."""

    class FixesNeeded(models.TextChoices):
        ACCEPTED = "accepted", "We have accepted each fix"
        REPORTED_FIXED = "said_fixed", "The builder has sent a photo of each fix"

    class PaperSize(models.TextChoices):
        A4 = "A4", "A4"
        LETTER = "letter", "Letter"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=120, default="Your business")
    licence_number = models.CharField(max_length=60, blank=True)
    address = models.TextField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    letterhead_note = models.CharField(
        max_length=200, blank=True, help_text="One line under the name on every paper."
    )
    technician_name = models.CharField(
        max_length=120, blank=True, help_text="Whom to call about live termites."
    )
    technician_phone = models.CharField(max_length=40, blank=True)
    product_name = models.CharField(
        max_length=120, blank=True, help_text="The treatment as its label names it."
    )
    report_introduction = models.TextField(blank=True)
    confirmation_statement = models.TextField(
        default=(
            "The perimeter is ready for treatment: mortar joints are filled, joints are sealed, "
            "the wall is clean and dry, and nothing stands against it. We will keep it so until "
            "the treatment is done."
        )
    )
    guide_note = models.TextField(blank=True, help_text="Added to the preparation guide.")
    fixes_needed = models.CharField(
        max_length=10, choices=FixesNeeded, default=FixesNeeded.ACCEPTED
    )
    rule_overrides = models.JSONField(default=dict, blank=True)
    currency = models.CharField(max_length=3, default="AUD")
    share_positions = models.BooleanField(
        default=False, help_text="Show where a photo was taken to builders and on shared links."
    )
    outlines_open_joints = models.BooleanField(
        default=False, help_text="Experiment: outline joints that look open when measuring."
    )
    retention_years = models.PositiveSmallIntegerField(default=10)
    paper_size = models.CharField(max_length=6, choices=PaperSize, default=PaperSize.A4)

    class Meta:
        verbose_name_plural = "business"
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="business_is_one"),
            models.CheckConstraint(
                condition=Q(retention_years__gte=1), name="business_retention_a_year_or_more"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs):
        read_once.saved()
        super().save(*args, **kwargs)

    @classmethod
    def current(cls) -> "Business":
        """The business of this installation; made with its defaults on first use.

        Read once a request or task. Each call gives a row of its own: a form writes into its row
        what was typed, before it is known to be right.
        """
        return copy(read_once.once("business", lambda: cls.objects.get_or_create(pk=1)[0]))


def _count_for_builder(rows) -> Coalesce:
    """How many of the rows belong to the builder of an outer query, each table on its own."""
    own = rows.filter(builder=OuterRef("pk")).order_by().values("builder")
    return Coalesce(Subquery(own.annotate(count=Count("*")).values("count")), 0)


class BuilderQuerySet(models.QuerySet):
    def with_open_sites(self) -> "BuilderQuerySet":
        """Each with `open_sites` (how many) and `active_contacts`, by name."""
        from .site import Site

        return self.annotate(
            open_sites=_count_for_builder(Site.objects.filter(closed_at=None)),
            active_contacts=_count_for_builder(BuilderContact.objects.filter(is_active=True)),
        ).order_by("name")


class Builder(models.Model):
    """A building company."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    notes = models.TextField(blank=True, help_text="For us only; the builder does not see this.")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = BuilderQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(Lower("name"), name="builder_name_once")]

    def __str__(self) -> str:
        return self.name


class BuilderContactQuerySet(models.QuerySet):
    def seeing(self, site) -> "BuilderContactQuerySet":
        """Active contacts of its builder who can see the site."""
        own = self.filter(builder=site.builder_id, is_active=True, user__is_active=True)
        return own.filter(Q(all_sites=True) | Q(sites=site)).distinct()


class BuilderContact(models.Model):
    """One person's membership in one builder: all of its sites, or only those listed.

    A person may belong to several builders; what they may do counts in each by itself. Who is
    vouched for may sign: the account is known to be theirs, by their own address or by an
    administrator of the builder.
    """

    class Role(models.TextChoices):
        ADMINISTRATOR = "administrator", "Administrator"
        SUPERVISOR = "supervisor", "Supervisor"
        READER = "reader", "Read only"

    class Vouched(models.TextChoices):
        ADDRESS = "address", "Own e-mail address"
        ADMINISTRATOR = "administrator", "Administrator of the builder"

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    number = models.PositiveSmallIntegerField(
        default=1, editable=False, help_text="Of the person's memberships; names it in the Record."
    )
    builder = models.ForeignKey(Builder, on_delete=models.PROTECT, related_name="contacts")
    position = models.CharField(max_length=80, blank=True)
    role = models.CharField(max_length=13, choices=Role, default=Role.SUPERVISOR)
    all_sites = models.BooleanField(default=True)
    sites = models.ManyToManyField("Site", blank=True, related_name="limited_contacts")
    is_active = models.BooleanField(default=True)
    vouched_how = models.CharField(max_length=13, choices=Vouched, blank=True)
    vouched_at = models.DateTimeField(null=True, blank=True)
    vouched_by = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = BuilderContactQuerySet.as_manager()

    class Meta:
        ordering = ["user__name", "user__email"]
        constraints = [
            models.UniqueConstraint(fields=["user", "builder"], name="contact_once_a_builder"),
            models.UniqueConstraint(fields=["user", "number"], name="contact_number_once"),
        ]

    def __str__(self) -> str:
        return str(self.user)

    def save(self, *args, **kwargs):
        read_once.saved()
        super().save(*args, **kwargs)

    @property
    def may_act(self) -> bool:
        """Not only look."""
        return self.role != self.Role.READER

    @property
    def is_administrator(self) -> bool:
        return self.role == self.Role.ADMINISTRATOR


class Invitation(models.Model):
    """It makes a user, once, and signs them in. Its links go by e-mail to its address alone."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    email = models.EmailField(max_length=254)
    role = models.CharField(max_length=12, choices=User.Role, default=User.Role.BUILDER)
    builder = models.ForeignKey(
        Builder, null=True, blank=True, on_delete=models.CASCADE, related_name="invitations"
    )
    contact_role = models.CharField(
        max_length=13, choices=BuilderContact.Role, default=BuilderContact.Role.SUPERVISOR
    )
    all_sites = models.BooleanField(default=True)
    sites = models.ManyToManyField("Site", blank=True, related_name="+")
    invited_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(role="applicator", builder=None)
                | Q(role="builder", builder__isnull=False),
                name="invitation_builder_fits_role",
            ),
            models.CheckConstraint(
                condition=Q(accepted_at=None) | Q(revoked_at=None),
                name="invitation_accepted_or_revoked",
            ),
        ]

    def __str__(self) -> str:
        return f"Invitation to {self.email}"

    @property
    def email_message(self):
        """The latest e-mail about it; None where there was none."""
        return max(self.messages.all(), key=lambda message: message.queued_at, default=None)


class InvitationLink(models.Model):
    """A link that was e-mailed. Each try to send makes its own; only its digest is stored."""

    invitation = models.ForeignKey(Invitation, on_delete=models.CASCADE, related_name="links")
    token_digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"Link for {self.invitation_id}"
