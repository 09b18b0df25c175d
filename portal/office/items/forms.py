"""The one form of a defect item. What the kind fills in stays fresh until somebody edits it."""

from __future__ import annotations

from datetime import date, datetime

from crispy_forms.layout import Div, Fieldset, Layout
from django import forms

from portal.forms.believable_past import check_past
from portal.forms.layout import bare_helper, date_input
from portal.forms.lengths import MetresField, MmField
from readiness import clock
from readiness.actions.reporting.drafts import item_defaults
from readiness.actions.reporting.due_dates import check_due
from readiness.actions.sites.sites import current_runs
from readiness.facts import rule_values
from readiness.models import DefectItem, SiteReport, WallRun
from readiness.rules.defects.catalogue import EFFECTS, TRADES, check_measurement, get_kind
from readiness.rules.defects.defect_kind import DefectKind, MeasurementCheck
from readiness.rules.vocabulary import Effect
from readiness.rules.words import metres
from readiness.wording import states
from readiness.wording.measurements import measurement, out_of_range
from readiness.wording.refusals import reporting as refusals


class ItemForm(forms.Form):
    """An item of a draft, of one kind. `fields_for_action` is what the actions take."""

    wall_run = forms.ModelChoiceField(
        queryset=WallRun.objects.none(), label="Wall", empty_label=None
    )
    measured_value = MmField()
    from_mm = MetresField(label="From, m", required=False)
    to_mm = MetresField(label="To, m", required=False)
    required_fix = forms.CharField(
        label="What has to be done",
        widget=forms.Textarea(attrs={"rows": 4}),
        required=False,
        max_length=2000,
    )
    suggested_fix = forms.CharField(required=False, widget=forms.HiddenInput)
    effect = forms.ChoiceField(
        label="Effect", choices=[(effect, states.words(effect)) for effect in EFFECTS]
    )
    trade = forms.ChoiceField(label="Whose work", choices=list(TRADES.items()))
    due_on = forms.DateField(label="Due on", required=False, widget=date_input())
    cleaned_wet_at = forms.DateTimeField(
        label="Washed at",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="If washed already. Drying time starts then.",
    )
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}), max_length=2000
    )

    def __init__(
        self,
        *args,
        report: SiteReport,
        kind: DefectKind,
        item: DefectItem | None = None,
        wall: WallRun | None = None,
        **kwargs,
    ):
        super().__init__(*args, **kwargs)
        self.report, self.kind, self.item = report, kind, item
        self.values = rule_values()
        self.fields["wall_run"].queryset = current_runs(report.site)
        self.fields["wall_run"].label_from_instance = _wall_words
        self._measurement_field()
        if not kind.wets_wall:
            del self.fields["cleaned_wet_at"]
        if not kind.has_extent:
            self.fields["from_mm"].label = "At, m"
            del self.fields["to_mm"]
        self.initial = {**self._first_values(wall), **self.initial}
        self.helper = bare_helper()
        self.helper.layout = self._layout()

    def _measurement_field(self) -> None:
        spec = self.kind.measurement
        if spec is None:
            del self.fields["measured_value"]
            return
        field = self.fields["measured_value"]
        need = "" if self.kind.measurement_required else " (if you can)"
        field.label = f"{spec.label}, {spec.unit}{need}"
        field.help_text = spec.help
        field.widget.attrs["aria-describedby"] = "measured-check"

    def _first_values(self, wall: WallRun | None) -> dict:
        if self.item:
            names = [name for name in self.fields if name not in ("suggested_fix",)]
            values = {name: getattr(self.item, name) for name in names}
            washed = values.get("cleaned_wet_at")
            if washed:
                values["cleaned_wet_at"] = washed.astimezone(self.report.site.zone)
            return {**values, "suggested_fix": self.suggestion(self.item)}
        values = item_defaults(self.report, self.kind.slug, {})
        return {**values, "wall_run": wall, "suggested_fix": values["required_fix"]}

    def suggestion(self, source) -> str:
        """The required fix by the kind, for the measurement and place of an item."""
        return self.kind.required_fix(
            self.values,
            measured=source.measured_value,
            from_mm=source.from_mm,
            to_mm=source.to_mm,
        )

    def _layout(self) -> Layout:
        place = [name for name in ("from_mm", "to_mm") if name in self.fields]
        legend = "Where along the wall, from its left end"
        grid = Fieldset(legend, Div(*place, css_class="form-grid two-up"), css_class="place-fields")
        rest = [Div("trade", "due_on", css_class="form-grid"), "note", "suggested_fix"]
        if "cleaned_wet_at" in self.fields:
            rest.insert(1, "cleaned_wet_at")
        # The measurement is drawn by the page itself, with its check beneath.
        return Layout("wall_run", grid, "required_fix", "effect", *rest)

    def clean(self) -> dict:
        cleaned = super().clean()
        wall, start, end = cleaned.get("wall_run"), cleaned.get("from_mm"), cleaned.get("to_mm")
        for name, place in (("from_mm", start), ("to_mm", end)):
            if wall and place is not None and place > wall.length_mm:
                self.add_error(name, refusals.past_the_end(place, wall.label, wall.length_mm))
        if end is not None and (start is None or end < start):
            self.add_error("to_mm", refusals.end_before_start())
        check = check_measurement(self.kind, cleaned.get("measured_value"), self.values)
        if check and not check.believable:
            self.add_error("measured_value", out_of_range(check))
        if cleaned.get("effect") == Effect.RECORD:
            cleaned["due_on"] = None
        self._check_due(cleaned.get("due_on"))
        if not self.kind.fix and not cleaned.get("required_fix", "").strip():
            self.add_error("required_fix", "Say what is wrong and what has to be done.")
        washed = cleaned.get("cleaned_wet_at")
        if washed:
            cleaned["cleaned_wet_at"] = washed.replace(tzinfo=self.report.site.zone)
            self._check_washed(cleaned["cleaned_wet_at"])
        return cleaned

    def _check_due(self, due_on: date | None) -> None:
        """A date that passed while the draft lay may stay until the report is issued."""
        if self.item is None or due_on != self.item.due_on:
            for problem in check_due(self.report, due_on):
                self.add_error("due_on", problem.sentence)

    def _check_washed(self, washed: datetime) -> None:
        try:
            check_past(washed, clock.now(), to_come="That time is still to come.")
        except forms.ValidationError as error:
            self.add_error("cleaned_wet_at", error)

    @property
    def fields_for_action(self) -> dict:
        """What was entered; a required fix that nobody edited follows the measurement."""
        fields = {
            name: value for name, value in self.cleaned_data.items() if name != "suggested_fix"
        }
        typed = _plain(fields["required_fix"])
        if not typed or typed == _plain(self.cleaned_data["suggested_fix"]):
            fields["required_fix"] = self.kind.required_fix(
                self.values,
                measured=fields.get("measured_value"),
                from_mm=fields.get("from_mm"),
                to_mm=fields.get("to_mm"),
            )
        if "measured_value" in fields:
            fields.update(self._measured_how(fields["measured_value"]))
        return fields

    def _measured_how(self, value) -> dict:
        """A new value was read from the tape; one from a photo stays so while it is the same."""
        if self.item and self.item.measured_value == value:
            return {}
        how = "" if value is None else DefectItem.MeasuredFrom.TAPE
        return {"measured_from": how, "measured_uncertainty": None}


