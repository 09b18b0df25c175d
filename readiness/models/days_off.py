"""The days off that the business keeps beside the public holidays."""

import uuid

from django.db import models
from django.db.models import Q

from readiness import read_once
from readiness.rules import days_off as rules
from readiness.rules.days_off import Repeats


class DayOff(models.Model):
    """One entry: show days of places where it works, and its own shut-downs.

    `readiness.rules.days_off` says which days that are.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=80)
    repeats = models.CharField(
        max_length=8,
        choices=[
            (Repeats.ONCE.value, "Once"),
            (Repeats.YEARLY.value, "Every year, on the same dates"),
            (Repeats.WEEKDAY.value, "Every year, on a weekday of a month"),
        ],
    )
    first_on = models.DateField(null=True, blank=True)
    last_on = models.DateField(null=True, blank=True)
    nth = models.PositiveSmallIntegerField(default=0, help_text="1 to 4; 5 is the last.")
    weekday = models.PositiveSmallIntegerField(default=0, help_text="0 is Monday.")
    month = models.PositiveSmallIntegerField(default=0)
    postcodes = models.TextField(
        blank=True, help_text="Where it holds: postcodes and ranges. Empty: everywhere."
    )

    class Meta:
        ordering = ["name", "id"]
        verbose_name_plural = "days off"
        constraints = [
            models.CheckConstraint(
                condition=Q(repeats=Repeats.WEEKDAY.value)
                | Q(
                    first_on__isnull=False, last_on__isnull=False, last_on__gte=models.F("first_on")
                ),
                name="day_off_has_dates",
            ),
            models.CheckConstraint(
                condition=~Q(repeats=Repeats.WEEKDAY.value)
                | Q(nth__range=(1, 5), weekday__range=(0, 6), month__range=(1, 12)),
                name="day_off_has_weekday",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs):
        read_once.saved()
        super().save(*args, **kwargs)

    def delete(self, *args, **kwargs):
        read_once.saved()
        return super().delete(*args, **kwargs)

    @property
    def rule(self) -> rules.DayOff:
        """The entry as the rules take it."""
        return rules.DayOff(
            name=self.name,
            repeats=Repeats(self.repeats),
            first_on=self.first_on,
            last_on=self.last_on,
            nth=self.nth,
            weekday=self.weekday,
            month=self.month,
            postcodes=rules.read_postcodes(self.postcodes),
        )

    def set_to(self, entry: rules.DayOff) -> None:
        """Make it this entry, not saved yet."""
        self.name, self.repeats = entry.name, entry.repeats.value
        self.first_on, self.last_on = entry.first_on, entry.last_on
        self.nth, self.weekday, self.month = entry.nth, entry.weekday, entry.month
        self.postcodes = rules.postcode_words(entry.postcodes)
