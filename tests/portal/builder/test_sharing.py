"""A trade's list behind a link: what it shows, what it keeps to itself, and when it stops."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from readiness import clock
from readiness.actions import sharing
from readiness.actions.fixing import fixes
from readiness.actions.photos import keeping
from readiness.actions.reporting import drafts, issuing
from readiness.models import Markup, Photo, TradeLink
from readiness.models.freeze import without_triggers
from tests.factories import make_draft, make_issued, make_item, make_runs, make_site
from tests.photos.pictures import jpeg, landmark

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def browser(client_for, contact):
    return client_for(contact)


@pytest.fixture
def report(applicator, builder):
    """Two items for the bricklayer and one for the cleaner, each with a real photo."""
    site = make_site(builder, job_number="KH-1187", access_notes="Gate code 4711")
    run = make_runs(site, "North wall")[0]
    draft = make_draft(applicator, site)
    drafts.check_run(applicator, draft, run)
    for number, kind in enumerate(("mortar_drop", "weep_hole_blocked", "dirty_brick")):
        item = make_item(applicator, draft, kind=kind, photo=False, from_mm=1000 * number)
        file = SimpleUploadedFile("wall.jpg", jpeg(landmark(320 + number, 200)), "image/jpeg")
        photo = keeping.add_photo(applicator, site, file)
        drafts.attach_photos(applicator, item, [photo])
    return issuing.issue_report(applicator, draft)


@pytest.fixture
def link(report, contact):
    return sharing.share_trade_list(contact, report.site, "bricklayer")


def share_url(report, trade="bricklayer"):
    return reverse("builder:share", args=[report.site_id, trade])


def public(client_for, link):
    return client_for().get(reverse("trade:trade_list", args=[link.token]))


def shared_photo(link, photo, size="large"):
    return reverse("trade:photo", args=[link.token, photo.pk, size])


def photo_of(report, kind):
    return Photo.objects.get(item__report=report, item__kind=kind)


def test_a_link_is_made_shown_as_a_code_and_can_be_stopped(browser, report, client_for):
    with without_triggers():
        TradeLink.objects.all().delete()
    page = browser.post(share_url(report), follow=True).content.decode()
    link = TradeLink.objects.get(trade="bricklayer")
    assert link.url in page
    assert "<svg" in page
    assert 'class="qr"' in page
    assert "works until Monday 14 December" in page
    assert public(client_for, link).status_code == 200
    browser.post(reverse("builder:revoke", args=[link.pk]))
    assert public(client_for, link).status_code == 404
    assert link.url not in browser.get(share_url(report)).content.decode()


def test_the_shared_page_shows_one_trades_list_without_an_account(client_for, link, report):
    page = public(client_for, link).content.decode()
    assert "2 things to fix." in page
    assert "Mortar drop" in page
    assert "Weep hole blocked" in page
    assert "Dirty brick" not in page
    assert report.site.address in page
    assert "KH-1187" in page


def test_the_shared_page_keeps_to_itself_what_a_trade_need_not_know(client_for, link, contact):
    response = public(client_for, link)
    page = response.content.decode()
    assert "Gate code" not in page
    assert contact.email not in page
    assert "/builder/" not in page
    assert "/office/" not in page
    assert "noindex" in page
    assert "noindex" in response["X-Robots-Tag"]
    assert response["Referrer-Policy"] == "no-referrer"


def test_what_is_accepted_leaves_the_list(client_for, link, report, applicator):
    for item in report.items.filter(trade="bricklayer"):
        fixes.accept_on_site(applicator, item)
    page = public(client_for, link).content.decode()
    assert "Nothing left to fix here." in page
    assert "Mortar drop" not in page


def test_the_list_follows_the_current_report(client_for, link, report, applicator):
    with clock.at(NOW + timedelta(hours=1)):
        make_issued(applicator, report.site, kinds=("unfilled_joint",))
        page = public(client_for, link).content.decode()
    assert "Unfilled mortar joint" in page
    assert "Mortar drop" not in page


def test_a_link_runs_out(client_for, link):
    with clock.at(NOW + timedelta(days=21, minutes=1)):
        response = public(client_for, link)
    assert response.status_code == 404
    assert "This link no longer works" in response.content.decode()


@pytest.mark.parametrize("tamper", [lambda t: t[:-1], lambda t: f"0{t[1:]}x", lambda t: "nonsense"])
def test_a_token_that_is_not_whole_opens_nothing(client_for, link, tamper):
    address = reverse("trade:trade_list", args=[tamper(link.token)])
    assert client_for().get(address).status_code == 404


def test_photos_of_its_own_items_are_served_and_no_others(client_for, link, report):
    anyone = client_for()
    mine = photo_of(report, "mortar_drop")
    response = anyone.get(shared_photo(link, mine))
    assert response.status_code == 200
    assert response["Content-Type"] == "image/jpeg"
    assert b"".join(response.streaming_content)[:2] == b"\xff\xd8"
    assert anyone.get(shared_photo(link, photo_of(report, "dirty_brick"))).status_code == 404
    assert anyone.get(shared_photo(link, mine, "original")).status_code == 404
    assert anyone.get(reverse("photos:size", args=[mine.pk, "large"])).status_code == 302


def test_photos_stop_with_the_link(client_for, link, report, contact):
    mine = photo_of(report, "mortar_drop")
    sharing.revoke_trade_link(contact, link)
    assert client_for().get(shared_photo(link, mine)).status_code == 404


def test_what_was_blurred_is_blurred_behind_the_link_too(client_for, link, report):
    mine = photo_of(report, "mortar_drop")
    plain = b"".join(client_for().get(shared_photo(link, mine)).streaming_content)
    shapes = [{"kind": "blur", "box": [0.0, 0.0, 0.5, 0.5]}]
    Markup.objects.create(photo=mine, shapes=shapes)
    blurred = b"".join(client_for().get(shared_photo(link, mine)).streaming_content)
    assert blurred != plain


def test_positions_of_photos_are_not_shown(client_for, link, report):
    with without_triggers():
        Photo.objects.filter(item__report=report).update(
            latitude=Decimal("-33.123456"), longitude=Decimal("151.654321")
        )
    page = public(client_for, link).content.decode()
    assert "33.123" not in page
    assert "151.654" not in page


def test_only_reading_is_possible_behind_a_link(client_for, link):
    address = reverse("trade:trade_list", args=[link.token])
    assert client_for().post(address).status_code == 405


def test_an_outsider_can_neither_share_nor_stop(client_for, other_contact, report, link):
    outsider = client_for(other_contact)
    assert outsider.get(share_url(report)).status_code == 404
    assert outsider.post(share_url(report)).status_code == 404
    assert outsider.post(reverse("builder:revoke", args=[link.pk])).status_code == 404
    link.refresh_from_db()
    assert link.revoked_at is None


def test_a_trade_that_does_not_exist_has_no_list(browser, report):
    assert browser.get(share_url(report, "wizard")).status_code == 404


def test_who_has_to_do_it_again_reads_why(client_for, link, report, contact, applicator):
    item = report.items.get(kind="mortar_drop")
    photo = keeping.add_photo(
        contact,
        report.site,
        SimpleUploadedFile("wall.jpg", jpeg(landmark(340, 200)), "image/jpeg"),
    )
    fixes.report_fixed(contact, item, photos=[photo])
    fixes.send_back(applicator, item, reason="The left half is still there.")
    page = public(client_for, link).content.decode()
    assert "The left half is still there." in page
    assert contact.name not in page
    assert applicator.name not in page


def test_what_is_disagreed_with_is_not_called_said_fixed(client_for, link, report, contact):
    for item in report.items.filter(trade="bricklayer"):
        fixes.disagree(contact, item, reason="It is paint.")
    page = public(client_for, link).content.decode()
    assert "Nothing left to fix for now. The applicator still has to check these." in page
    assert "All said fixed" not in page
