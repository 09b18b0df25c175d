"""Whom to tell about an issued report."""

from django import forms

from portal.forms.layout import ContactChoice, bare_helper
from readiness.models import BuilderContact, Site


class IssueForm(forms.Form):
    """Contacts of the site's builder who can see the site; those it names are ticked."""

    notify = ContactChoice(
        queryset=BuilderContact.objects.none(), required=False, label="E-mail the report to"
    )

    def __init__(self, *args, site: Site, **kwargs):
        super().__init__(*args, **kwargs)
        contacts = BuilderContact.objects.seeing(site).select_related("user")
        self.fields["notify"].queryset = contacts
        named = list(contacts.filter(notified_of=site))
        ticked = [contact for contact in contacts if not named or contact in named]
        self.initial.setdefault("notify", [contact.pk for contact in ticked])
        self.has_contacts = bool(contacts)
        self.users_to_choose = [contact.user_id for contact in contacts]
        self.helper = bare_helper("notify")
