"""The applicator's screens in Chromium: accessible, by keyboard, with and without scripts."""

import io
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.visits import booking
from readiness.models import DefectItem, Site, SiteReport
from readiness.rules.calendar import calendar_of
from tests.browser.conftest import DESK, PHONE
from tests.factories import (
    confirm,
    make_contact,
    make_draft,
    make_issued,
    make_item,
    make_runs,
    make_site,
)
from tests.photos.pictures import landmark

pytestmark = pytest.mark.django_db(transaction=True)


def jpeg(width=640):
    """A small photo; another width makes another file."""
    kept = io.BytesIO()
    landmark(width, 480).save(kept, "JPEG")
    return kept.getvalue()


def url(name, *args):
    return reverse(f"office:{name}", args=args)


def fix_photo(site, contact):
    from django.core.files.uploadedfile import SimpleUploadedFile

    from readiness.actions.photos.keeping import add_photo

    return add_photo(contact, site, SimpleUploadedFile("after.jpg", jpeg()), filename="after.jpg")


@pytest.fixture
def draft(applicator, builder):
    """A draft report of four walls with one item that lacks its photo and measurement."""
    report = make_draft(applicator, _walled(builder))
    make_item(applicator, report, kind="render_line_low", photo=False)
    return report


@pytest.fixture
def scene(applicator, contact, builder, draft):
    """A site in each of the states that the screens are about."""
    issued = make_issued(
        applicator, make_site(builder), kinds=("mortar_drop", "dirty_brick", "wet_brick")
    )
    first, second, _ = issued.items.all()
    fixes.report_fixed(contact, first, photos=[fix_photo(issued.site, contact)], note="Done.")
    fixes.disagree(contact, second, reason="That is the stain of the clay.")
    ready = make_issued(applicator, make_site(builder), kinds=())
    confirm(contact, ready)
    day = calendar_of("NSW").add_working_days(clock.now().date(), 2)
    booked = booking.offer_date(applicator, ready.site, day=day, half="morning")
    booking.accept_offer(contact, booked)
    asking = make_site(builder)
    booking.ask_for_booking(contact, asking, preferences=[(day + timedelta(days=7), "morning")])
    return {"draft": draft, "issued": issued, "booked": ready.site, "asking": asking}


def _walled(builder):
    site = make_site(builder)
    make_runs(site)
    return site


def screens(scene):
    """Every page of the applicator, by name."""
    draft, issued, site = scene["draft"], scene["issued"], scene["issued"].site
    wall = draft.site.wall_runs.first()
    new_item = url("item_new", draft.pk)
    return [
        url("home"),
        url("sites"),
        url("site_new"),
        f"{url('site_new')}?builder={site.builder_id}",
        url("site", site.pk),
        url("site", scene["asking"].pk),
        url("site_edit", site.pk),
        url("walls", site.pk),
        url("walls", scene["asking"].pk),
        url("report_start", site.pk),
        url("report", draft.pk),
        url("run_shown", draft.pk, wall.pk),
        url("report_head", draft.pk),
        new_item,
        f"{new_item}?wall={wall.pk}",
        f"{new_item}?wall={wall.pk}&kind=render_line_low",
        url("item_edit", draft.items.get().pk),
        url("issue", draft.pk),
        url("report", issued.pk),
        url("issued", issued.pk),
        url("item", issued.items.first().pk),
        url("review", site.pk),
        url("booking", scene["asking"].pk),
        url("booking", scene["booked"].pk),
        url("bookings"),
        url("record", site.pk),
        url("photos", site.pk),
        url("emails", site.pk),
        url("builders"),
        url("builder", site.builder_id),
        url("builder_new"),
        url("builder_edit", site.builder_id),
        url("business"),
    ]


@pytest.mark.long  # 33 pages; the builder's are walked with the short tests
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_no_screen_breaks_wcag_or_runs_off_the_side(open_as, axe, applicator, scene, size):
    page = open_as(applicator, url("home"), size)
    for path in screens(scene):
        answer = page.goto(path)
        assert answer.status == 200, path
        axe(page)
        width = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert width <= 0, f"{path} is {width} px too wide"
        small = page.evaluate(SMALL_TARGETS)
        assert not small, f"{path}: {small}"


SMALL_TARGETS = """() => [...document.querySelectorAll(
    'main button, main .btn, main .choice, main .row-link, main summary, main select')]
    .filter(element => element.checkVisibility())
    .filter(element => element.getBoundingClientRect().height < 43.5)
    .map(element => element.outerHTML.slice(0, 120))"""


