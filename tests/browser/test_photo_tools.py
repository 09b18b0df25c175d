"""Sending, marking up, measuring and comparing photos in real Chromium, on a phone and a desk."""

import io
import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from readiness.actions.fixing.fixes import report_fixed
from readiness.actions.photos.keeping import add_photo
from readiness.actions.reporting.drafts import change_item
from readiness.models import Photo, PhotoMeasurement
from tests.browser.conftest import DESK, PHONE, lose_the_answer
from tests.factories import make_draft, make_issued, make_item, make_runs, make_site
from tests.photos.pictures import jpeg, landmark, scene

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def site(builder):
    found = make_site(builder)
    make_runs(found)
    return found


def photo_of(user, site, picture=None):
    content = jpeg(picture or scene(1, (1200, 900)))
    photo = add_photo(user, site, io.BytesIO(content), filename="wall.jpg")
    Photo.objects.filter(pk=photo.pk).update(on_site=True)
    return photo


@pytest.fixture
def files(tmp_path):
    paths = []
    for number in range(3):
        path = tmp_path / f"north wall {number}.jpg"
        path.write_bytes(jpeg(scene(number, (1600, 1200))))
        paths.append(path)
    return paths


def drag(page, start, end):
    page.locator(".stage").scroll_into_view_if_needed()
    box = page.locator(".stage").bounding_box()
    places = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in (start, end)]
    page.mouse.move(*places[0])
    page.mouse.down()
    page.mouse.move(*places[1], steps=4)
    page.mouse.up()


def tap(page, x, y):
    drag(page, (x, y), (x, y))


def saved(page):
    page.locator("[data-save-state]", has_text="Saved").wait_for()


@pytest.fixture
def report_fixed_page(applicator, contact, site):
    item = make_issued(applicator, site).items.get()
    return item, reverse("builder:report_fixed", args=[item.pk])


def test_photos_are_sent_one_by_one_and_survive_a_bad_one(
    open_as, contact, report_fixed_page, files, tmp_path, axe
):
    item, address = report_fixed_page
    page = open_as(contact, address)
    bad = tmp_path / "broken.jpg"
    bad.write_bytes(files[0].read_bytes()[:5000])
    page.set_input_files("input[type=file]", [*files, bad])
    page.locator(".upload-row.is-sent").nth(2).wait_for()
    refused = page.locator(".upload-row.is-refused")
    expect(refused).to_contain_text("“broken.jpg” is damaged or incomplete")
    expect(page.locator(".upload-row.is-sent img")).to_have_count(3)
    axe(page)
    refused.get_by_role("button").click()
    page.locator(".upload-row.is-sent").first.get_by_role("button").click()
    page.locator("main form[method=post] [type=submit]").first.click()
    page.wait_for_url(lambda url: address not in url)
    fix = item.fixes.get()
    assert fix.photos.count() == 2


@pytest.mark.long
def test_photos_chosen_before_the_script_is_there_are_sent_too(
    open_as, contact, report_fixed_page, files
):
    _item, address = report_fixed_page
    page = open_as(contact, "/builder/")
    held = []
    page.route("**/photo-upload.js", lambda route: held.append(route))
    with page.expect_request("**/photo-upload.js"):
        page.goto(address, wait_until="commit")
    page.set_input_files("input[type=file]", files[:2])
    assert page.locator(".upload-row").count() == 0
    (script,) = held
    script.continue_()
    page.locator(".upload-row.is-sent").nth(1).wait_for()


def test_a_lost_connection_costs_nothing(open_as, contact, report_fixed_page, files):
    _item, address = report_fixed_page
    page = open_as(contact, address)
    page.context.set_offline(True)
    page.set_input_files("input[type=file]", files[:1])
    expect(page.locator(".upload-row.is-waiting")).to_contain_text("No connection")
    page.context.set_offline(False)
    page.locator(".upload-row.is-sent").wait_for()
    assert Photo.objects.filter(uploaded_by=contact).count() == 1


@pytest.mark.long
def test_photos_that_were_sent_are_there_after_looking_at_another_page(
    open_as, contact, report_fixed_page, files
):
    item, address = report_fixed_page
    page = open_as(contact, address)
    page.set_input_files("input[type=file]", files[:2])
    sent = page.locator(".upload-row.is-sent")
    expect(sent).to_have_count(2)
    page.goto(reverse("builder:site", args=[item.report.site_id]))
    page.go_back()
    expect(sent).to_have_count(2)
    sent.first.get_by_role("button").click()
    page.reload()
    expect(sent).to_have_count(1)
    page.get_by_role("button", name="Send as fixed").click()
    page.wait_for_url(lambda url: address not in url)
    assert item.fixes.get().photos.count() == 1


