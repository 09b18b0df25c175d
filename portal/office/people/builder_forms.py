"""Forms about building companies."""

from django import forms

from portal.forms.layout import bare_helper
from readiness.models import Builder
from readiness.wording.refusals import people as refusals


class BuilderForm(forms.ModelForm):
    """A building company's name and number, and our own notes on it."""

    class Meta:
        model = Builder
        fields = ("name", "phone", "notes")
        labels = {"name": "Name of the builder", "notes": "Our notes"}
        widgets = {
            "phone": forms.TextInput(attrs={"type": "tel"}),
            "notes": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = bare_helper("name", "phone", "notes")

    def clean_name(self):
        name = self.cleaned_data["name"].strip()
        others = Builder.objects.filter(name__iexact=name).exclude(pk=self.instance.pk)
        if others.exists():
            raise forms.ValidationError(refusals.builder_known(name))
        return name
