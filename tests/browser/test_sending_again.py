"""Forms when reception fails or a person goes back: they can be sent again, and stay one thing."""

import re

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from readiness.models import DefectItem, Fix, Message, Site
from readiness.rules.defects.catalogue import KINDS
from tests.browser.conftest import lose_the_answer
from tests.factories import make_draft, make_issued, make_runs, make_site
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_form_that_never_arrived_can_be_sent_again(open_as, applicator, builder):
    page = open_as(applicator, reverse("office:invite", args=[builder.pk]))
    page.clock.install()
    page.get_by_label("E-mail").fill("new@wattle.example")
    address = page.url
    # An answer of no content leaves the page where it is, as a stopped or failed send does.
    page.route(address, lambda route: route.fulfill(status=204))
    invite = page.locator("main form [type=submit]")
    with page.expect_response(address):
        invite.click()
    expect(invite).to_have_attribute("aria-busy", "true")
    page.unroute(address)
    page.clock.run_for(11_000)
    expect(invite).not_to_have_attribute("aria-busy", "true")
    invite.click()
    expect(page.get_by_text("We will e-mail new@wattle.example a link")).to_be_visible()
    assert builder.invitations.count() == 1


def test_a_site_mended_after_the_back_button_is_still_one_site(open_as, applicator, builder):
    page = open_as(applicator, f"{reverse('office:site_new')}?builder={builder.pk}")
    street = page.get_by_label("Lot or number, and street")
    street.fill("4 Ironbrk Rise")
    page.get_by_label("Suburb").fill("Mirrin Vale")
    save = page.get_by_role("button", name="Save and enter the walls")
    save.click()
    expect(page.get_by_role("heading", name="Walls")).to_be_visible()
    page.go_back()
    expect(street).to_have_value("4 Ironbrk Rise")
    street.fill("4 Ironbark Rise")
    save.click()
    expect(page.get_by_text("4 Ironbark Rise, Mirrin Vale is added")).to_be_visible()
    assert Site.objects.get(builder=builder).street == "4 Ironbark Rise"


@pytest.mark.long
def test_an_item_mended_after_the_back_button_is_still_one_item(open_as, applicator, builder):
    site = make_site(builder)
    wall = make_runs(site)[0]
    draft = make_draft(applicator, site)
    new = reverse("office:item_new", args=[draft.pk])
    page = open_as(applicator, f"{new}?wall={wall.pk}&kind=soil_against_brick")
    page.get_by_label("Note").fill("By the tap")
    save = page.get_by_role("button", name="Save", exact=True)
    save.click()
    expect(page.get_by_text("Item 1 is saved")).to_be_visible()
    page.go_back()
    page.get_by_label("Note").fill("By the meter box")
    save.click()
    expect(page.get_by_text("Item 1 is saved")).to_be_visible()
    assert DefectItem.objects.get(report=draft).note == "By the meter box"


@pytest.fixture
def fix_page(open_as, applicator, contact, site, tmp_path):
    """The page that says an item fixed, with a photo that was sent and a note."""
    item = make_issued(applicator, site).items.get()
    page = open_as(contact, reverse("builder:report_fixed", args=[item.pk]))
    picture = tmp_path / "fixed.jpg"
    picture.write_bytes(jpeg())
    page.set_input_files("input[type=file]", picture)
    page.get_by_label("Note").fill("Brushed off")
    expect(page.locator(".upload-row.is-sent")).to_have_count(1)
    return page


def test_a_fix_whose_answer_was_lost_is_sent_again_from_the_same_page(fix_page):
    page = fix_page
    say = page.get_by_role("button", name="Send as fixed")
    lose_the_answer(page, page.url)
    say.click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing on this page is lost")
    assert Fix.objects.count() == 1
    expect(say).not_to_have_attribute("aria-busy", "true")
    expect(page.get_by_label("Note")).to_have_value("Brushed off")
    expect(page.locator(".upload-row.is-sent")).to_have_count(1)
    page.get_by_role("button", name="Send again").click()
    expect(page.get_by_text("Sent. We will check item 1.")).to_have_count(1)
    fix = Fix.objects.get()
    assert (fix.note, fix.photos.count()) == ("Brushed off", 1)
    assert Message.objects.count() == 1