@pytest.mark.long
def test_a_photo_that_can_not_be_sent_can_be_left_out(open_as, contact, report_fixed_page, files):
    item, address = report_fixed_page
    page = open_as(contact, address)
    page.set_input_files("input[type=file]", files[:1])
    expect(page.locator(".upload-row.is-sent")).to_have_count(1)
    page.route("**/upload/**", lambda route: route.abort("connectionreset"))
    page.set_input_files("input[type=file]", files[1:2])
    waiting = page.locator(".upload-row.is-waiting")
    expect(waiting).to_contain_text("No connection")
    page.get_by_role("button", name="Send as fixed").click()
    waiting.get_by_role("button", name="Remove").click()
    page.wait_for_url(lambda url: address not in url)
    assert item.fixes.get().photos.count() == 1


def test_the_same_form_works_without_javascript(open_as, contact, report_fixed_page, files):
    item, address = report_fixed_page
    page = open_as(contact, address, java_script_enabled=False)
    page.set_input_files("input[type=file]", files[:2])
    page.locator("main form[method=post] [type=submit]").first.click()
    page.wait_for_url(lambda url: address not in url)
    assert item.fixes.get().photos.count() == 2


def test_marks_are_drawn_with_a_finger_saved_and_undone(open_as, applicator, site, axe):
    photo = photo_of(applicator, site)
    page = open_as(applicator, reverse("photos:markup", args=[photo.pk]), PHONE)
    drag(page, (0.2, 0.2), (0.5, 0.5))
    saved(page)
    page.locator("label.choice", has_text="Line").click()
    page.fill("#mark-words", "38 mm")
    drag(page, (0.1, 0.8), (0.6, 0.8))
    page.locator("label.choice", has_text="Blur").click()
    drag(page, (0.7, 0.1), (0.9, 0.3))
    page.locator("[data-mark-list] li").nth(2).wait_for()
    saved(page)
    axe(page)
    photo = Photo.objects.with_originals().get(pk=photo.pk)
    assert [shape["kind"] for shape in photo.markup.shapes] == ["arrow", "dimension", "blur"]
    assert photo.markup.shapes[0]["from"] == pytest.approx([0.2, 0.2], abs=0.01)
    page.locator("[data-undo]").click()
    page.wait_for_function("document.querySelectorAll('[data-mark-list] li').length === 2")
    saved(page)
    photo.markup.refresh_from_db()
    assert len(photo.markup.shapes) == 2
    page.goto(reverse("photos:detail", args=[photo.pk]))
    picture = page.locator("svg.photo-img")
    expect(picture).to_have_attribute("aria-label", re.compile("line marked “38 mm”"))
    axe(page)


def test_marks_can_be_drawn_with_the_keyboard_alone(open_as, applicator, site):
    photo = photo_of(applicator, site)
    page = open_as(applicator, reverse("photos:markup", args=[photo.pk]), DESK)
    page.locator(".stage").focus()
    page.keyboard.press("Enter")
    for _ in range(6):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    saved(page)
    (shape,) = Photo.objects.get(pk=photo.pk).markup.shapes
    assert shape["from"] == [0.5, 0.5]
    assert shape["to"][0] == pytest.approx(0.5 + 6 * 20 / 1200, abs=0.002)


@pytest.fixture
def marked_offline(open_as, applicator, site):
    """A page with one mark drawn while there was no connection, and its photo."""
    photo = photo_of(applicator, site)
    page = open_as(applicator, reverse("photos:markup", args=[photo.pk]))
    page.context.set_offline(True)
    drag(page, (0.2, 0.2), (0.5, 0.5))
    page.locator("[data-save-state]", has_text="No connection").wait_for()
    return page, photo


def test_marks_made_without_a_connection_are_sent_when_it_is_back(marked_offline):
    page, photo = marked_offline
    page.context.set_offline(False)
    saved(page)
    assert len(Photo.objects.get(pk=photo.pk).markup.shapes) == 1


@pytest.mark.long
def test_marks_made_without_a_connection_outlive_the_page(marked_offline):
    page, photo = marked_offline
    context = page.context
    page.close()
    context.set_offline(False)
    later = context.new_page()
    later.goto(reverse("photos:markup", args=[photo.pk]))
    saved(later)
    assert len(Photo.objects.get(pk=photo.pk).markup.shapes) == 1


