"""The settings of the business."""

from crispy_forms.layout import Div, Fieldset
from django import forms

from portal.forms.layout import bare_helper
from readiness.actions.firm.business import BUSINESS_FIELDS
from readiness.models import Business


class BusinessForm(forms.ModelForm):
    """Letterhead, wording and policies."""

    class Meta:
        model = Business
        fields = BUSINESS_FIELDS
        labels = {
            "name": "Name of the business",
            "email": "E-mail for replies",
            "letterhead_note": "Line under the name",
            "technician_name": "Whom to call",
            "technician_phone": "Their phone",
            "product_name": "Treatment product",
            "report_introduction": "Introduction of a site report",
            "confirmation_statement": "Statement that the builder signs",
            "guide_note": "Our own note in the preparation guide",
            "fixes_needed": "A builder can confirm readiness when",
            "share_positions": "Show builders and shared links where a photo was taken",
            "outlines_open_joints": "Outline joints that look open on photos",
            "retention_years": "Keep photos for, years",
            "paper_size": "Paper size",
        }
        help_texts = {
            "technician_name": "A licensed technician. Empty: pages name nobody.",
            "confirmation_statement": "Statements already signed keep their words.",
            "share_positions": "If off, only we see where a photo was taken.",
            "outlines_open_joints": (
                "When you measure by many courses, dark joints are outlined for you to keep or "
                "dismiss. It misses some and outlines others wrongly: look at the wall yourself."
            ),
        }
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "phone": forms.TextInput(attrs={"type": "tel"}),
            "technician_phone": forms.TextInput(attrs={"type": "tel"}),
            "report_introduction": forms.Textarea(attrs={"rows": 3}),
            "confirmation_statement": forms.Textarea(attrs={"rows": 5}),
            "guide_note": forms.Textarea(attrs={"rows": 3}),
            "fixes_needed": forms.RadioSelect,
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["fixes_needed"].choices = Business.FixesNeeded.choices
        pair = "form-grid"
        self.helper = bare_helper(
            Fieldset(
                "On every paper",
                Div("name", "licence_number", css_class=pair),
                "letterhead_note",
                "address",
                Div("phone", "email", css_class=pair),
                Div("paper_size", "currency", css_class=pair),
            ),
            Fieldset(
                "Reports",
                "product_name",
                "report_introduction",
                "guide_note",
            ),
            Fieldset(
                "Live termites",
                Div("technician_name", "technician_phone", css_class=pair),
            ),
            Fieldset("Readiness", "fixes_needed", "confirmation_statement"),
            Fieldset(
                "Sharing and keeping",
                "share_positions",
                Div("retention_years", css_class="field-short"),
            ),
            Fieldset("Experiments", "outlines_open_joints"),
        )

    def clean_retention_years(self):
        years = self.cleaned_data["retention_years"]
        if not 1 <= years <= 100:
            raise forms.ValidationError("Enter 1 to 100 years.")
        return years

    @property
    def settings(self) -> dict:
        """What the action takes."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields}
