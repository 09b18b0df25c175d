"""Forms of a booking: offering a day, and recording the visit."""

from __future__ import annotations

import re
import uuid
from datetime import date
from decimal import Decimal

from crispy_forms.bootstrap import InlineRadios
from crispy_forms.layout import Div
from django import forms

from portal.forms.layout import bare_helper, date_input
from readiness.models import Booking, PutOff
from readiness.wording import dates
from readiness.wording.refusals import visits as refusals

_LITRES = re.compile(r"(?P<number>-?\d+(?:[.,]\d+)?)\s*(?:l|litres?)?", re.IGNORECASE)


class OfferForm(forms.Form):
    """A day and a half of it, with a message to the builder."""

    day = forms.DateField(label="Day", widget=date_input())
    half = forms.ChoiceField(
        label="Half of the day", choices=Booking.Half.choices, widget=forms.RadioSelect
    )
    note = forms.CharField(
        label="Message to the builder", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["half"].initial = Booking.Half.MORNING
        self.helper = bare_helper(Div("day", "half", css_class="form-grid"), "note")


class PutOffForm(OfferForm):
    """Why a booked day is put off, and the half-day that is offered instead, if one is.

    `seen` is the booked half-day that stood on the page, and `put_off_id` makes sending it twice
    one act.
    """

    put_off_id = forms.UUIDField(widget=forms.HiddenInput, required=False)
    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=30)
    cause = forms.ChoiceField(label="Why?", choices=PutOff.Cause.choices, widget=forms.RadioSelect)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["put_off_id"].initial = uuid.uuid4
        self.fields["cause"].error_messages["required"] = refusals.no_cause_to_put_off()
        day = self.fields["day"]
        day.label, day.help_text = "Offer instead", "Empty: no other day yet."
        day.required = self.fields["half"].required = False
        self.helper = bare_helper(
            "put_off_id", "seen", InlineRadios("cause"),
            Div("day", InlineRadios("half"), css_class="form-grid"), "note",
        )  # fmt: skip


class LitresField(forms.CharField):
    """Litres as typed ("6", "6.2", "6,2 L", "6.2 litres"); cleans to whole mL."""

    def __init__(self, **kwargs):
        super().__init__(max_length=20, **kwargs)
        self.widget.attrs.update({"inputmode": "decimal"})

    def clean(self, value):
        typed = _LITRES.fullmatch(super().clean(value))
        if typed is None:
            raise forms.ValidationError(f"“{value}” is not an amount. Enter litres, e.g. 6.2.")
        litres = Decimal(typed["number"].replace(",", "."))
        if not Decimal("0.001") <= litres <= 1000:
            raise forms.ValidationError(refusals.liquid_unbelievable())
        return int(litres * 1000)


class TreatedForm(forms.Form):
    """What was used on the day."""

    used_ml = LitresField(label="Liquid used, litres")
    batch_number = forms.CharField(label="Batch number", max_length=60, required=False)
    weather = forms.CharField(
        label="Weather", max_length=120, required=False, help_text="E.g. dry, 24 °C, light wind."
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = bare_helper(
            Div("used_ml", "batch_number", css_class="form-grid"), "weather", "note"
        )


class ReasonForm(forms.Form):
    """A reason, in the person's own words."""

    reason = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args, label: str, required: bool = True, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["reason"].label = label
        self.fields["reason"].required = required
        self.helper = bare_helper("reason")


def wishes(booking: Booking | None, today: date) -> list[dict]:
    """The half-days that suit the builder and are still to come, as buttons: value and words."""
    return [
        {"day": day.isoformat(), "half": half, "words": f"{dates.day(day)}, {half}"}
        for day, half in (booking.wishes(today) if booking else ())
    ]
