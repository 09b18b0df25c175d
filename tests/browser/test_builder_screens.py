"""The builder's screens in Chromium: readable by all, by keyboard alone, and without JavaScript."""

import re
from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from playwright.sync_api import expect

from readiness import clock
from readiness.actions import sharing
from readiness.actions.fixing import fixes
from readiness.actions.photos import keeping
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import booking as acts
from readiness.models import Booking, DefectItem, Fix, ReadinessConfirmation
from readiness.rules.calendar import calendar_of
from tests.browser.conftest import DESK, PHONE, SIZES, tick_all
from tests.factories import confirm, make_draft, make_runs, make_site
from tests.photos.pictures import jpeg, landmark


@pytest.fixture
def today(builder):
    return clock.now().astimezone(make_site(builder).zone).date()


@pytest.fixture
def next_day(today):
    """The next working day in New South Wales."""
    return calendar_of("NSW").add_working_days(today, 1)


def picture(site, user, width=640):
    file = SimpleUploadedFile(f"wall-{width}.jpg", jpeg(landmark(width, 480)), "image/jpeg")
    return keeping.add_photo(user, site, file)


def issue(applicator, builder, street, today, kinds=(), **fields):
    site = make_site(builder, street=street)
    run = make_runs(site, "North wall", "East wall", "South wall", "West wall")[0]
    fields.setdefault("treatment_wanted_on", today + timedelta(days=20))
    report = make_draft(applicator, site, visited_on=today, **fields)
    for wall in site.wall_runs.all():
        drafts.check_run(applicator, report, wall)
    for number, (kind, more) in enumerate(kinds):
        more = {"from_mm": 1000, "photos": [picture(site, applicator, 600 + number)], **more}
        drafts.add_item(applicator, report, kind=kind, wall_run=run, **more)
    return issuing.issue_report(applicator, report)


@pytest.fixture
def to_fix(applicator, builder, contact, today):
    """A site with things to fix in every state that they can be in."""
    before = today - timedelta(days=4)
    with clock.at(clock.now() - timedelta(days=4)):
        report = issue(
            applicator,
            builder,
            "1 Fixing Street",
            before,
            [
                ("mortar_drop", {"from_mm": 2400, "to_mm": 5100}),
                ("weep_hole_blocked", {"due_on": today - timedelta(days=2)}),
                ("dirty_brick", {}),
                ("unfilled_joint", {"measured_value": 35}),
                ("tight_crack", {"effect": "record"}),
                ("tap_splashes", {"effect": "applicator"}),
                ("timber_against_wall", {}),
            ],
        )
    items = {item.kind: item for item in report.items.all()}
    fixes.report_fixed(contact, items["dirty_brick"], photos=[picture(report.site, contact, 650)])
    fixes.report_fixed(contact, items["mortar_drop"], photos=[picture(report.site, contact, 651)])
    fixes.send_back(applicator, items["mortar_drop"], reason="The left half is still there.")
    fixes.disagree(contact, items["timber_against_wall"], reason="It is a survey peg.")
    fixes.accept_on_site(applicator, items["unfilled_joint"])
    return report


@pytest.fixture
def clean(applicator, builder, today):
    return issue(applicator, builder, "2 Clean Street", today)


@pytest.fixture
def offered(applicator, builder, contact, today, next_day):
    report = issue(applicator, builder, "3 Offered Street", today)
    confirm(contact, report)
    return acts.offer_date(applicator, report.site, day=next_day, half="morning", note="From 7.")


@pytest.fixture
def booked(applicator, builder, contact, today, next_day):
    report = issue(applicator, builder, "4 Booked Street", today)
    confirm(contact, report)
    booking = acts.offer_date(applicator, report.site, day=next_day, half="afternoon")
    return acts.accept_offer(contact, booking)


@pytest.fixture
def asked(applicator, builder, contact, today, next_day):
    report = issue(applicator, builder, "5 Asking Street", today)
    return acts.ask_for_booking(contact, report.site, preferences=[(next_day, "morning")])


@pytest.fixture
def sites(to_fix, clean, offered, booked, asked):
    return SimpleNamespace(to_fix=to_fix, clean=clean, offered=offered, booked=booked, asked=asked)


def screens(sites):
    """Every screen of the builder, each in the states that look different."""
    item = sites.to_fix.items.get(kind="mortar_drop")

    def page(name, thing, *more):
        return reverse(f"builder:{name}", args=[thing.site_id, *more])

    return [
        reverse("builder:home"),
        reverse("builder:sites") + "?q=nothing+like+it",
        page("site", sites.to_fix),
        page("site", sites.to_fix) + "?by=wall",
        page("history", sites.to_fix),
        page("share", sites.to_fix, "bricklayer"),
        page("report_fixed_many", sites.to_fix),
        reverse("builder:report", args=[sites.to_fix.pk]),
        reverse("builder:report_fixed", args=[item.pk]),
        reverse(
            "builder:report_fixed", args=[sites.to_fix.items.get(kind="timber_against_wall").pk]
        ),
        reverse("builder:disagree", args=[item.pk]),
        page("confirm", sites.to_fix),
        page("confirm", sites.clean),
        page("confirm", sites.booked),
        page("book", sites.to_fix),
        page("book", sites.asked),
        page("book", sites.offered),
        page("book", sites.booked),
    ]