def test_a_gateway_that_fails_is_said_in_words_and_the_page_stays(fix_page):
    page = fix_page
    bad = "<h1>502 Bad Gateway</h1>"
    page.route(page.url, lambda route: route.fulfill(status=502, body=bad), times=1)
    page.get_by_role("button", name="Send as fixed").click()
    expect(page.get_by_role("alert")).to_contain_text("can't accept this just now")
    page.get_by_role("button", name="Send as fixed").click()
    expect(page.get_by_text("Sent. We will check item 1.")).to_be_visible()
    assert Fix.objects.get().photos.count() == 1


def test_who_was_signed_out_meanwhile_signs_in_elsewhere_and_sends_again(fix_page, contact):
    page = fix_page
    Session.objects.all().delete()
    page.get_by_role("button", name="Send as fixed").click()
    expect(page.get_by_role("alert")).to_contain_text("you were signed out")
    link = page.get_by_role("link", name=re.compile("Sign in in another tab"))
    expect(link).to_have_attribute("href", reverse("account_login"))
    client = Client()
    client.force_login(contact)
    name, cookie = "sessionid", client.cookies["sessionid"].value
    page.context.add_cookies([{"name": name, "value": cookie, "url": page.url}])
    page.get_by_role("button", name="Send again").click()
    expect(page.get_by_text("Sent. We will check item 1.")).to_be_visible()
    assert Fix.objects.get().note == "Brushed off"


def test_what_has_to_be_put_right_is_shown_as_the_browser_shows_it(open_as, applicator):
    page = open_as(applicator, reverse("office:builder_new"))
    page.get_by_label("Phone").fill("02 5550 0100")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("This field is required").first).to_be_visible()
    expect(page.get_by_label("Phone")).to_have_value("02 5550 0100")


