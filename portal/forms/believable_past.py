"""Days and times that people give for what has happened already."""

from datetime import date, datetime, timedelta

from django import forms

A_YEAR = timedelta(days=366)
TEN_YEARS = timedelta(days=3653)


def check_past(
    given: date | datetime,
    now: date | datetime,
    *,
    to_come: str,
    longest_ago: timedelta = A_YEAR,
) -> None:
    """Refuse what is still to come, and what is too long ago: "26" typed for a year is 0026."""
    if given > now:
        raise forms.ValidationError(to_come)
    if given < now - longest_ago:
        raise forms.ValidationError("That is too long ago. Check the year.")
