"""The form of a local day off."""

import uuid
from dataclasses import replace

from crispy_forms.layout import Div, Fieldset
from django import forms
from django.utils.dates import MONTHS, WEEKDAYS
from django.utils.text import capfirst

from portal.forms.layout import bare_helper, date_input
from readiness import clock
from readiness.models import DayOff
from readiness.rules.days_off import DayOff as Entry
from readiness.rules.days_off import (
    DayOffProblem,
    PostcodeError,
    PostcodeRange,
    Repeats,
    read_postcodes,
)
from readiness.wording.days_off import NTH
from readiness.wording.refusals import firm as refusals

WORKING_WEEK = range(5)

FIELDS: dict[DayOffProblem, str] = {
    DayOffProblem.NO_NAME: "name",
    DayOffProblem.NO_FIRST_DAY: "first_on",
    DayOffProblem.NO_WEEKDAY: "weekday",
    DayOffProblem.LAST_BEFORE_FIRST: "last_on",
    DayOffProblem.TOO_LONG: "last_on",
    DayOffProblem.PASSED: "first_on",
    DayOffProblem.TOO_FAR_AHEAD: "first_on",
}
"""The field under which each problem stands."""


class DayOffForm(forms.Form):
    """One entry: what it is called, which days, and where. `entry_id` makes sending twice one."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput, required=False)
    name = forms.CharField(
        label="Name",
        max_length=80,
        help_text="E.g. Brisbane show day, Christmas shut-down. Builders read it.",
    )
    repeats = forms.ChoiceField(
        label="How often",
        choices=DayOff._meta.get_field("repeats").choices,
        widget=forms.RadioSelect,
        initial=Repeats.ONCE.value,
    )
    first_on = forms.DateField(label="First day off", required=False, widget=date_input())
    last_on = forms.DateField(
        label="Last day off",
        required=False,
        widget=date_input(),
        help_text="Leave empty if it is one day.",
    )
    nth = forms.ChoiceField(
        label="Which",
        required=False,
        choices=[(number, capfirst(words)) for number, words in NTH.items()],
    )
    weekday = forms.ChoiceField(
        label="Weekday",
        required=False,
        choices=[(number, WEEKDAYS[number]) for number in WORKING_WEEK],
    )
    month = forms.ChoiceField(label="Month", required=False, choices=list(MONTHS.items()))
    postcodes = forms.CharField(
        label="Only at these postcodes",
        required=False,
        max_length=2000,
        help_text="E.g. 4000-4179, 4205. Empty: everywhere. A site without a postcode only gets "
        "the days that hold everywhere.",
    )

    def __init__(self, *args, row: DayOff | None = None, **kwargs):
        """`row` is the entry that is changed."""
        kwargs.setdefault("initial", _initial(row) if row else {})
        super().__init__(*args, **kwargs)
        self.fields["entry_id"].initial = uuid.uuid4
        self.helper = bare_helper(
            "entry_id",
            "name",
            "repeats",
            Fieldset("Days", Div("first_on", "last_on", css_class="form-grid"), css_class="dates"),
            Fieldset("Day", Div("nth", "weekday", "month", css_class="form-grid"),
                     css_class="weekdays"),
            "postcodes",
        )  # fmt: skip

    def clean_postcodes(self) -> tuple[PostcodeRange, ...]:
        try:
            return read_postcodes(self.cleaned_data["postcodes"])
        except PostcodeError as error:
            raise forms.ValidationError(refusals.no_postcode(error.part)) from error

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("repeats") == Repeats.WEEKDAY:
            for name in ("first_on", "last_on"):  # out of sight then, and not meant
                self.errors.pop(name, None)
        if not self.errors.keys() & {"name", "repeats", "first_on", "last_on"}:
            problem = self.entry.problem(clock.now().date())
            if problem:
                self.add_error(FIELDS[problem], refusals.day_off(problem))
        return cleaned

    @property
    def entry(self) -> Entry:
        """What was typed; of the dates and the weekday only what counts."""
        typed = self.cleaned_data
        where = typed.get("postcodes", ())
        entry = Entry(typed["name"], Repeats(typed["repeats"]), postcodes=where)
        if entry.repeats == Repeats.WEEKDAY:
            nth, weekday, month = (int(typed.get(key) or 0) for key in ("nth", "weekday", "month"))
            return replace(entry, nth=nth, weekday=weekday, month=month)
        first_on = typed["first_on"]
        return replace(entry, first_on=first_on, last_on=typed["last_on"] or first_on)


def _initial(row: DayOff) -> dict:
    names = ("name", "repeats", "first_on", "nth", "weekday", "month", "postcodes")
    several = row.first_on != row.last_on
    return {
        "entry_id": row.pk,
        **{name: getattr(row, name) for name in names},
        "last_on": row.last_on if several else None,
    }
