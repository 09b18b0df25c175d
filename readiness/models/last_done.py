"""When something that should happen again and again was last done, and how it went."""

from django.db import models

from readiness import clock


class LastDone(models.Model):
    """One row a name, such as ``backup`` or ``worker/<its id>``; no history."""

    name = models.CharField(max_length=120, primary_key=True)
    at = models.DateTimeField()
    details = models.JSONField(default=dict)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return f"{self.name} at {self.at}"

    @classmethod
    def note(cls, name: str, **details) -> None:
        """Write down that `name` was done just now; `details` are plain JSON values."""
        cls.objects.update_or_create(name=name, defaults={"at": clock.now(), "details": details})
