"""Forms of what only a licensed technician decides: noting it, and deciding."""

from __future__ import annotations

from crispy_forms.layout import Div, Fieldset
from django import forms

from portal.forms.layout import bare_helper
from portal.forms.lengths import MetresField
from readiness.actions.sites.sites import current_runs
from readiness.models import Referral, Site, WallRun
from readiness.rules.vocabulary import OUTCOMES, ReferralKind
from readiness.rules.words import metres
from readiness.wording.referrals import CAUSES, cause_words, outcome_words
from readiness.wording.refusals import referrals as refusals
from readiness.wording.refusals import reporting

LONGEST = 2000


class TermitesForm(forms.Form):
    """Where live termites are, as far as anybody can say: nothing of it is needed."""

    wall_run = forms.ModelChoiceField(
        queryset=WallRun.objects.none(),
        label="Wall",
        required=False,
        empty_label="Not on a wall, or not sure",
    )
    from_mm = MetresField(label="At, m from its left end", required=False)
    note = forms.CharField(
        label="What you saw",
        required=False,
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="E.g. mud tube up the slab edge, about 20 cm long.",
    )

    def __init__(self, *args, site: Site, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["wall_run"].queryset = current_runs(site)
        self.fields["wall_run"].label_from_instance = _wall_words
        self.helper = bare_helper(Div("wall_run", "from_mm", css_class="form-grid"), "note")

    def clean(self) -> dict:
        cleaned = super().clean()
        wall, at = cleaned.get("wall_run"), cleaned.get("from_mm")
        if wall and at is not None and at > wall.length_mm:
            self.add_error("from_mm", reporting.past_the_end(at, wall.label, wall.length_mm))
        return cleaned


class AccessForm(forms.Form):
    """Why nobody can reach a wall, and which stretch of it."""

    cause = forms.ChoiceField(
        label="Why",
        choices=[(str(cause), cause_words(cause)) for cause in CAUSES],
        widget=forms.RadioSelect,
        error_messages={"required": refusals.no_cause()},
    )
    from_mm = MetresField(label="From, m", required=False)
    to_mm = MetresField(label="To, m", required=False)
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="E.g. 50 mm to the neighbour’s fence.",
    )

    def __init__(self, *args, wall: WallRun, **kwargs):
        super().__init__(*args, **kwargs)
        self.wall = wall
        legend = "Which stretch, from its left end; empty for the whole wall"
        place = Fieldset(
            legend,
            Div("from_mm", "to_mm", css_class="form-grid two-up"),
            css_class="place-fields",
        )
        self.helper = bare_helper("cause", place, "note")

    def clean(self) -> dict:
        cleaned = super().clean()
        start, end = cleaned.get("from_mm"), cleaned.get("to_mm")
        for name, place in (("from_mm", start), ("to_mm", end)):
            if place is not None and place > self.wall.length_mm:
                words = reporting.past_the_end(place, self.wall.label, self.wall.length_mm)
                self.add_error(name, words)
        if self.errors:
            return cleaned
        if (start is None) != (end is None):
            self.add_error("from_mm" if start is None else "to_mm", refusals.half_a_stretch())
        elif start is not None and end is not None and end <= start:
            self.add_error("to_mm", reporting.end_before_start())
        return cleaned


class DecisionForm(forms.Form):
    """What the technician decided, and why. `seen` is the decision that was on the screen."""

    outcome = forms.ChoiceField(
        label="Decision",
        widget=forms.RadioSelect,
        error_messages={"required": refusals.no_outcome()},
    )
    reason = forms.CharField(
        label="Why",
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In your own words. The builder and later readers read it.",
        error_messages={"required": refusals.no_reason()},
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, referral: Referral, **kwargs):
        super().__init__(*args, **kwargs)
        outcomes = OUTCOMES[ReferralKind(referral.kind)]
        self.fields["outcome"].choices = [(one.value, outcome_words(one)) for one in outcomes]
        in_force = referral.in_force
        self.initial.setdefault("seen", str(in_force.pk) if in_force else "")
        self.helper = bare_helper("outcome", "reason", "seen")


def _wall_words(run: WallRun) -> str:
    return f"{run.label} ({metres(run.length_mm)})"
