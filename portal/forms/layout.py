"""How forms are laid out, and fields that several of them have."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms


def bare_helper(*layout) -> FormHelper:
    """A crispy helper that leaves the form tag and the buttons to the template."""
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    if layout:
        helper.layout = Layout(*layout)
    return helper


def date_input() -> forms.DateInput:
    """A day picker of the phone's own."""
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class StyledForm(forms.Form):
    """Bootstrap's classes, and errors tied to their fields, for a form that a template lays out."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            style = "form-select" if isinstance(field.widget, forms.Select) else "form-control"
            field.widget.attrs.setdefault("class", style)

    def _post_clean(self):
        super()._post_clean()  # type: ignore[misc]  # a hook that the stubs leave out
        for name in self.errors.keys() & self.fields.keys():
            self.fields[name].widget.attrs["class"] += " is-invalid"
            self.fields[name].widget.attrs["aria-invalid"] = "true"


class ContactChoice(forms.ModelMultipleChoiceField):
    """Contacts of one builder, to tick."""

    widget = forms.CheckboxSelectMultiple

    def clean(self, value):
        try:
            return super().clean(value)
        except OverflowError as error:  # a number too large for the database is nobody's
            raise forms.ValidationError("Choose from the contacts listed.") from error

    def label_from_instance(self, contact):
        position = f", {contact.position}" if contact.position else ""
        return f"{contact.user}{position} ({contact.user.email})"