class CheckForm(forms.Form):
    """What is typed so far, as far as it can be understood, for the live check."""

    measured_value = MmField()
    from_mm = MetresField(required=False)
    to_mm = MetresField(required=False)


def live_check(slug: str, data) -> dict:
    """The check of a measurement as typed, and the required fix that goes with it."""
    kind, values = get_kind(slug), rule_values()
    form = CheckForm(data)
    form.is_valid()
    typed = {name: form.cleaned_data.get(name) for name in form.fields}
    if typed["from_mm"] is None or (typed["to_mm"] or typed["from_mm"]) < typed["from_mm"]:
        typed["to_mm"] = None
    check = check_measurement(kind, typed["measured_value"], values)
    believed = typed["measured_value"] if check and check.believable else None
    fix = kind.required_fix(
        values, measured=believed, from_mm=typed["from_mm"], to_mm=typed["to_mm"]
    )
    return {
        "check": check and _said(check),
        "fix": fix,
        "not_a_number": "measured_value" in form.errors,
    }


def _said(check: MeasurementCheck) -> dict:
    """The check with its sentence, for the page."""
    return {**vars(check), "needed_words": check.needed_words, "sentence": measurement(check)}


def _wall_words(run: WallRun) -> str:
    return f"{run.label} ({metres(run.length_mm)})"


def _plain(text: str) -> str:
    """For comparing: browsers send other line ends than they were given."""
    return " ".join(text.split())