@pytest.mark.long
def test_marks_that_arrived_without_an_answer_are_not_taken_for_somebody_elses(
    open_as, applicator, site
):
    photo = photo_of(applicator, site)
    address = reverse("photos:markup", args=[photo.pk])
    page = open_as(applicator, address)
    lose_the_answer(page, f"**{address}", times=None)
    drag(page, (0.2, 0.2), (0.5, 0.5))
    page.locator("[data-save-state]", has_text="No connection").wait_for()
    assert Photo.objects.get(pk=photo.pk).markup.version == 1
    page.unroute_all()
    page.goto(address)
    saved(page)
    assert page.locator("[data-clash]").is_hidden()
    assert page.evaluate("Object.keys(localStorage)") == []
    assert Photo.objects.get(pk=photo.pk).markup.version == 1


@pytest.mark.long
def test_marks_that_could_not_be_taken_say_why_and_go_again(open_as, applicator, site):
    photo = photo_of(applicator, site)
    page = open_as(applicator, reverse("photos:markup", args=[photo.pk]))

    def full(route):
        if route.request.method == "POST":
            route.fulfill(status=507, headers={"Retry-After": "1"}, body="<h1>Full</h1>")
        else:
            route.continue_()

    page.route(page.url, full, times=1)
    drag(page, (0.2, 0.2), (0.5, 0.5))
    expect(page.locator("[data-save-state]")).to_contain_text("The portal's disk is full.")
    saved(page)
    assert len(Photo.objects.get(pk=photo.pk).markup.shapes) == 1


@pytest.mark.long
def test_marks_that_the_device_did_not_keep_are_not_said_to_be_kept(open_as, applicator, site):
    photo = photo_of(applicator, site)
    page = open_as(applicator)
    full = "Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); }"
    page.add_init_script(full)
    page.goto(reverse("photos:markup", args=[photo.pk]))
    page.context.set_offline(True)
    drag(page, (0.2, 0.2), (0.5, 0.5))
    state = page.locator("[data-save-state]")
    expect(state).to_contain_text("No connection. The marks are on this page until you close it")
    page.context.set_offline(False)
    saved(page)
    assert len(Photo.objects.get(pk=photo.pk).markup.shapes) == 1


@pytest.mark.long
def test_two_people_marking_the_same_photo_are_asked(open_as, applicator, site):
    photo = photo_of(applicator, site)
    address = reverse("photos:markup", args=[photo.pk])
    mine, theirs = open_as(applicator, address), open_as(applicator, address)
    drag(theirs, (0.1, 0.1), (0.3, 0.3))
    saved(theirs)
    drag(mine, (0.5, 0.5), (0.8, 0.8))
    mine.locator("[data-keep-mine]").click()
    saved(mine)
    (shape,) = Photo.objects.get(pk=photo.pk).markup.shapes
    assert shape["from"] == pytest.approx([0.5, 0.5], abs=0.01)


def mark_a_height(page):
    """Four corners of a square, and a height half as long as its sides."""
    for place in ((0.2, 0.2), (0.6, 0.2), (0.6, 0.6), (0.2, 0.6), (0.3, 0.3), (0.3, 0.5)):
        tap(page, *place)
    page.locator(".segments label", has_text="Upright").click()


@pytest.mark.long
def test_a_distance_is_measured_and_fills_the_item(open_as, applicator, site, axe):
    item = make_item(applicator, make_draft(applicator, site), kind="soil_against_brick")
    photo = photo_of(applicator, site, scene(3, (1200, 1200)))
    Photo.objects.filter(pk=photo.pk).update(on_site=False)
    photo.refresh_from_db()
    change_item(applicator, item, photos=[photo])
    page = open_as(applicator, reverse("photos:measure", args=[photo.pk]), PHONE)
    page.locator("label.form-check", has_text="Something else").click()
    for name, value in (("width_mm", "400,0"), ("height_mm", "400 mm")):
        page.fill(f"#{name}", value)
    mark_a_height(page)
    page.locator("[data-result]", has_text="give or take").wait_for()
    axe(page)
    page.locator("[data-save]").click()
    page.wait_for_url(lambda url: url.endswith(f"{photo.pk}/"))
    kept = PhotoMeasurement.objects.get()
    assert kept.value_mm == pytest.approx(200, abs=8)
    item.refresh_from_db()
    assert item.measured_value == kept.value_mm
    assert item.measured_from == "photo"


@pytest.fixture
def measured(open_as, applicator, site):
    """The measuring screen with its six marks set, and the answer to them there."""
    photo = photo_of(applicator, site, scene(3, (1200, 1200)))
    page = open_as(applicator, reverse("photos:measure", args=[photo.pk]), PHONE)
    page.locator("label.form-check", has_text="Something else").click()
    for name in ("width_mm", "height_mm"):
        page.fill(f"#{name}", "400")
    mark_a_height(page)
    expect(page.locator("[data-result]")).to_contain_text("give or take")
    return page


