"""An e-mail to one person: why, about what, and whether it went."""

import uuid

from django.db import models

from .people import User
from .site import Site


class Message(models.Model):
    """Addressed by user, so that a person's address is kept in one place only."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="messages")
    to = models.ForeignKey(User, on_delete=models.CASCADE, related_name="messages")
    kind = models.CharField(max_length=30)
    about = models.UUIDField(help_text="The report, item, confirmation or booking it is about.")
    details = models.JSONField(default=dict)
    key = models.CharField(max_length=120, unique=True, help_text="Sent once for each key.")
    queued_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    error = models.TextField(blank=True)

    class Meta:
        ordering = ["-queued_at"]

    def __str__(self) -> str:
        return f"{self.kind} to {self.to}"