@pytest.mark.long
def test_a_wall_that_could_not_be_ticked_says_so(open_as, applicator, site):
    draft = make_draft(applicator, site)
    page = open_as(applicator, reverse("office:report", args=[draft.pk]))
    tick = page.get_by_role("button", name=re.compile("^Checked North wall"))
    page.route("**/runs/**", lambda route: route.abort("connectionreset"), times=1)
    tick.click()
    expect(page.get_by_role("alert")).to_contain_text("No answer")
    tick.click()
    expect(page.get_by_text("1 of 4 walls checked")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    assert draft.checks.count() == 1


@pytest.mark.long
def test_an_invitation_goes_out_once(open_as, applicator, builder, mailoutbox):
    page = open_as(applicator, reverse("office:invite", args=[builder.pk]))
    page.get_by_label("E-mail").fill("new@wattle.example")
    page.locator("main form [type=submit]").click()
    invited = page.get_by_text("We will e-mail new@wattle.example a link")
    expect(invited).to_be_visible()
    assert len(mailoutbox) == 1
    page.goto(reverse("office:builder", args=[builder.pk]))
    page.get_by_role("button", name="Send again").click()
    expect(invited).to_be_visible()
    assert len(mailoutbox) == 2


@pytest.mark.parametrize("lost", ["the answer", "the next page"])
@pytest.mark.long
def test_an_item_that_got_through_unseen_does_not_swallow_the_next(open_as, applicator, site, lost):
    draft = make_draft(applicator, site)
    report = reverse("office:report", args=[draft.pk])
    new = reverse("office:item_new", args=[draft.pk])
    new = f"{new}?wall={site.wall_runs.first().pk}&kind=soil_against_brick"
    page = open_as(applicator, new)
    page.get_by_label("Note").fill("By the tap")
    save = page.get_by_role("button", name="Save", exact=True)
    if lost == "the answer":
        lose_the_answer(page, page.url)
        save.click()
        expect(page.get_by_text("No reception")).to_be_visible()
        page.goto(report)
        expect(page.get_by_text(KINDS["soil_against_brick"].name).first).to_be_visible()
        expect(page.locator("[data-kept-drafts]")).to_be_hidden()
    else:
        cut = {"body": "<p>Cut off", "content_type": "text/html"}
        page.route("**/?saved=*", lambda route: route.fulfill(**cut), times=1)
        save.click()
        expect(page.get_by_text("Cut off")).to_be_visible()
    page.goto(new)
    note = page.get_by_label("Note")
    expect(note).to_have_value("")
    note.fill("By the meter box")
    save.click()
    expect(page.get_by_text("Item 2 is saved")).to_be_visible()
    notes = DefectItem.objects.filter(report=draft).values_list("note", flat=True)
    assert sorted(notes) == ["By the meter box", "By the tap"]


def not_now(page, address, status=503, after="2", times=1):
    """What is posted to the address is answered as by a portal that can't take it just now."""

    def turn_away(route):
        if route.request.method == "POST":
            headers = {"Retry-After": after} if after else {}
            route.fulfill(status=status, headers=headers, body="<h1>Not available just now</h1>")
        else:
            route.continue_()

    page.route(address, turn_away, times=times)


@pytest.mark.long
def test_a_form_that_could_not_be_taken_goes_again_by_itself(fix_page):
    page = fix_page
    not_now(page, page.url)
    page.get_by_role("button", name="Send as fixed").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("The portal can't accept this just now.")
    expect(alert).to_contain_text("It will be sent again in")
    expect(page.get_by_text("Sent. We will check item 1.")).to_be_visible()
    assert Fix.objects.get().photos.count() == 1


@pytest.mark.long
def test_who_goes_on_writing_sends_it_when_ready(fix_page):
    page = fix_page
    page.clock.install()
    not_now(page, page.url)
    say = page.get_by_role("button", name="Send as fixed")
    say.click()
    expect(page.get_by_role("alert")).to_contain_text("It will be sent again in")
    page.get_by_label("Note").fill("Brushed off and washed")
    expect(page.get_by_role("alert")).to_contain_text("send it when you are ready")
    page.clock.run_for(60_000)
    assert not Fix.objects.exists()
    say.click()
    expect(page.get_by_text("Sent. We will check item 1.")).to_be_visible()
    assert Fix.objects.get().note == "Brushed off and washed"


@pytest.mark.long
def test_a_full_disk_is_said_as_one(fix_page):
    page = fix_page
    not_now(page, page.url, status=507, after="300")
    page.get_by_role("button", name="Send as fixed").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("The portal's disk is full. Tell the office")
    expect(alert).to_contain_text("It will be sent again in")
    alert.get_by_role("button", name="Send again").click()
    expect(page.get_by_text("Sent. We will check item 1.")).to_be_visible()


@pytest.mark.long
def test_a_photo_that_could_not_be_taken_goes_again_by_itself(
    open_as, applicator, contact, site, tmp_path
):
    item = make_issued(applicator, site).items.get()
    page = open_as(contact, reverse("builder:report_fixed", args=[item.pk]))
    not_now(page, re.compile("/photos/upload/"), after="1", times=2)
    picture = tmp_path / "fixed.jpg"
    picture.write_bytes(jpeg())
    page.set_input_files("input[type=file]", picture)
    expect(page.locator(".upload-row.is-waiting")).to_contain_text(
        "Kept on this page; it will be sent again"
    )
    expect(page.locator(".upload-row.is-sent")).to_have_count(1)
    assert site.photos.filter(uploaded_by=contact).count() == 1


@pytest.mark.long
def test_an_item_that_could_not_be_taken_goes_again_by_itself(open_as, applicator, builder):
    site = make_site(builder)
    wall = make_runs(site)[0]
    draft = make_draft(applicator, site)
    new = reverse("office:item_new", args=[draft.pk])
    page = open_as(applicator, f"{new}?wall={wall.pk}&kind=soil_against_brick")
    page.get_by_label("Note").fill("By the tap")
    not_now(page, page.url)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("[data-kept-note]")).to_contain_text("It will be sent again in")
    expect(page.get_by_text("Item 1 is saved")).to_be_visible()
    assert DefectItem.objects.get(report=draft).note == "By the tap"


