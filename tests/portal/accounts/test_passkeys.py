"""A contact's passkey: in the place of the e-mailed code, and set up by nobody but them."""

from datetime import timedelta

import pytest
from allauth.mfa.models import Authenticator
from django.urls import reverse

from readiness import clock
from readiness.models import ReadinessConfirmation
from tests.factories import make_contact, make_issued, make_site
from tests.pages import shown
from tests.portal.accounts.test_sign_in import code_in, signed_in_as
from tests.proving import proved

pytestmark = pytest.mark.django_db

LIST, ADD = reverse("mfa_list_webauthn"), reverse("mfa_add_webauthn")
AGAIN, CODE = reverse("mfa_reauthenticate_webauthn"), reverse("accounts:own_code")


def passkey_of(user, name="Phone"):
    """A row alone: what a device answers is tried in tests/browser/test_accounts.py."""
    return Authenticator.objects.create(user=user, type="webauthn", data={"name": name})


def changes(key):
    return [ADD, *(reverse(f"mfa_{what}_webauthn", args=[key.pk]) for what in ("edit", "remove"))]


@pytest.fixture
def no_devices(monkeypatch):
    """Challenges without the keys of `passkey_of`, which are rows alone."""
    monkeypatch.setattr("allauth.mfa.webauthn.internal.auth.get_credentials", lambda user: [])


@pytest.mark.parametrize("shown_before", [None, timedelta(minutes=16)])
def test_nothing_is_changed_before_they_show_that_it_is_them(client_for, contact, shown_before):
    key, client = passkey_of(contact), client_for(contact)
    if shown_before:
        proved(client, contact, at=clock.now() - shown_before)
    for path in changes(key):
        for answer in (client.get(path), client.post(path, {"name": "Mine"})):
            assert answer.status_code == 302
            assert answer.url.startswith(CODE), path
    assert Authenticator.objects.get().data == {"name": "Phone"}


def test_after_a_code_a_passkey_is_added_renamed_and_removed(client_for, contact, no_devices):
    key, client = passkey_of(contact), proved(client_for(contact), contact)
    assert "Add a passkey" in shown(client.get(ADD))
    _add, edit, remove = changes(key)
    client.post(edit, {"name": "Site phone"})
    assert "Site phone" in shown(client.get(LIST))
    client.post(remove)
    assert not Authenticator.objects.exists()


def test_nobody_changes_the_passkeys_of_somebody_else(client_for, contact, other_contact):
    key, client = passkey_of(other_contact), proved(client_for(contact), contact)
    for path in changes(key)[1:]:
        assert client.post(path, {"name": "Mine"}).status_code == 404
    assert Authenticator.objects.filter(pk=key.pk).exists()


def test_contacts_have_nothing_else_of_second_factors(client_for, contact):
    client = proved(client_for(contact), contact)
    for name in (
        "index", "activate_totp", "deactivate_totp", "generate_recovery_codes",
        "view_recovery_codes", "download_recovery_codes", "reauthenticate",
    ):  # fmt: skip
        path = reverse(f"mfa_{name}")
        assert [client.get(path).status_code, client.post(path).status_code] == [404, 404], name


def test_a_code_alone_signs_in_who_has_a_passkey_on_a_phone_that_is_lost(
    client, contact, mailoutbox
):
    passkey_of(contact)
    client.post("/accounts/login/code/", {"email": contact.email})
    client.post("/accounts/login/code/confirm/", {"code": code_in(mailoutbox[0])})
    assert signed_in_as(client) == str(contact.pk)


def test_the_account_page_leads_to_the_passkeys(client_for, contact, applicator):
    assert LIST in shown(client_for(contact).get(reverse("accounts:profile")))
    assert LIST not in shown(client_for(applicator).get(reverse("accounts:profile")))


# Signing


@pytest.fixture
def ready(applicator, site):
    make_issued(applicator, site, kinds=())
    return site


def confirm_page(client, site):
    return shown(client.get(reverse("builder:confirm", args=[site.pk])))


def test_who_has_a_passkey_is_offered_it_before_signing(client_for, contact, ready, no_devices):
    client = client_for(contact)
    assert AGAIN not in confirm_page(client, ready)
    passkey_of(contact)
    assert AGAIN not in confirm_page(client, ready), "nobody vouches for the account: it won't do"
    contact.memberships.update(vouched_how="address")
    assert AGAIN in confirm_page(client, ready)
    assert "Use an e-mailed code" in shown(client.get(AGAIN))


def test_a_passkey_shows_who_signs(client_for, contact, ready):
    contact.memberships.update(vouched_how="address")
    client = proved(client_for(contact), contact, "mfa", type="webauthn", reauthenticated=True)
    assert "Sign and confirm" in confirm_page(client, ready)
    ticks = {f"wall-{run.pk}": ["clean", "dry", "clear"] for run in ready.wall_runs.all()}
    report = ready.reports.get()
    client.post(reverse("builder:sign", args=[report.pk]), {**ticks, "signed_as": contact.name})
    assert ReadinessConfirmation.objects.get().proved_by == "passkey"


def test_a_passkey_does_not_vouch_at_a_builder(client_for, contact, ready):
    client = proved(client_for(contact), contact, "mfa", type="webauthn", reauthenticated=True)
    assert "Sign and confirm" not in confirm_page(client, ready)


def test_a_passkey_of_another_builders_person_opens_nothing_here(client_for, contact):
    stranger = make_contact()
    passkey_of(stranger)
    client = proved(client_for(stranger), stranger, "mfa", type="webauthn")
    site = make_site(contact.memberships.get().builder)
    assert client.get(reverse("builder:confirm", args=[site.pk])).status_code == 404
