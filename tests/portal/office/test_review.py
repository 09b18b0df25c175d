"""Reviewing fixes, deciding disagreements, accepting what was seen on site."""

import pytest
from django.urls import reverse

from readiness.actions.fixing import fixes
from readiness.models import PhotoFlag
from tests.factories import confirm, make_issued, make_photo, make_site

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"office:{name}", args=args)


@pytest.fixture
def site(builder):
    return make_site(builder)


@pytest.fixture
def report(applicator, site):
    return make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick", "wet_brick"))


def report_fixed(contact, item, **fields):
    photo = make_photo(item.report.site, contact)
    fixes.report_fixed(contact, item, photos=[photo], **fields)
    return photo


def state(item):
    item.refresh_from_db()
    return item.state


def test_a_review_shows_both_photos_the_note_and_the_flags(
    client_for, applicator, contact, site, report
):
    item = report.items.first()
    photo = report_fixed(contact, item, note="Chipped off.")
    PhotoFlag.objects.create(
        photo=photo, code="screenshot", sentence="The camera did not say when it was taken."
    )
    text = client_for(applicator).get(url("review", site.pk)).content.decode()
    assert text.count("<strong>Before</strong>") == 1
    assert text.count("<strong>After</strong>") == 1
    assert "The camera did not say when it was taken." in text
    assert "Chipped off." in text


def test_accepting_goes_on_to_the_next_fix_and_then_to_the_site(
    client_for, applicator, contact, site, report
):
    first, second, _ = report.items.all()
    for item in (first, second):
        report_fixed(contact, item)
    client = client_for(applicator)
    assert client.post(url("accept", first.pk)).url == url("review", site.pk)
    assert client.post(url("accept", second.pk)).url == url("site", site.pk)
    assert state(first) == state(second) == "accepted"


def test_several_are_accepted_at_once(client_for, applicator, contact, site, report):
    first, second, third = report.items.all()
    for item in (first, second):
        report_fixed(contact, item)
    data = {"items": [first.pk, second.pk]}
    answer = client_for(applicator).post(url("accept_several", site.pk), data, follow=True)
    assert "2 items accepted" in answer.content.decode()
    assert [state(item) for item in (first, second, third)] == ["accepted", "accepted", "to_fix"]


def test_nothing_ticked_is_said(client_for, applicator, site, report):
    answer = client_for(applicator).post(
        url("accept_several", site.pk), {"items": ["nonsense"]}, follow=True
    )
    assert "Tick the items" in answer.content.decode()


def test_sending_back_needs_a_reason(client_for, applicator, contact, site, report):
    item = report.items.first()
    report_fixed(contact, item)
    client = client_for(applicator)
    answer = client.post(url("send_back", item.pk), {"reason": " "}, follow=True)
    assert "Say what is still wrong" in answer.content.decode()
    client.post(url("send_back", item.pk), {"reason": "Two drops are left."})
    assert state(item) == "sent_back"
    assert item.fixes.get().reason == "Two drops are left."


def test_a_reason_that_is_refused_is_not_lost(client_for, applicator, contact, site, report):
    first, second, _ = report.items.all()
    report_fixed(contact, first)
    report_fixed(contact, second)
    client = client_for(applicator)
    fixes.take_back_fix(contact, first.fixes.get())  # meanwhile
    answer = client.post(url("send_back", first.pk), {"reason": "Two drops are left."}, follow=True)
    assert "is to fix" in answer.content.decode()
    assert answer.context["kept"] == {str(first.pk): "Two drops are left."}


def test_a_disagreement_is_decided_either_way(client_for, applicator, contact, site, report):
    first, second, _ = report.items.all()
    for item in (first, second):
        fixes.disagree(contact, item, reason="Not ours.")
    client = client_for(applicator)
    assert "Not ours." in client.get(url("review", site.pk)).content.decode()
    answer = client.post(url("decide", first.pk), {"decision": "stands"}, follow=True)
    assert "Say why the item stands" in answer.content.decode()
    client.post(url("decide", first.pk), {"decision": "stands", "reason": "It is in the band."})
    client.post(url("decide", second.pk), {"decision": "let_go"})
    assert (state(first), first.decision) == ("to_fix", "stands")
    assert (state(second), second.decision) == ("accepted", "let_go")


def test_what_is_seen_fixed_on_site_is_accepted_without_a_photo(
    client_for, applicator, site, report
):
    item = report.items.first()
    client = client_for(applicator)
    assert "Seen fixed" in client.get(url("review", site.pk)).content.decode()
    client.post(url("accept_on_site", item.pk), {"reason": "Seen on site"})
    assert state(item) == "accepted"
    assert site.record.filter(verb="fix_accepted").get().told["note"] == "Seen on site"


def test_reviewing_the_same_item_twice_says_that_it_was_done(
    client_for, applicator, contact, site, report
):
    item = report.items.first()
    report_fixed(contact, item)
    client = client_for(applicator)
    client.post(url("accept", item.pk))
    answer = client.post(url("accept", item.pk), follow=True)
    assert "Item 1 was accepted at" in answer.content.decode()


def test_a_confirmation_that_does_not_hold_is_withdrawn_with_a_reason(
    client_for, applicator, contact, site
):
    report = make_issued(applicator, site, kinds=())
    confirm(contact, report)
    client = client_for(applicator)
    answer = client.post(url("withdraw_confirmation", site.pk), {"reason": ""}, follow=True)
    assert "Say why" in answer.content.decode()
    client.post(url("withdraw_confirmation", site.pk), {"reason": "Soil is back at the wall."})
    assert report.confirmations.get().withdrawn_reason == "Soil is back at the wall."


def test_an_item_of_a_replaced_report_says_so_and_leads_to_the_later_one(
    client_for, applicator, site
):
    first = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    kept, left = first.items.all()
    second = make_issued(applicator, site, kinds=(), carry_over=[kept])
    browser = client_for(applicator)
    page = browser.get(reverse("office:item", args=[kept.pk])).content.decode()
    assert "Report 1 was replaced by a later report" in page
    assert "This is now item 1 of report 2." in page
    assert reverse("office:item", args=[second.items.get().pk]) in page
    assert "Must be fixed before we can book" not in page
    page = browser.get(reverse("office:item", args=[left.pk])).content.decode()
    assert "This item was not carried over." in page
    page = browser.get(reverse("office:item", args=[second.items.get().pk])).content.decode()
    assert "A later report" not in page
    assert "Must be fixed before we can book" in page
