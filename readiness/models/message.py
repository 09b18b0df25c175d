"""An e-mail to one person: why, about what, and whether it went."""

import uuid

from django.db import models
from django.db.models import Exists, OuterRef, Q

from .errand import Errand, ErrandQuerySet, only_in
from .paper import Paper
from .people import Invitation, User
from .site import Site


class MessageQuerySet(ErrandQuerySet):
    def released(self, now) -> "MessageQuerySet":
        """Held ones that may go: each paper of the report is made or given up, or it is time."""
        report = Paper.objects.filter(report=OuterRef("about")).exclude(
            kind=Paper.Kind.CONFIRMATION
        )
        unfinished = report.filter(state__in=Paper.UNFINISHED)
        held = self.filter(state=Message.State.HELD)
        return held.filter(~Exists(unfinished) | ~Q(next_try_at__gt=now))


class Message(Errand):
    """Addressed by user, so that a person's address is kept in one place only; or by invitation."""

    class State(models.TextChoices):
        HELD = "held", "Waiting for the papers"
        WAITING = "waiting", "Waiting"
        SENDING = "sending", "Being sent"
        SENT = "sent", "Sent"
        GIVEN_UP = "given_up", "Not sent"
        DROPPED = "dropped", "No longer needed"

    READY, CLAIMED, GIVEN_UP = State.WAITING, State.SENDING, State.GIVEN_UP
    UNFINISHED = (State.HELD, State.WAITING, State.SENDING)
    SINCE = "queued_at"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.CASCADE, related_name="messages"
    )
    to = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.CASCADE, related_name="messages"
    )
    invitation = models.ForeignKey(
        Invitation, null=True, blank=True, on_delete=models.CASCADE, related_name="messages"
    )
    kind = models.CharField(max_length=30)
    about = models.UUIDField(help_text="The report, item, confirmation or booking it is about.")
    details = models.JSONField(default=dict)
    key = models.CharField(max_length=120, unique=True, help_text="Sent once for each key.")
    queued_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    handed_over_at = models.DateTimeField(
        null=True, blank=True, help_text="When the latest try gave the text to the mail server."
    )
    sent_at = models.DateTimeField(null=True, blank=True)
    unsure = models.PositiveSmallIntegerField(
        default=0, help_text="Tries of which nobody knows whether the e-mail left."
    )

    objects = MessageQuerySet.as_manager()

    class Meta:
        ordering = ["-queued_at"]
        indexes = [
            models.Index(
                fields=["next_try_at"],
                condition=Q(state="waiting"),
                name="message_to_send",
            ),
            models.Index(fields=["next_try_at"], condition=Q(state="held"), name="message_held"),
            models.Index(
                fields=["claimed_by"], condition=Q(state="sending"), name="message_under_way"
            ),
            models.Index(
                fields=["given_up_at"], condition=Q(state="given_up"), name="message_given_up"
            ),
            models.Index(fields=["about"], name="message_about"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(to__isnull=False, invitation=None)
                | Q(to=None, invitation__isnull=False),
                name="message_has_one_address",
            ),
            models.CheckConstraint(
                condition=only_in("sent", Q(sent_at__isnull=False)), name="message_sent_has_time"
            ),
            models.CheckConstraint(
                condition=only_in("given_up", Q(given_up_at__isnull=False)),
                name="message_given_up_has_time",
            ),
            models.CheckConstraint(
                condition=only_in("sending", ~Q(claimed_by="")), name="message_sending_is_claimed"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} to {self.address}"

    @property
    def address(self) -> str:
        """The e-mail address that it goes to."""
        person = self.to or self.invitation
        return person.email if person else ""
