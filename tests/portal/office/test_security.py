"""The security log on the owners' screen: who signed in as whom, by words and names."""

from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from portal.office.security import views
from readiness import clock, security
from readiness.actions.people import inviting, removing, rights
from readiness.models import SecurityEvent, SecurityKind
from tests.factories import make_applicator

pytestmark = pytest.mark.django_db

PAGE = reverse("office:security")


def shown(answer) -> str:
    """What a page says, without its tags."""
    assert answer.status_code == 200
    return " ".join(strip_tags(unescape(answer.content.decode())).split())


def test_an_owner_reads_who_signed_in_as_whom(client_for, applicator, contact, site):
    with security.asked_from("203.0.113.7", "Chrome on Android"):
        security.note(SecurityKind.SIGNED_IN, contact, methods=["code"])
        security.note(SecurityKind.SIGN_IN_FAILED, email="nobody@nowhere.example")
    security.note(SecurityKind.EXPORTED, site=str(site.pk))
    text = shown(client_for(applicator).get(PAGE))
    assert "Sam Supervisor (Wattle Homes)" in text
    assert "by e-mailed code, from 203.0.113.7, Chrome on Android" in text
    assert "nobody@nowhere.example" in text
    assert "Whoever runs the portal Exported a site" in text
    assert str(site) in text


def test_changes_name_both_people(client_for, applicator, contact):
    contact_row = contact.memberships.get()
    rights.switch_contact(applicator, contact_row, on=False)
    sent = inviting.invite_contact(applicator, contact_row.builder, "new@wattle.example")
    text = shown(client_for(applicator).get(PAGE + "?show=changes"))
    assert "Alex Applicator Switched off: Sam Supervisor (Wattle Homes)" in text
    assert "Sent an invitation" in text
    assert sent.email in text


def test_one_person_and_one_group_can_be_shown_alone(client_for, applicator, contact):
    colleague = make_applicator(name="Carla Colleague")
    security.note(SecurityKind.SIGNED_IN, colleague)
    security.note(SecurityKind.REFUSED, contact, path="/office/")
    client = client_for(applicator)
    alone = shown(client.get(f"{PAGE}?person={colleague.pk}"))
    assert "Carla Colleague Signed in" in alone
    assert "Was refused a page" not in alone
    refused = shown(client.get(f"{PAGE}?show=refused"))
    assert "Was refused a page" in refused
    assert "Carla Colleague" not in refused


def test_a_removed_person_is_named_no_more(client_for, applicator, contact):
    security.note(SecurityKind.SIGNED_IN, contact, methods=["code"])
    removing.remove_person(applicator, contact)
    text = shown(client_for(applicator).get(PAGE))
    assert "A person whose details were removed" in text
    assert "Sam Supervisor" not in text


def test_the_newest_stand_first_and_older_ones_on_the_next_page(
    client_for, applicator, contact, monkeypatch
):
    monkeypatch.setattr(views, "A_PAGE", 2)
    client = client_for(applicator)
    SecurityEvent.objects.all().delete()
    for hours, path in ((3, "/a/"), (1, "/c/"), (2, "/b/")):
        with clock.at(clock.now() - timedelta(hours=hours)):
            security.note(SecurityKind.REFUSED, contact, path=path)
    first, second = shown(client.get(PAGE)), shown(client.get(PAGE + "?page=2"))
    assert first.index("/c/") < first.index("/b/")
    assert "/a/" not in first
    assert "/a/" in second
    assert "show=refused&amp;page=2" in client.get(PAGE + "?show=refused").content.decode()


def test_what_a_later_version_noted_is_shown_too(client_for, applicator):
    SecurityEvent.objects.create(at=clock.now(), kind="opened_a_hatch", account=applicator.pk)
    assert "Opened a hatch" in shown(client_for(applicator).get(PAGE))


def test_only_owners_read_it(client_for, contact):
    assert client_for(make_applicator()).get(PAGE).status_code == 403
    assert client_for(contact).get(PAGE).status_code == 404


def test_a_page_asks_the_same_number_of_queries_for_many_events(
    client_for, applicator, contact, site, django_assert_max_num_queries
):
    client = client_for(applicator)
    client.get(PAGE)
    for _ in range(30):
        security.note(SecurityKind.SIGNED_IN, make_applicator())
        security.note(SecurityKind.EXPORTED, site=str(site.pk))
    with django_assert_max_num_queries(9):
        client.get(PAGE)


@pytest.mark.parametrize("query", ["?person=x", "?show=x", "?page=x", "?person=&show=&page=0"])
def test_a_query_that_no_link_has_shows_all(client_for, applicator, contact, query):
    security.note(SecurityKind.SIGNED_IN, contact)
    assert "Sam Supervisor" in shown(client_for(applicator).get(PAGE + query))