def test_walls_are_entered_by_keyboard_and_the_plan_follows(open_as, applicator, builder):
    site = make_site(builder)
    page = open_as(applicator, url("walls", site.pk))
    page.get_by_label("The first wall faces").select_option("South")
    page.get_by_label("Length, m").first.focus()
    for length in ("12.4", "8", "11.4", "8"):
        page.keyboard.type(length)
        page.keyboard.press("Enter")  # on to the next wall; the last one adds a row
    expect(page.locator("[data-wall-row]")).to_have_count(5)
    says = page.locator(".plan-says")
    expect(says).to_contain_text("does not close")
    expect(says).to_contain_text("1 m")
    page.get_by_label("Length, m").nth(2).fill("12.4")
    expect(says).to_contain_text("The plan closes")
    page.get_by_role("button", name="Move wall 4 up").click()
    expect(page.get_by_label("Length, m").nth(2)).to_have_value("8")
    page.get_by_role("button", name="Move wall 3 down").click()
    page.get_by_role("button", name="Remove wall 5").click()
    page.get_by_role("button", name="Save the walls").click()
    page.wait_for_url(f"**{url('site', site.pk)}")
    assert list(site.wall_runs.values_list("label", "length_mm")) == [
        ("South wall", 12_400),
        ("East wall", 8_000),
        ("North wall", 12_400),
        ("West wall", 8_000),
    ]


def test_a_wall_is_dragged_to_its_place(open_as, applicator, builder):
    site = _walled(builder)
    page = open_as(applicator, url("walls", site.pk), DESK)
    handle = page.locator("[data-wall-number]")
    start, end = handle.nth(0).bounding_box(), handle.nth(2).bounding_box()
    page.mouse.move(start["x"] + 10, start["y"] + 10)
    page.mouse.down()
    page.mouse.move(end["x"] + 10, end["y"] + end["height"] - 2, steps=8)
    page.mouse.up()
    names = [field.input_value() for field in page.get_by_label("Name").all()]
    assert names == ["East wall", "South wall", "North wall", "West wall"]


def test_a_wall_is_checked_without_leaving_the_page(open_as, axe, applicator, draft):
    page = open_as(applicator, url("report", draft.pk))
    page.evaluate("window.stayed = true")
    page.get_by_role("button", name="Checked North wall, from end to end").click()
    expect(page.get_by_text("1 of 4 walls checked")).to_be_visible()
    expect(page.get_by_role("button", name="Undo the check of North wall")).to_be_focused()
    assert page.evaluate("window.stayed")
    axe(page)
    assert draft.checks.count() == 1


def item_page(draft, kind="render_line_low"):
    return f"{url('item_new', draft.pk)}?wall={draft.site.wall_runs.first().pk}&kind={kind}"


@pytest.mark.long
def test_the_rule_and_the_fix_follow_the_measurement(open_as, axe, applicator, draft):
    page = open_as(applicator, item_page(draft))
    page.get_by_label(re.compile("Height of the struck joint")).fill("40")
    expect(page.get_by_text("35 mm less than the 75 mm needed")).to_be_visible()
    expect(page.get_by_text("Source:")).to_be_visible()
    fix = page.get_by_label("What has to be done")
    expect(fix).to_have_value(re.compile("Cut a new one 35 mm higher"))
    page.get_by_label("From, m").fill("2.4")
    page.get_by_label("To, m").fill("5.1")
    expect(fix).to_have_value(re.compile("from 2.4 m to 5.1 m"))
    fix.fill("Ring us first.")
    page.get_by_label(re.compile("Height of the struck joint")).fill("50")
    expect(page.get_by_text("25 mm less than the")).to_be_visible()
    expect(fix).to_have_value("Ring us first.")
    axe(page)
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url("**saved=**")
    saved = DefectItem.objects.get(report=draft, number=2)
    assert (saved.measured_value, saved.from_mm, saved.to_mm) == (50, 2_400, 5_100)
    assert saved.required_fix == "Ring us first."


def typed_without_reception(open_as, applicator, draft):
    page = open_as(applicator, item_page(draft, "soil_against_brick"))
    page.get_by_label("Note").fill("Behind the tank.")
    page.get_by_label("From, m").fill("3")
    page.context.set_offline(True)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("No reception. Nothing is lost")).to_be_visible()
    return page


def assert_saved(draft):
    saved = DefectItem.objects.get(report=draft, kind="soil_against_brick")
    assert (saved.note, saved.from_mm) == ("Behind the tank.", 3_000)


def test_an_item_is_sent_by_itself_once_there_is_reception_again(open_as, applicator, draft):
    page = typed_without_reception(open_as, applicator, draft)
    page.context.set_offline(False)
    page.wait_for_url("**saved=**")
    assert_saved(draft)


def test_what_was_typed_outlives_the_page_it_was_typed_on(open_as, applicator, draft):
    lost = typed_without_reception(open_as, applicator, draft)
    context = lost.context
    lost.close()
    context.set_offline(False)
    page = context.new_page()
    page.goto(url("report", draft.pk))
    expect(page.get_by_text("not saved yet")).to_be_visible()
    page.get_by_role("link", name=re.compile("Continue with: Soil against brick")).click()
    expect(page.get_by_text("Here is what you typed")).to_be_visible()
    expect(page.get_by_label("Note")).to_have_value("Behind the tank.")
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url("**saved=**")
    expect(page.locator("[data-kept-drafts]")).to_be_hidden()
    assert_saved(draft)