@SIZES
def test_every_screen_is_accessible_and_fits(open_as, axe, contact, sites, size):
    page = open_as(contact, "/builder/", size)
    for path in screens(sites):
        assert page.goto(path).status == 200, path
        page.evaluate("for (const part of document.querySelectorAll('details')) part.open = true")
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path


@SIZES
def test_a_shared_list_is_accessible_and_fits(open_as, axe, contact, to_fix, size):
    link = sharing.share_trade_list(contact, to_fix.site, "bricklayer")
    for path in (reverse("trade:trade_list", args=[link.token]), "/trade/none/"):
        page = open_as(None, path, size)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


@pytest.mark.long
def test_a_shared_list_shows_its_photos_and_prints_without_the_frame(open_as, contact, to_fix):
    link = sharing.share_trade_list(contact, to_fix.site, "bricklayer")
    page = open_as(None, reverse("trade:trade_list", args=[link.token]), PHONE)
    photo = page.locator(".item-photo img").first
    photo.scroll_into_view_if_needed()
    expect(photo).to_have_js_property("naturalWidth", 600)
    page.emulate_media(media="print")
    expect(page.locator(".site-header")).to_be_hidden()
    expect(page.get_by_role("heading", name="Mortar drop")).to_be_visible()


@pytest.mark.long
def test_photos_go_up_with_a_bar_each_and_the_item_is_said_fixed(
    open_as, contact, to_fix, tmp_path
):
    item = to_fix.items.get(kind="mortar_drop")
    page = open_as(contact, reverse("builder:site", args=[to_fix.site_id]), PHONE)
    page.get_by_role("link", name=re.compile(rf"Mark as fixed ?: item {item.number}$")).click()
    page.get_by_label("Photos of the fix").set_input_files(camera_files(tmp_path, 2))
    expect(page.locator(".upload-row.is-sent")).to_have_count(2)
    page.get_by_label("Note").fill("Chipped off.")
    page.get_by_role("button", name="Send as fixed").click()
    page.get_by_text(f"Sent. We will check item {item.number}.").wait_for()
    fix = Fix.objects.get(item=item, note="Chipped off.")
    assert fix.photos.count() == 2
    page.get_by_role("button", name=f"Undo item {item.number}").click()
    page.get_by_text(f"Item {item.number} is to fix again.").wait_for()


def camera_files(folder, count):
    """Photo files on disk, each with bytes of its own."""
    paths = []
    for number in range(count):
        path = folder / f"photo-{number}.jpg"
        path.write_bytes(jpeg(landmark(700 + number, 500)))
        paths.append(path)
    return paths


@pytest.mark.long
def test_several_items_are_shown_fixed_from_photos_of_one_walk(open_as, contact, to_fix, tmp_path):
    page = open_as(contact, reverse("builder:report_fixed_many", args=[to_fix.site_id]), PHONE)
    page.get_by_text("Photos of several items? Send them together").click()
    page.get_by_label("Photos of several items").set_input_files(camera_files(tmp_path, 2))
    expect(page.locator(".upload-row.is-sent")).to_have_count(2)
    page.get_by_role("button", name="Match photos to items").click()
    for name, kind in (("photo-0.jpg", "mortar_drop"), ("photo-1.jpg", "weep_hole_blocked")):
        item = to_fix.items.get(kind=kind)
        page.get_by_label(f"{name} shows").select_option(str(item.pk))
    page.get_by_role("button", name="Send as fixed").click()
    page.get_by_text("Sent. We will check items").wait_for()
    left = DefectItem.objects.filter(report=to_fix).awaiting_builder()
    assert left.count() == 0


def test_readiness_is_signed_by_keyboard_alone(open_as, contact, clean):
    page = open_as(contact, reverse("builder:confirm", args=[clean.site_id]), DESK)
    tick_all = page.get_by_role("button", name=re.compile("Tick all of this wall"))
    expect(tick_all).to_have_count(4)
    walls = list(clean.site.wall_runs.order_by("position"))
    for wall in walls[:3]:
        page.get_by_role("button", name=f"Tick all of this wall {wall.label}").focus()
        page.keyboard.press("Enter")
    page.get_by_role("group", name=walls[3].label).get_by_label("Clean").focus()
    for _ in range(3):
        page.keyboard.press("Space")
        page.keyboard.press("Tab")
    page.get_by_role("button", name="Sign and confirm").focus()
    page.keyboard.press("Enter")
    page.get_by_text("Confirmed. Now ask for a day.").wait_for()
    assert ReadinessConfirmation.objects.get(report=clean).name == "Sam Supervisor"


