"""Forms about a site: its details, and rain on its walls."""

from datetime import datetime
from zoneinfo import ZoneInfo

from crispy_forms.layout import Div, Field, Fieldset
from django import forms

from portal.forms.believable_past import check_past
from portal.forms.layout import ContactChoice, bare_helper, date_input
from readiness import clock
from readiness.models import Builder, BuilderContact, Site
from readiness.models.site import STATE_CHOICES
from readiness.rules.defects.catalogue import STATES
from readiness.rules.vocabulary import SOIL_CLASSES
from readiness.wording.refusals import sites as refusals


class SiteForm(forms.ModelForm):
    """A site's details. The contacts to notify are those of its builder only."""

    notify = ContactChoice(
        queryset=BuilderContact.objects.none(),
        required=False,
        label="Contacts to notify",
        help_text="They get the e-mails about this site. If nobody is ticked, everyone with "
        "access gets them.",
    )

    class Meta:
        model = Site
        fields = (
            "street",
            "suburb",
            "state",
            "postcode",
            "job_number",
            "house_type",
            "treatment_wanted_on",
            "access_notes",
            "datum",
            "soil_class",
            "latitude",
            "longitude",
        )
        labels = {
            "street": "Lot or number, and street",
            "treatment_wanted_on": "Treatment wanted on",
            "access_notes": "Site access",
        }
        help_texts = {
            "treatment_wanted_on": "Due dates count back from this day.",
            "soil_class": "From the soil report or the plans; for M-D choose M. It tells whether "
            "the walls need articulation joints.",
            "latitude": "In degrees, south is negative. Photos taken far from here are flagged.",
        }
        widgets = {
            "treatment_wanted_on": date_input(),
            "access_notes": forms.Textarea(attrs={"rows": 3}),
            "postcode": forms.TextInput(attrs={"inputmode": "numeric"}),
            # A number input sends nothing for what it can't read, and a phone's has no minus.
            "latitude": forms.TextInput(),
            "longitude": forms.TextInput(),
        }

    def __init__(self, *args, builder: Builder, **kwargs):
        super().__init__(*args, **kwargs)
        contacts = builder.contacts.filter(is_active=True).select_related("user")
        self.fields["notify"].queryset = contacts
        self.has_contacts = contacts.exists()
        if self.instance.created_at:
            self.initial.setdefault("notify", list(self.instance.notify.all()))
        else:
            self.fields["state"].initial = _usual_state(builder)
        self.fields["state"].choices = STATE_CHOICES
        self.fields["soil_class"].choices = [("", "Not known"), *SOIL_CLASSES.items()]
        place = [Field("street"), Div("suburb", "state", "postcode", css_class="form-grid")]
        job = [Div("job_number", "house_type", "treatment_wanted_on", css_class="form-grid")]
        datum = Div("datum", "soil_class", css_class="form-grid")
        more = Fieldset("More", datum, Div("latitude", "longitude", css_class="form-grid"))
        notify = ["notify"] if self.has_contacts else []
        self.helper = bare_helper(*place, *job, "access_notes", *notify, more)

    def clean_treatment_wanted_on(self):
        """A day that has passed is only kept where it stood before."""
        wanted = self.cleaned_data["treatment_wanted_on"]
        state = STATES.get(self.cleaned_data.get("state"))
        if not (wanted and state and "treatment_wanted_on" in self.changed_data):
            return wanted
        if wanted < clock.now().astimezone(ZoneInfo(state.zone)).date():
            raise forms.ValidationError("This day has passed. Choose a later day.")
        return wanted

    def clean(self):
        cleaned = super().clean()
        latitude, longitude = cleaned.get("latitude"), cleaned.get("longitude")
        if (latitude is None) != (longitude is None):
            self.add_error("longitude", "Enter both latitude and longitude, or neither.")
        if latitude is not None and not -90 <= latitude <= 90:
            self.add_error("latitude", "Latitude is from -90 to 90 degrees.")
        if longitude is not None and not -180 <= longitude <= 180:
            self.add_error("longitude", "Longitude is from -180 to 180 degrees.")
        return cleaned

    @property
    def details(self) -> dict:
        """What was typed, without the contacts."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


def _usual_state(builder: Builder) -> str:
    """The state of the builder's latest site, else of any latest site."""
    sites = Site.objects.order_by("-created_at")
    latest = sites.filter(builder=builder).first() or sites.first()
    return latest.state if latest else "QLD"


class RainForm(forms.Form):
    """When it last rained on the walls, in the site's own time."""

    rained_at = forms.DateTimeField(
        label="When the rain stopped",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="Drying time starts then.",
    )

    def __init__(self, *args, site: Site, **kwargs):
        super().__init__(*args, **kwargs)
        self.site = site

    def clean_rained_at(self) -> datetime:
        rained_at = self.cleaned_data["rained_at"].replace(tzinfo=self.site.zone)
        to_come = refusals.rain_to_come()
        check_past(rained_at, clock.now(), to_come=to_come)
        return rained_at
