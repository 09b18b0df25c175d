"""The builder's forms. Their layout lives here; who and what they are about comes from the URL."""

import uuid
from collections.abc import Mapping
from datetime import date, datetime
from types import MappingProxyType
from typing import Self, cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms
from django.http import QueryDict
from django.utils.functional import cached_property

from portal.forms.believable_past import check_past
from portal.half_days import against_halves, of_the_day
from readiness import clock
from readiness.actions.visits.confirming import TICKS
from readiness.calendars import calendar_at
from readiness.models import Booking
from readiness.rules.calendar import Coming
from readiness.rules.site.assessment import SiteFacts
from readiness.wording.confirming import tick_words
from readiness.wording.days_off import why_off

DAYS_TO_CHOOSE_FROM = 15


class InsideForm(forms.Form):
    """A form whose <form> element, photos and buttons are in the template."""

    layout: Layout | None = None

    @property
    def helper(self) -> FormHelper:
        helper = FormHelper()
        helper.form_tag = False
        helper.disable_csrf = True
        if self.layout is not None:
            helper.layout = self.layout
        return helper


class OnceForm(InsideForm):
    """A form whose hidden id makes sending it twice one thing."""

    id_field = ""

    def anew(self) -> Self:
        """The form after a refusal: as typed, but what is sent next is a thing of its own."""
        sent = cast(QueryDict, self.data).copy()
        sent[self.add_prefix(self.id_field)] = str(uuid.uuid4())
        self.data = sent
        return self


class ReportFixedForm(OnceForm):
    """What goes with the photos of a fix. `fix_id` makes sending it twice one fix."""

    id_field = "fix_id"
    fix_id = forms.UUIDField(widget=forms.HiddenInput, required=False)
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Only if there is something to add.",
    )
    washed_at = forms.DateTimeField(
        label="When was the wall last washed or wet there?",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="Leave empty if it was only brushed. Drying time starts then.",
    )

    def __init__(self, *args, asks_for_washing: bool, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["fix_id"].initial = uuid.uuid4
        if not asks_for_washing:
            del self.fields["washed_at"]

    def clean_washed_at(self) -> datetime | None:
        washed_at = self.cleaned_data["washed_at"]
        if washed_at:
            to_come = "That time is still to come. Enter when it was washed."
            check_past(washed_at, clock.now(), to_come=to_come)
        return washed_at


class ReasonForm(InsideForm):
    """One reason in the person's own words."""

    reason = forms.CharField(max_length=2000, widget=forms.Textarea(attrs={"rows": 4}))

    def __init__(
        self,
        *args,
        label: str,
        help_text: str = "",
        required: bool = True,
        missing: str = "",
        **kwargs,
    ):
        """`missing` is what an empty one is answered with, instead of Django's words."""
        super().__init__(*args, **kwargs)
        field = self.fields["reason"]
        field.label, field.help_text, field.required = label, help_text, required
        if missing:
            field.error_messages["required"] = missing


class ConfirmForm(OnceForm):
    """What is sent to sign a readiness confirmation: three ticks for each wall, and who was shown.

    Name and position are the account's; `signed_as` is the name that stood on the page.
    """

    id_field = "confirmation_id"
    confirmation_id = forms.UUIDField(widget=forms.HiddenInput, required=False)
    signed_as = forms.CharField(widget=forms.HiddenInput, required=False, max_length=120)
    layout = Layout("confirmation_id", "signed_as")

    def __init__(self, *args, runs, **kwargs):
        super().__init__(*args, **kwargs)
        self.runs = list(runs)
        self.fields["confirmation_id"].initial = uuid.uuid4

    def ticked(self, run) -> list[str]:
        """The words ticked for a wall, as sent."""
        sent = self.data.getlist(f"wall-{run.pk}") if self.is_bound else []
        return [tick for tick in TICKS if tick in sent]

    def anew(self, name: str = "") -> Self:
        """After a refusal, for the person who is signed in now."""
        form = super().anew()
        form.data["signed_as"] = name  # type: ignore[index]  # a copy, which may be changed
        return form

    @property
    def names(self) -> list[str]:
        """Every name that was sent: a page of an earlier version had fields to type one."""
        return [self.data.get(name, "") for name in ("signed_as", "name", "signature")]

    @property
    def ticks(self) -> dict[str, list[str]]:
        return {str(run.pk): self.ticked(run) for run in self.runs}

    @property
    def walls(self) -> list[tuple]:
        """Each wall with its three ticks: (slug, words, whether ticked)."""
        return [
            (run, [(tick, tick_words(tick), tick in self.ticked(run)) for tick in TICKS])
            for run in self.runs
        ]


class AskForm(InsideForm):
    """Half-days that suit, out of the next working days at the site, and a note."""

    note = forms.CharField(
        label="Note",
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="E.g. which day suits best, or who is on site.",
    )

    def __init__(self, *args, site, facts: SiteFacts, wanted=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.site, self.facts, self.today = site, facts, facts.today
        self.wanted = set(self.data.getlist("day") if self.is_bound else wanted)

    @property
    def preferences(self) -> list[tuple[date, str]]:
        """What was ticked of the days shown, earliest first.

        A day that is off goes along: it was a working day when the page was opened, and the refusal
        says why it is none any more.
        """
        return [
            (day.date, half.slug)
            for one in self.coming
            for day in (DayChoice(each, self.wanted) for each in one.each_day())
            for half in day.halves
            if half.is_chosen
        ]

    @property
    def days(self) -> "list[DayChoice]":
        """The next working days, with the days off in between and why they are."""
        return [
            DayChoice(one, self.wanted, against_halves(self.site, self.facts, one.first))
            for one in self.coming
        ]

    @cached_property
    def coming(self) -> list[Coming]:
        return calendar_at(self.site).coming(self.today, DAYS_TO_CHOOSE_FROM)


class HalfChoice:
    """One half-day as a big button, with what is against it as things stand.

    It may be asked for all the same: confirming again, nearer the day, may settle it.
    """

    def __init__(
        self, day: date, slug: str, label: str, wanted: set[str], against: tuple[str, ...]
    ):
        self.slug, self.label, self.against = slug, label, against
        self.value = f"{day.isoformat()}/{slug}"
        self.is_chosen = self.value in wanted


class DayChoice:
    """One weekday: its halves, or why it can't be chosen (`holiday`), with others after it.

    `against` is by half-day.
    """

    def __init__(
        self,
        coming: Coming,
        wanted: set[str],
        against: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
    ):
        self.date = day = coming.first
        self.holiday = why_off(coming)
        self.against = of_the_day(against) if against else ()
        self.halves = [
            HalfChoice(day, slug, label, wanted, against.get(slug, ()))
            for slug, label in Booking.Half.choices
        ]