def test_bad_input_comes_back_linked_to_its_field(open_as, applicator, draft):
    page = open_as(applicator, item_page(draft))
    page.get_by_label("From, m").fill("99")
    page.get_by_role("button", name="Save", exact=True).click()
    link = page.get_by_role("link", name=re.compile("past the end of North wall"))
    link.click()
    expect(page.get_by_label("From, m")).to_be_focused()
    expect(page.get_by_label("From, m")).to_have_value("99")


def test_several_photos_are_sent_with_an_item(open_as, applicator, draft, tmp_path):
    files = []
    for n in range(3):
        file = tmp_path / f"wall-{n}.jpg"
        file.write_bytes(jpeg(640 + n))
        files.append(str(file))
    page = open_as(applicator, item_page(draft, "mortar_drop"))
    page.locator("input[type=file]").set_input_files(files)
    expect(page.locator("input[name=photos_kept]")).to_have_count(3)
    page.get_by_role("button", name="Save, add another here").click()
    page.wait_for_url("**saved=**")
    assert DefectItem.objects.get(report=draft, kind="mortar_drop").photos.count() == 3


@pytest.mark.long
def test_before_and_after_lie_side_by_side_on_a_desk_and_are_swiped_on_a_phone(
    open_as, applicator, scene
):
    path, item = url("review", scene["issued"].site_id), scene["issued"].items.first()
    page = open_as(applicator, path)
    frames = page.locator(f"#item-{item.pk} .photo-frame")
    before, after = frames.nth(0).bounding_box(), frames.nth(1).bounding_box()
    assert after["x"] + after["width"] > 390  # swiped into sight
    page = open_as(applicator, path, DESK)
    frames = page.locator(f"#item-{item.pk} .photo-frame")
    before, after = frames.nth(0).bounding_box(), frames.nth(1).bounding_box()
    assert before["y"] == pytest.approx(after["y"], abs=2)
    assert after["x"] + after["width"] < 1280


@pytest.mark.long
def test_the_whole_way_to_an_issued_report_works_without_scripts(
    open_as, applicator, contact, builder, tmp_path
):
    picture = tmp_path / "wall.jpg"
    picture.write_bytes(jpeg())
    page = open_as(applicator, url("home"), java_script_enabled=False)
    page.get_by_role("link", name="Add the first site").click()
    page.get_by_role("link", name=re.compile(builder.name)).click()
    page.get_by_label("Lot or number").fill("4 Ironbark Rise")
    page.get_by_label("Suburb").fill("Mirrin Vale")
    page.get_by_role("button", name="Save and enter the walls").click()
    for n, length in enumerate(("12.4", "8", "12.4", "8")):
        page.get_by_label("Length, m").nth(n).fill(length)
    page.get_by_role("button", name="Add a wall").click()
    page.get_by_role("button", name="Remove wall 5").click()
    page.get_by_role("button", name="Move wall 2 up").click()
    expect(page.get_by_label("Length, m").first).to_have_value("8")
    page.get_by_role("button", name="Move wall 1 down").click()
    expect(page.locator(".plan-says")).to_contain_text("The plan closes")
    page.get_by_role("button", name="Save the walls").click()
    page.get_by_role("link", name="Start the report").first.click()
    page.get_by_role("button", name="Start at the first wall").click()
    for wall in "ABCD":
        page.get_by_role("button", name=f"Checked Wall {wall}").click()
    page.get_by_role("link", name="Add an item to Wall B").click()
    page.get_by_role("link", name="Mortar drop").click()
    page.locator("input[type=file]").set_input_files(str(picture))
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("link", name="Check and issue").click()
    page.get_by_role("button", name="Issue the report").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Report 1")
    report = SiteReport.objects.get(site=Site.objects.get())
    assert report.number == 1
    assert report.items.get().photos.count() == 1
    assert [message.to for message in report.site.messages.all()] == [contact]


def test_the_main_things_are_reached_by_keyboard_alone(open_as, applicator, draft):
    page = open_as(applicator, url("report", draft.pk), DESK)
    page.keyboard.press("Tab")
    expect(page.get_by_text("Skip to content")).to_be_focused()
    reached = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.add(
            page.evaluate(
                "(document.activeElement.getAttribute('aria-label')"
                " || document.activeElement.textContent).trim().replace(/\\s+/g, ' ')"
            )
        )
    assert any(name.startswith("North wall, 12 m") for name in reached)  # on the plan
    assert "Checked North wall, from end to end" in reached
    assert "Add an item to West wall" in reached
    assert "Check and issue" in reached


def test_an_outsider_has_no_way_in(open_as, draft):
    stranger = make_contact()
    page = open_as(stranger, url("site", draft.site_id))
    expect(page.get_by_role("heading", level=1)).not_to_contain_text("Tallowood")


def test_the_chosen_filter_is_in_view_on_a_phone(open_as, applicator, builder):
    make_site(builder)
    page = open_as(applicator, f"{reverse('office:sites')}?show=all", PHONE)
    box = page.locator(".filters [aria-current]").bounding_box()
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= PHONE["width"] + 1