FULL_STORE = """Storage.prototype.setItem = () => {
    throw new DOMException("full", "QuotaExceededError");
};"""


@pytest.mark.long
def test_a_phone_that_keeps_nothing_is_not_said_to_keep_it(open_as, applicator, site):
    draft = make_draft(applicator, site)
    new = reverse("office:item_new", args=[draft.pk])
    page = open_as(applicator)
    page.add_init_script(FULL_STORE)
    page.goto(f"{new}?wall={site.wall_runs.first().pk}&kind=soil_against_brick")
    page.get_by_label("Note").fill("By the tap")
    page.context.set_offline(True)
    page.get_by_role("button", name="Save", exact=True).click()
    note = page.locator("[data-kept-note]")
    expect(note).to_contain_text("No reception. Nothing is lost while this page stays open")
    expect(note).to_contain_text("but it is not kept on this phone")
    page.context.set_offline(False)
    expect(page.get_by_text("Item 1 is saved")).to_be_visible()
    assert DefectItem.objects.get(report=draft).note == "By the tap"


@pytest.mark.long
def test_who_was_signed_out_stays_on_a_page_that_the_phone_could_not_keep(
    open_as, applicator, site
):
    draft = make_draft(applicator, site)
    new = reverse("office:item_new", args=[draft.pk])
    page = open_as(applicator)
    page.add_init_script(FULL_STORE)
    page.goto(f"{new}?wall={site.wall_runs.first().pk}&kind=soil_against_brick")
    page.get_by_label("Note").fill("By the tap")
    Session.objects.all().delete()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("you were signed out")
    expect(page.get_by_label("Note")).to_have_value("By the tap")


@pytest.mark.long
def test_who_was_signed_out_finds_what_was_kept_after_signing_in(open_as, applicator, site):
    draft = make_draft(applicator, site)
    new = reverse("office:item_new", args=[draft.pk])
    address = f"{new}?wall={site.wall_runs.first().pk}&kind=soil_against_brick"
    page = open_as(applicator, address)
    page.get_by_label("Note").fill("By the tap")
    Session.objects.all().delete()
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url(re.compile(re.escape(reverse("account_login"))))
    client = Client()
    client.force_login(applicator)
    cookie = client.cookies["sessionid"].value
    home = page.evaluate("location.origin")
    page.context.add_cookies([{"name": "sessionid", "value": cookie, "url": home}])
    page.goto(address)
    expect(page.locator("[data-kept-note]")).to_contain_text("Here is what you typed")
    expect(page.get_by_label("Note")).to_have_value("By the tap")


@pytest.mark.long
def test_photos_chosen_after_a_failure_go_with_what_is_sent_again(fix_page, tmp_path):
    page = fix_page
    page.route(page.url, lambda route: route.abort("connectionreset"), times=1)
    say = page.get_by_role("button", name="Send as fixed")
    say.click()
    again = page.get_by_role("button", name="Send again")
    expect(again).to_be_visible()
    held = []
    page.route("**/photos/upload/**", lambda route: held.append(route))
    second = tmp_path / "second.jpg"
    second.write_bytes(jpeg(quality=70))
    page.set_input_files("input[type=file]", second)
    expect(page.locator(".upload-row.is-sending")).to_have_count(1)
    again.click()
    expect(say).to_have_attribute("aria-busy", "true")
    assert not Fix.objects.exists()
    held[0].continue_()
    expect(page.get_by_text("Sent. We will check item 1.")).to_be_visible()
    assert Fix.objects.get().photos.count() == 2
