"""A person's details can be removed on request; the Record still holds."""

import io

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.people import inviting, removing
from readiness.actions.people.removing import REMOVED_NAME, remove_person
from readiness.actions.photos.keeping import add_photo
from readiness.actions.sharing import share_trade_list
from readiness.models import Invitation, Message, RecordEntry
from tests.factories import make_applicator, make_site
from tests.photos.pictures import jpeg
from tests.recorded import broken

pytestmark = pytest.mark.django_db


def test_details_go_and_the_chain_holds(applicator, contact, builder, client_for):
    site = make_site(builder)
    photo = add_photo(contact, site, io.BytesIO(jpeg()))
    browser = client_for(contact)
    assert browser.get(reverse("photos:detail", args=[photo.pk])).status_code == 200
    name, email = contact.name, contact.email
    unsent = Message.objects.create(
        site=site,
        to=contact,
        kind="site_treated",
        about=site.pk,
        key="unsent",
        queued_at=clock.now(),
        state=Message.State.DROPPED,
        error=f"{name} does not see this site any more.",
    )
    remove_person(applicator, contact)
    contact.refresh_from_db()
    assert str(contact) == REMOVED_NAME
    assert email not in (contact.email, contact.phone, contact.name)
    assert not contact.is_active
    assert browser.get(reverse("photos:detail", args=[photo.pk])).status_code == 302
    assert broken(site) == ""
    entry = site.record.get(verb="person_removed")
    assert entry.data == {"person": str(contact.pk)}
    everything = "".join(one.canonical().decode() for one in RecordEntry.objects.all())
    assert name not in everything
    assert email not in everything
    unsent.refresh_from_db()
    assert name not in unsent.error
    photo.refresh_from_db()
    assert photo.uploaded_by_id == contact.pk


def test_every_way_to_sign_in_goes(applicator, contact):
    contact.set_password("three random words")
    contact.save()
    EmailAddress.objects.create(user=contact, email=contact.email, verified=True, primary=True)
    Authenticator.objects.create(user=contact, type=Authenticator.Type.TOTP, data={})
    inviting.invite_contact(applicator, contact.memberships.get().builder, "new@wattle.example")
    Invitation.objects.create(
        email=contact.email.upper(),
        builder=contact.memberships.get().builder,
        created_at=clock.now(),
        expires_at=clock.now(),
    )
    remove_person(applicator, contact)
    contact.refresh_from_db()
    assert not contact.has_usable_password()
    assert not EmailAddress.objects.filter(user=contact).exists()
    assert not Authenticator.objects.filter(user=contact).exists()
    assert [one.email for one in Invitation.objects.all()] == ["new@wattle.example"]
    assert not contact.memberships.get().is_active
    assert contact.memberships.get().position == ""


def test_a_link_that_they_shared_names_them_no_more(applicator, contact, builder):
    link = share_trade_list(contact, make_site(builder), "bricklayer")
    remove_person(applicator, contact)
    link.refresh_from_db()
    assert str(link.created_by) == REMOVED_NAME


def test_an_owner_who_is_removed_owns_nothing(applicator):
    colleague = make_applicator(is_owner=True)
    remove_person(applicator, colleague)
    colleague.refresh_from_db()
    assert not colleague.is_owner
    assert not colleague.is_active


def test_removing_twice_is_removing_once(applicator, contact, builder):
    share_trade_list(contact, make_site(builder), "bricklayer")
    remove_person(applicator, contact)
    remove_person(applicator, contact)
    assert RecordEntry.objects.filter(verb="person_removed").count() == 2  # site and business


def test_only_an_owner_removes_and_not_themselves(applicator, contact):
    with pytest.raises(PermissionDenied):
        remove_person(make_applicator(), contact)
    with pytest.raises(Refused, match="Ask another owner"):
        remove_person(applicator, applicator)


def test_the_owner_is_asked_first(applicator, contact, client_for):
    browser = client_for(applicator)
    address = reverse("office:remove_contact", args=[contact.memberships.get().pk])
    page = browser.get(address)
    assert "Remove this person" in page.content.decode()
    contact.refresh_from_db()
    assert contact.is_active
    assert browser.post(address).status_code == 302
    contact.refresh_from_db()
    assert str(contact) == REMOVED_NAME
    assert client_for(make_applicator()).get(address).status_code == 403


def test_a_removal_that_was_cut_off_has_the_person_off_and_is_gone_on_with(
    applicator, contact, builder, client_for, monkeypatch
):
    """Each site is a transaction of its own: the second one fails, as when the process ends."""
    sites = [make_site(builder) for _ in range(3)]
    for site in sites:
        add_photo(contact, site, io.BytesIO(jpeg()))
    browser = client_for(contact)
    monkeypatch.setattr(removing, "append", _failing_from_the_second(removing.append))
    with pytest.raises(RuntimeError, match="cut off"):
        remove_person(applicator, contact)
    contact.refresh_from_db()
    assert str(contact) == REMOVED_NAME
    assert browser.get(reverse("builder:home")).status_code == 302
    assert RecordEntry.objects.filter(verb="person_removed").exclude(site=None).count() == 1

    monkeypatch.undo()
    client_for(applicator).post(
        reverse("office:remove_contact", args=[contact.memberships.get().pk])
    )
    remove_person(applicator, contact)
    noted = RecordEntry.objects.filter(verb="person_removed", site__isnull=False)
    noted = noted.values_list("site", flat=True)
    assert sorted(noted) == sorted(site.pk for site in sites)
    assert all(broken(site) == "" for site in sites)


def _failing_from_the_second(append):
    calls = []

    def failing(*args, **more):
        calls.append(args)
        if len(calls) > 2:  # the first is of the business's own Record
            raise RuntimeError("cut off")
        return append(*args, **more)

    return failing
