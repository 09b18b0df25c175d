"""Forms about people: inviting, accepting an invitation, one's own details, a contact's sites."""

from crispy_forms.helper import FormHelper
from django import forms
from django.contrib.auth.password_validation import validate_password
from django.db.models import Q
from django.utils.translation import gettext as _

from readiness.actions.people.profile import change_profile
from readiness.models import BuilderContact, Site, User

SITES_OFFERED = 100
"""How many sites are listed to choose from: a builder can have thousands."""


def bare_helper():
    """A crispy helper that leaves the form tag and the buttons to the template."""
    helper = FormHelper()
    helper.form_tag = False
    return helper


class SiteChoiceField(forms.ModelMultipleChoiceField):
    """Some of a builder's sites, as a list to tick."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, site):
        return f"{site} ({site.job_number})" if site.job_number else str(site)


class SitesMixin(forms.Form):
    """Which sites a contact sees: all of the builder's, or those ticked."""

    which = forms.ChoiceField(
        label="Which sites may this person see?",
        choices=[("all", "All of the builder's sites, and every new one"), ("some", "Only these")],
        widget=forms.RadioSelect,
        initial="all",
    )
    sites = SiteChoiceField(label="Sites", queryset=Site.objects.none(), required=False)

    def offer_sites_of(self, builder, contact=None):
        """Offer the builder's newest open sites, and those that the contact has already."""
        newest = builder.sites.filter(closed_at=None).order_by("-created_at").values("pk")
        offered = Q(pk__in=newest[:SITES_OFFERED])
        if contact is not None:
            offered |= Q(pk__in=contact.sites.values("pk"))
        field = self.fields["sites"]
        field.queryset = builder.sites.filter(offered)
        self.helper = bare_helper()
        if not field.queryset.exists():
            field.widget = forms.MultipleHiddenInput()

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("which") == "some" and not cleaned.get("sites"):
            self.add_error("sites", "Tick at least one site, or choose all of them.")
        return cleaned

    @property
    def chosen_sites(self):
        """The ticked sites, or None for all."""
        return list(self.cleaned_data["sites"]) if self.cleaned_data["which"] == "some" else None


class RoleField(forms.ChoiceField):
    """What a contact may do."""

    def __init__(self):
        super().__init__(
            label="What may this person do?",
            choices=[
                ("supervisor", "Supervisor: report fixes, confirm readiness, book"),
                ("administrator", "Administrator: also vouch for colleagues"),
                ("reader", "Read only: look, not act"),
            ],
            widget=forms.RadioSelect,
            initial="supervisor",
            required=False,
        )


class InviteContactForm(SitesMixin):
    """Whom to let in for a builder."""

    email = forms.EmailField(
        label="E-mail address",
        help_text="They sign in with this address, and e-mails about their sites go there.",
    )
    role = RoleField()
    field_order = ["email", "role", "which", "sites"]

    def __init__(self, *args, builder, **kwargs):
        super().__init__(*args, **kwargs)
        self.offer_sites_of(builder)


class ContactForm(SitesMixin):
    """A contact's position and the sites they see."""

    position = forms.CharField(
        max_length=80, required=False, help_text="E.g. site supervisor, office."
    )
    role = RoleField()
    field_order = ["position", "role", "which", "sites"]

    def __init__(self, data=None, *, contact: BuilderContact):
        initial = {
            "position": contact.position,
            "role": contact.role,
            "which": "all" if contact.all_sites else "some",
            "sites": contact.sites.all(),
        }
        super().__init__(data, initial=initial)
        self.offer_sites_of(contact.builder, contact)


class InviteStaffForm(forms.Form):
    """Which colleague to let in."""

    email = forms.EmailField(label="E-mail address")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = bare_helper()


class LicenceForm(forms.Form):
    """The licence number of one of the staff."""

    licence_number = forms.CharField(label="Licence number", max_length=60, required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = bare_helper()


class AcceptContactForm(forms.Form):
    """What a new builder contact tells about themselves."""

    name = forms.CharField(
        label="Your name",
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        help_text="As you would sign it.",
    )
    position = forms.CharField(
        label="Your position",
        max_length=80,
        help_text="E.g. site supervisor.",
        widget=forms.TextInput(attrs={"autocomplete": "organization-title"}),
    )
    phone = forms.CharField(
        label="Your phone",
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "tel", "inputmode": "tel"}),
    )

    def __init__(self, *args, invitation, **kwargs):
        super().__init__(*args, **kwargs)
        self.invitation = invitation
        self.helper = bare_helper()


class JoinForm(forms.Form):
    """What somebody who signs in already tells for one more builder."""

    position = AcceptContactForm.base_fields["position"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = bare_helper()


class AcceptStaffForm(AcceptContactForm):
    """What a new colleague of the applicator tells, with a password of their own."""

    position = None
    password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least 12 characters. Three or four random words are good.",
    )

    def clean(self):
        cleaned = super().clean()
        password = cleaned.get("password")
        if password:
            person = User(email=self.invitation.email, name=cleaned.get("name", ""))
            try:
                validate_password(password, person)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return cleaned


class ProfileForm(forms.ModelForm):
    """A person's own details."""

    class Meta:
        model = User
        fields = ["name", "phone"]
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "name"}),
            "phone": forms.TextInput(attrs={"autocomplete": "tel", "inputmode": "tel"}),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = bare_helper()
        self.fields["name"].required = True
        self._builders = {}
        if not self.instance.is_applicator:
            self._ask_for_positions(self.instance.active_memberships)

    def _ask_for_positions(self, memberships):
        for contact in memberships:
            name = "position" if contact.number == 1 else f"position_{contact.number}"
            self._builders[name] = contact.builder_id
            self.fields[name] = forms.CharField(
                label=_("Position at %(builder)s") % {"builder": contact.builder}
                if len(memberships) > 1
                else _("Position"),
                initial=contact.position,
                max_length=80,
                required=False,
            )

    def save(self, commit=True):
        person = User.objects.get(pk=self.instance.pk)  # the form has written into its own already
        given = dict(self.cleaned_data)
        positions = {builder: given.pop(name) for name, builder in self._builders.items()}
        return change_profile(person, positions=positions, **given)