@pytest.mark.long
def test_the_keyboard_walks_from_my_sites_to_what_to_fix(open_as, contact, to_fix):
    page = open_as(contact, "/builder/", DESK)
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.locator(":focus").inner_text().startswith("See what to fix"):
            break
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{reverse('builder:site', args=[to_fix.site_id])}#fixes")
    page.get_by_role("link", name="By wall").focus()
    page.keyboard.press("Enter")
    page.get_by_role("heading", name=re.compile("North wall")).wait_for()


@pytest.mark.long
def test_the_plan_leads_to_the_items_of_a_wall(open_as, contact, to_fix):
    page = open_as(contact, reverse("builder:site", args=[to_fix.site_id]), DESK)
    page.locator(".plan a").first.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**by=wall**")
    expect(page.get_by_role("link", name="By wall")).to_have_attribute("aria-current", "true")


@pytest.mark.long
def test_one_tap_copies_the_link(open_as, contact, to_fix):
    link = sharing.share_trade_list(contact, to_fix.site, "bricklayer")
    page = open_as(
        contact,
        reverse("builder:share", args=[to_fix.site_id, "bricklayer"]),
        DESK,
        permissions=["clipboard-read", "clipboard-write"],
    )
    page.get_by_role("button", name="Copy the link").click()
    page.get_by_text("Copied", exact=True).wait_for()
    assert page.evaluate("navigator.clipboard.readText()") == link.url


@pytest.mark.long
def test_without_javascript_fixing_signing_asking_and_accepting_work(
    open_as, contact, to_fix, clean, offered, tmp_path, next_day
):
    page = open_as(contact, "/builder/", PHONE, java_script_enabled=False)
    item = to_fix.items.get(kind="mortar_drop")
    page.goto(reverse("builder:report_fixed", args=[item.pk]))
    page.get_by_label("Photos of the fix").set_input_files(camera_files(tmp_path, 2))
    page.get_by_role("button", name="Send as fixed").click()
    expect(page.locator("main")).to_contain_text(f"Sent. We will check item {item.number}.")

    page.goto(reverse("builder:confirm", args=[clean.site_id]))
    assert page.get_by_role("button", name=re.compile("Tick all")).count() == 0
    tick_all(page, 12)
    page.get_by_role("button", name="Sign and confirm").click()
    expect(page.locator("main")).to_contain_text("Confirmed. Now ask for a day.")

    page.get_by_label(re.compile(rf"^\s*Morning of {next_day:%A} {next_day.day} ")).check()
    page.get_by_role("button", name="Ask for these").click()
    page.get_by_text("We will offer a day by e-mail and here.").first.wait_for()
    assert Booking.objects.get(site=clean.site).state == "asked"

    page.goto(reverse("builder:book", args=[offered.site_id]))
    page.get_by_role("button", name=re.compile("^Accept")).click()
    expect(page.locator("main")).to_contain_text("Booked for")


def sign_in_in_another_tab(page):
    """What it does to the tab that is open: another token for forms."""
    origin = page.evaluate("location.origin")
    page.context.add_cookies([{"name": "csrftoken", "value": "a" * 32, "url": origin}])


def test_a_form_that_was_open_while_signing_in_again_still_goes(open_as, to_fix, contact):
    item = to_fix.items.get(kind="weep_hole_blocked")
    page = open_as(contact, reverse("builder:disagree", args=[item.pk]))
    page.get_by_label("Why do you dispute this item?").fill("It drains.")
    sign_in_in_another_tab(page)
    page.get_by_role("button", name="Send").click()
    expect(page.get_by_text("We will check item 2 and answer.")).to_be_visible()


def test_a_photo_chosen_after_signing_in_again_is_sent(open_as, to_fix, contact, tmp_path):
    photo = tmp_path / "fixed.jpg"
    photo.write_bytes(jpeg(landmark(640, 482)))
    item = to_fix.items.get(kind="weep_hole_blocked")
    page = open_as(contact, reverse("builder:report_fixed", args=[item.pk]))
    sign_in_in_another_tab(page)
    page.get_by_label("Photos of the fix").set_input_files(photo)
    expect(page.get_by_text("Photos: 1 sent.")).to_be_visible()


def test_no_page_of_the_builder_scrolls_sideways_on_the_smallest_phone(open_as, to_fix, contact):
    link = sharing.share_trade_list(contact, to_fix.site, "bricklayer")
    for address in (
        reverse("builder:site", args=[to_fix.site_id]),
        reverse("builder:report", args=[to_fix.pk]),
        reverse("builder:share", args=[to_fix.site_id, "bricklayer"]),
        reverse("trade:trade_list", args=[link.token]),
    ):
        page = open_as(contact, address, size={"width": 320, "height": 640})
        assert page.evaluate("document.documentElement.scrollWidth") == 320, address
