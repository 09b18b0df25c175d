"""Which photos lie on one machine only, as the object store did not answer when they came."""

from django.db import models

from readiness import clock


class SpooledOriginal(models.Model):
    """One original that is still to be moved to the store; the row goes when it is there.

    `machine` is the name of the machine whose data folder holds the bytes.
    """

    original = models.OneToOneField(
        "readiness.Original", on_delete=models.CASCADE, primary_key=True, related_name="spooled"
    )
    machine = models.CharField(max_length=120)
    since = models.DateTimeField(default=clock.now)

    class Meta:
        ordering = ["since"]

    def __str__(self) -> str:
        return f"{self.original_id[:32]} on {self.machine}"
