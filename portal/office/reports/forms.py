"""Forms of a report: its head, what is carried over, and what shows a wall was right."""

from crispy_forms.layout import Div
from django import forms

from portal.forms.believable_past import TEN_YEARS, check_past
from portal.forms.layout import bare_helper, date_input
from readiness.actions.reporting.due_dates import still_wanted_on, today_at
from readiness.models import DefectItem, RunCheck, Site, SiteReport
from readiness.rules.vocabulary import OPEN_STATES, Effect
from readiness.rules.words import where
from readiness.wording import states


class ReportHeadForm(forms.ModelForm):
    """When the visit was, the weather, and when treatment is wanted."""

    class Meta:
        model = SiteReport
        fields = ("visited_on", "treatment_wanted_on", "weather", "notes")
        labels = {"visited_on": "Day of the visit", "treatment_wanted_on": "Treatment wanted on"}
        help_texts = {
            "treatment_wanted_on": "Due dates count back from this day, in working days.",
            "weather": "E.g. dry, 24 °C, light wind.",
            "notes": "For the whole site. Enter what is wrong on a wall as an item.",
        }
        widgets = {
            "visited_on": date_input(),
            "treatment_wanted_on": date_input(),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args, site: Site, **kwargs):
        super().__init__(*args, **kwargs)
        self.site = site
        if not self.instance.visited_on:
            self.initial.setdefault("visited_on", today_at(self.site))
            self.initial.setdefault("treatment_wanted_on", still_wanted_on(site))
        self.helper = bare_helper(
            Div("visited_on", "treatment_wanted_on", css_class="form-grid"), "weather", "notes"
        )

    def clean_visited_on(self):
        day = self.cleaned_data["visited_on"]
        to_come = "This day is still to come."
        check_past(day, today_at(self.site), to_come=to_come, longest_ago=TEN_YEARS)
        return day

    def clean(self):
        cleaned = super().clean()
        visited, wanted = cleaned.get("visited_on"), cleaned.get("treatment_wanted_on")
        if visited and wanted and wanted < visited:
            self.add_error("treatment_wanted_on", "This is before the visit. Choose a later day.")
        elif wanted and wanted < today_at(self.site):
            text = "This day has passed. Choose a later day, or leave it empty."
            self.add_error("treatment_wanted_on", text)
        return cleaned


class CarriedItems(forms.ModelMultipleChoiceField):
    """Items of the report before, to tick."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, item):
        place = f"{item.wall_run.label} {where(item.from_mm, item.to_mm)}".strip()
        state = states.words(item.state or item.effect)
        return f"{item.number}. {item.kind_entry.name}, {place} ({state.lower()})"


class CarryOverForm(forms.Form):
    """Which items of the current report go into the new one; all that are open, to begin with."""

    carry_over = CarriedItems(
        queryset=DefectItem.objects.none(),
        required=False,
        label="Carry over what is still open",
        error_messages={"invalid_choice": "One of these is no longer open. Check the list again."},
    )

    def __init__(self, *args, report: SiteReport | None, **kwargs):
        super().__init__(*args, **kwargs)
        items = DefectItem.objects.none()
        if report is not None:
            items = report.items.filter(state__in=OPEN_STATES) | report.items.filter(
                effect=Effect.RECORD
            )
        self.items = items.select_related("wall_run").order_by("number")
        self.fields["carry_over"].queryset = self.items
        self.initial.setdefault("carry_over", [item.pk for item in self.items])
        self.helper = bare_helper("carry_over")


class ShownRightForm(forms.Form):
    """A note on a checked wall, beside the photos that show it was right."""

    note = forms.CharField(
        label="Note",
        required=False,
        max_length=RunCheck._meta.get_field("note").max_length,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="E.g. joints full to the bottom course, ground clear.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = bare_helper("note")