def save_without_an_answer(page):
    """The portal saves the measurement, but its answer does not come through."""
    lose_the_answer(page, "**/measure/")
    page.locator("[data-save]").click()
    expect(page.locator("[data-result]")).to_contain_text("Not saved")


@pytest.mark.long
def test_a_measurement_whose_answer_was_lost_is_sent_again_by_itself(measured):
    page = measured
    save_without_an_answer(page)
    expect(page.locator("[data-result]")).to_contain_text("will be sent again")
    page.wait_for_url(lambda url: not url.endswith("/measure/"))
    assert PhotoMeasurement.objects.count() == 1


@pytest.mark.long
def test_a_measurement_that_was_left_and_taken_up_again_is_still_one(measured):
    page = measured
    save_without_an_answer(page)
    page.reload()
    expect(page.locator("[data-result]")).to_contain_text("give or take")
    page.locator("[data-save]").click()
    page.wait_for_url(lambda url: not url.endswith("/measure/"))
    assert PhotoMeasurement.objects.count() == 1


@pytest.mark.long
def test_marks_that_were_moved_after_a_lost_answer_are_what_is_kept(measured):
    page = measured
    save_without_an_answer(page)
    drag(page, (0.3, 0.5), (0.3, 0.55))
    expect(page.locator("[data-result]")).to_contain_text("give or take")
    page.locator("[data-save]").click()
    page.wait_for_url(lambda url: not url.endswith("/measure/"))
    newest = PhotoMeasurement.objects.order_by("made_at").last()
    assert newest.value_mm == pytest.approx(250, abs=10)


@pytest.fixture
def compared(applicator, contact, site):
    """The page that compares a fix's photo with the item's."""
    report = make_issued(applicator, site)
    item = report.items.get()
    before = photo_of(applicator, site)
    Photo.objects.filter(pk=before.pk).update(on_site=False, item=item)
    after = add_photo(contact, site, io.BytesIO(jpeg(landmark(1200, 900))), filename="after.jpg")
    report_fixed(contact, item, photos=[after])
    return after, reverse("photos:compare_with", args=[after.pk, before.pk])


def shown_share(page) -> int:
    return int(page.locator(".compare-range").input_value())


@pytest.mark.long
def test_before_and_after_are_dragged_with_a_mouse(open_as, applicator, compared):
    """The browser must not take the picture along instead, on either half and past the edge."""
    page = open_as(applicator, compared[1], DESK)
    page.locator("[data-lined-up]", has_text="Not lined up yet").wait_for()
    page.evaluate(
        "() => { window.cancelled = 0; window.dragged = 0;"
        " addEventListener('pointercancel', () => window.cancelled++, true);"
        " addEventListener('dragstart', (event) => {"
        "   setTimeout(() => { window.dragged += !event.defaultPrevented; }); }, true); }"
    )
    box = page.locator(".compare-box").bounding_box()
    middle = box["y"] + box["height"] / 2
    at = lambda share: box["x"] + share * box["width"]  # noqa: E731
    for start, end, expected in ((0.25, 0.75, 75), (0.8, 0.1, 10), (0.5, -0.2, 0), (0.05, 0.6, 60)):
        page.mouse.move(at(start), middle)
        page.mouse.down()
        for step in range(1, 11):
            page.mouse.move(at(start + (end - start) * step / 10), middle + step)
        page.mouse.up()
        assert shown_share(page) == pytest.approx(expected, abs=2)
    page.mouse.move(at(0.9), middle)
    assert shown_share(page) == pytest.approx(60, abs=2), "let go, the mouse moves nothing"
    assert page.evaluate("[window.cancelled, window.dragged]") == [0, 0]


@pytest.mark.long
def test_before_and_after_are_lined_up_by_marked_places(open_as, applicator, compared, axe):
    after, address = compared
    page = open_as(applicator, address, DESK)
    page.locator("[data-lined-up]", has_text="Not lined up yet").wait_for()
    page.locator(".compare-range").focus()
    page.keyboard.press("End")
    expect(page.locator(".compare-before")).to_have_attribute("style", re.compile(r"inset\(0px"))
    page.locator("[data-open-line-up]").click()
    for stage in page.locator(".stage").all():
        stage.scroll_into_view_if_needed()
        box = stage.bounding_box()
        for x, y in ((0.3, 0.3), (0.7, 0.6)):
            page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
    axe(page)
    page.locator("[data-keep-pairs]").click()
    page.locator("[data-lined-up]", has_text="Lined up").wait_for()
    page.reload()
    page.locator("[data-lined-up]", has_text="Lined up").wait_for()
    after.refresh_from_db()
    assert len(after.alignment) == 2
