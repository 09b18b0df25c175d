"""Saying things are fixed, one or several, undoing it, and disagreeing."""

import uuid
from datetime import UTC, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.models import DefectItem, Fix, Photo
from tests.factories import make_issued, make_photo, make_site
from tests.pages import shown
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
    return make_issued(applicator, make_site(builder), kinds=("mortar_drop", "dirty_brick"))


def photo_file(name="fixed.jpg", width=320):
    """A JPEG whose bytes differ with its width."""
    content = jpeg(landmark(width, 200))
    return SimpleUploadedFile(name, content, "image/jpeg")


def item_of(report, kind="mortar_drop"):
    return report.items.get(kind=kind)


def fixed_url(item):
    return reverse("builder:report_fixed", args=[item.pk])


def state_of(item):
    return DefectItem.objects.get(pk=item.pk).state


def test_a_photo_and_a_note_say_it_fixed(browser, report):
    item = item_of(report)
    sent = {"photos": photo_file(), "note": "Chipped off and brushed."}
    response = browser.post(fixed_url(item), sent, follow=True)
    assert "Sent. We will check item 1." in response.content.decode()
    fix = Fix.objects.get(item=item)
    assert fix.note == "Chipped off and brushed."
    assert fix.photos.count() == 1
    assert state_of(item) == "said_fixed"


def test_without_a_photo_it_comes_back_with_the_note(browser, report):
    item = item_of(report)
    page = browser.post(fixed_url(item), {"note": "Done this morning."}).content.decode()
    assert "Add at least one photo that shows item 1 fixed." in page
    assert 'href="#id_photos"' in page
    assert "Done this morning." in page
    assert state_of(item) == "to_fix"


def test_a_bad_file_is_named_and_the_good_one_and_the_note_stay(browser, report):
    item = item_of(report)
    broken = SimpleUploadedFile("notes.txt", b"not a photo", "image/jpeg")
    sent = {"photos": [photo_file("good.jpg"), broken], "note": "Both sides."}
    page = browser.post(fixed_url(item), sent).content.decode()
    assert "“notes.txt” is not a photo that can be read here" in page
    assert "Both sides." in page
    assert "good.jpg" in page
    assert state_of(item) == "to_fix"
    kept = Photo.objects.get(filename="good.jpg")
    browser.post(fixed_url(item), {"photos_kept": str(kept.pk), "note": "Both sides."})
    assert Fix.objects.get(item=item).photos.get() == kept


def test_a_refusal_keeps_photo_and_note_and_says_why(browser, report, contact):
    item = item_of(report)
    fixes.report_fixed(contact, item, photos=[make_photo(report.site, contact)])
    page = browser.post(
        fixed_url(item), {"photos": photo_file(), "note": "Again."}
    ).content.decode()
    assert "Item 1 was reported fixed at" in page
    assert "See the item as it is now" in page
    assert "Again." in page
    assert "photos_kept" in page


def test_an_old_link_to_a_closed_item_says_why_and_shows_no_form(browser, report, applicator):
    item = item_of(report)
    fixes.accept_on_site(applicator, item)
    page = browser.get(fixed_url(item)).content.decode()
    assert "Item 1 is already accepted." in page
    assert "Send as fixed" not in page
    other = item_of(report, "dirty_brick")
    make_issued(applicator, report.site, kinds=())
    for address in (fixed_url(other), reverse("builder:disagree", args=[other.pk])):
        assert "A later report replaced this one." in browser.get(address).content.decode()


def test_the_same_form_sent_twice_is_one_fix(browser, report):
    item = item_of(report)
    form = browser.get(fixed_url(item)).context["form"]
    fix_id = str(form["fix_id"].value())
    for _ in range(2):
        browser.post(fixed_url(item), {"photos": photo_file(), "fix_id": fix_id})
    assert Fix.objects.filter(item=item).count() == 1


def test_a_washing_kind_asks_when_it_was_washed_in_the_sites_own_time(browser, report):
    item = item_of(report, "dirty_brick")
    assert "washed" in browser.get(fixed_url(item)).content.decode()
    browser.post(fixed_url(item), {"photos": photo_file(), "washed_at": "2026-11-23T07:30"})
    assert Fix.objects.get(item=item).washed_at == datetime(2026, 11, 22, 20, 30, tzinfo=UTC)


def test_a_washing_time_that_has_not_come_is_refused_in_words(browser, report):
    item = item_of(report, "dirty_brick")
    sent = {"photos": photo_file(), "washed_at": "2026-11-24T07:30"}
    page = browser.post(fixed_url(item), sent).content.decode()
    assert "That time is still to come" in page
    assert "photos_kept" in page


def test_other_kinds_do_not_ask_about_washing(browser, report):
    assert "washed_at" not in browser.get(fixed_url(item_of(report))).content.decode()


def test_undo_is_possible_until_it_is_reviewed(browser, report, contact, applicator):
    item = item_of(report)
    fix = fixes.report_fixed(contact, item, photos=[make_photo(report.site, contact)])
    take_back = reverse("builder:take_back", args=[fix.pk])
    page = browser.get(take_back, follow=True).content.decode()
    assert "Nothing was changed." in page
    assert state_of(item) == "said_fixed"
    page = browser.post(take_back, follow=True).content.decode()
    assert "Item 1 is to fix again." in page
    assert state_of(item) == "to_fix"
    again = fixes.report_fixed(contact, item, photos=[make_photo(report.site, contact)])
    fixes.accept_fix(applicator, item)
    page = browser.post(reverse("builder:take_back", args=[again.pk]), follow=True)
    assert "Item 1 was accepted already." in page.content.decode()
    assert state_of(item) == "accepted"


def test_disagreeing_needs_a_reason_and_keeps_holding(browser, report):
    item = item_of(report)
    address = reverse("builder:disagree", args=[item.pk])
    assert "This field is required" in browser.post(address, {"reason": " "}).content.decode()
    browser.post(address, {"reason": "That is paint, not mortar."})
    item.refresh_from_db()
    assert item.is_disputed
    assert item.holds
    again = browser.post(address, {"reason": "Still paint."}).content.decode()
    assert "Item 1 is disputed already." in again
    assert "Still paint." in again


def many_url(report):
    return reverse("builder:report_fixed_many", args=[report.site_id])


def test_several_items_are_said_fixed_in_one_go(browser, report):
    first, second = report.items.all()
    sent = {
        f"photos-{first.pk}": [photo_file(width=321), photo_file(width=322)],
        f"{first.pk}-note": "Left and right.",
        f"photos-{second.pk}": photo_file(width=323),
    }
    page = browser.post(many_url(report), sent, follow=True).content.decode()
    assert "Sent. We will check items 1 and 2." in page
    assert Fix.objects.get(item=first).photos.count() == 2
    assert Fix.objects.get(item=first).note == "Left and right."
    assert state_of(second) == "said_fixed"


def test_what_goes_through_is_kept_when_another_item_fails(browser, report):
    first, second = report.items.all()
    broken = SimpleUploadedFile("broken.jpg", b"\xff\xd8\xff oops", "image/jpeg")
    sent = {
        f"photos-{first.pk}": photo_file(),
        f"photos-{second.pk}": broken,
        f"{second.pk}-note": "Wiped down.",
    }
    response = browser.post(many_url(report), sent)
    page = response.content.decode()
    assert "Sent. We will check item 1." in page
    assert "Item 2: “broken.jpg” is damaged or incomplete" in page
    assert "Wiped down." in page
    assert state_of(first) == "said_fixed"
    assert [entry.card.item for entry in response.context["entries"]] == [second]


def test_a_note_without_a_photo_is_pointed_out(browser, report):
    first = report.items.first()
    page = browser.post(many_url(report), {f"{first.pk}-note": "Done."}).content.decode()
    assert "Add at least one photo that shows item 1" in page
    assert f'href="#id_photos-{first.pk}"' in page


def test_nothing_chosen_says_what_to_do(browser, report):
    assert (
        "Add a photo to each item that is fixed." in browser.post(many_url(report)).content.decode()
    )


def test_photos_of_one_walk_are_handed_out_to_their_items(browser, report):
    first, second = report.items.all()
    together = {"photos": [photo_file(width=331), photo_file(width=332)], "sort": "yes"}
    page = browser.post(many_url(report), together).content.decode()
    one, two = Photo.objects.unattached().order_by("received_at")
    assert f'name="shows-{one.pk}"' in page
    assert state_of(first) == "to_fix"
    sent = {
        "photos_kept": [str(one.pk), str(two.pk)],
        f"shows-{one.pk}": str(first.pk),
        f"shows-{two.pk}": str(second.pk),
    }
    browser.post(many_url(report), sent)
    assert Fix.objects.get(item=first).photos.get() == one
    assert Fix.objects.get(item=second).photos.get() == two


def test_an_outsider_can_neither_see_nor_fix(client_for, other_contact, report, contact):
    item = item_of(report)
    outsider = client_for(other_contact)
    fix = fixes.report_fixed(contact, item, photos=[make_photo(report.site, contact)])
    assert outsider.get(fixed_url(item)).status_code == 404
    assert outsider.post(fixed_url(item), {"photos": photo_file()}).status_code == 404
    assert outsider.post(reverse("builder:take_back", args=[fix.pk])).status_code == 404
    assert outsider.post(reverse("builder:disagree", args=[item.pk])).status_code == 404
    assert Photo.objects.filter(uploaded_by=other_contact).count() == 0


def test_a_photo_of_another_person_can_not_be_slipped_in(browser, report, applicator):
    theirs = make_photo(report.site, applicator)
    page = browser.post(fixed_url(item_of(report)), {"photos_kept": str(theirs.pk)})
    assert "Add at least one photo" in page.content.decode()


def once(item, photo, fix_id="5f9c1e9a-53a5-4a8e-9a53-1f6f3f3b8a01"):
    """The form as a phone sends it once its photo is up."""
    return {"fix_id": fix_id, "photos_kept": str(photo.pk)}


def test_a_form_that_is_sent_again_is_answered_as_the_first_time(browser, report, contact):
    item = item_of(report)
    sent = once(item, make_photo(report.site, contact))
    for _ in range(2):  # the answer was lost, and the phone sends it again
        page = browser.post(fixed_url(item), sent, follow=True).content.decode()
        assert "Sent. We will check item 1." in page
    assert Fix.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "answer"),
    [
        ("taken back", "Your fix for item 1 was taken back. Send it again."),
        ("sent back", "Your fix for item 1 was sent back. Read why first."),
    ],
)
def test_going_back_to_an_old_form_says_a_new_fix_on_the_second_press(
    browser, report, contact, applicator, change, answer
):
    item = item_of(report)
    browser.post(fixed_url(item), once(item, make_photo(report.site, contact)))
    if change == "taken back":
        fixes.take_back_fix(contact, Fix.objects.get())
    else:
        fixes.send_back(applicator, item, reason="Half is left.")
    photo = make_photo(report.site, contact)
    response = browser.post(fixed_url(item), once(item, photo))
    assert answer in response.content.decode()
    assert Fix.objects.count() == 1
    fresh = response.context["form"]["fix_id"].value()
    browser.post(fixed_url(item), once(item, photo, fix_id=fresh))
    assert Fix.objects.get(pk=fresh).photos.get() == photo
    assert state_of(item) == "said_fixed"


def test_undo_of_a_superseded_report_is_refused(browser, report, contact, applicator):
    item = item_of(report)
    fix = fixes.report_fixed(contact, item, photos=[make_photo(report.site, contact)])
    make_issued(applicator, report.site, kinds=(), carry_over=[item])
    page = browser.post(reverse("builder:take_back", args=[fix.pk]), follow=True)
    assert "Report 2 replaced report 1" in page.content.decode()
    assert state_of(item) == "said_fixed"


def test_disagreeing_a_second_time_says_that_we_are_looking(browser, report, contact):
    item = item_of(report)
    fixes.disagree(contact, item, reason="That is paint.")
    page = browser.get(reverse("builder:disagree", args=[item.pk])).content.decode()
    assert "Item 1 is disputed already. We will decide and tell you." in page


def test_photos_for_an_item_that_a_colleague_said_fixed_get_an_answer(browser, report, contact):
    first, second = report.items.all()
    fixes.report_fixed(contact, first, photos=[make_photo(report.site, contact)])
    sent = {
        f"{first.pk}-fix_id": "5f9c1e9a-53a5-4a8e-9a53-1f6f3f3b8a02",
        f"photos-{first.pk}": photo_file(width=341),
        f"{second.pk}-fix_id": "5f9c1e9a-53a5-4a8e-9a53-1f6f3f3b8a03",
        f"photos-{second.pk}": photo_file(width=342),
    }
    response = browser.post(many_url(report), sent)
    page = response.content.decode()
    assert "Sent. We will check item 2." in page
    assert "Item 1 was reported fixed at " in page
    assert response.context["entries"] == []


def test_several_sent_again_are_answered_as_the_first_time(browser, report, contact):
    first, second = report.items.all()
    sent = {}
    for number, item in enumerate((first, second)):
        sent[f"{item.pk}-fix_id"] = f"5f9c1e9a-53a5-4a8e-9a53-1f6f3f3b8b0{number}"
        sent[f"photos-{item.pk}_kept"] = str(make_photo(report.site, contact).pk)
    for _ in range(2):
        page = browser.post(many_url(report), sent, follow=True).content.decode()
        assert "Sent. We will check items 1 and 2." in page
    assert Fix.objects.count() == 2


def test_a_washing_time_without_a_photo_is_pointed_out(browser, report):
    dirty = item_of(report, "dirty_brick")
    sent = {f"{dirty.pk}-washed_at": "2026-11-22T08:00"}
    page = browser.post(many_url(report), sent).content.decode()
    assert "Add at least one photo that shows item 2" in page


@pytest.mark.parametrize("typed", ["0001-01-01T00:00", "1926-11-22T08:00"])
def test_a_washing_time_of_another_age_is_a_slip(browser, report, contact, typed):
    dirty = item_of(report, "dirty_brick")
    sent = {**once(dirty, make_photo(report.site, contact)), "washed_at": typed}
    page = browser.post(fixed_url(dirty), sent).content.decode()
    assert "That is too long ago" in page
    assert state_of(dirty) == "to_fix"


def test_a_photo_of_the_walk_that_shows_no_item_is_asked_about_or_left_out(browser, report):
    first = report.items.first()
    browser.post(many_url(report), {"photos": [photo_file(width=351)], "sort": "yes"})
    loose = Photo.objects.unattached().get()
    sent = {f"photos-{first.pk}": photo_file(width=352), "photos_kept": str(loose.pk)}
    page = browser.post(many_url(report), sent).content.decode()
    assert "Sent. We will check item 1." in page
    assert "fixed.jpg: choose the item that it shows." in page
    assert f'href="#shows-{loose.pk}"' in page
    second = report.items.last()
    sent = {
        f"photos-{second.pk}": photo_file(width=353),
        "photos_kept": str(loose.pk),
        f"shows-{loose.pk}": "none",
    }
    assert browser.post(many_url(report), sent).status_code == 302
    assert Photo.objects.unattached().get() == loose


def test_one_upload_named_under_two_items_shows_the_first_only(browser, applicator, contact, site):
    """Both get through the page's own look at the photo; the second is refused under the lock."""
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    one, two = report.items.order_by("number")
    photo = make_photo(site, contact)
    sent = {f"photos-{item.pk}_kept": str(photo.pk) for item in (one, two)}
    sent |= {f"{item.pk}-fix_id": str(uuid.uuid4()) for item in (one, two)}
    page = browser.post(many_url(report), sent).content.decode()
    assert "Sent. We will check item 1." in page
    assert "is used already. Take a new one." in page
    assert (state_of(one), state_of(two)) == ("said_fixed", "to_fix")
    assert Fix.objects.get().photos.get() == photo


def test_an_old_link_leads_to_where_the_item_is_now(browser, report, applicator):
    item = item_of(report)
    later = make_issued(applicator, report.site, kinds=(), carry_over=[item]).items.get()
    for page in ("report_fixed", "disagree"):
        shown = browser.get(reverse(f"builder:{page}", args=[item.pk])).content.decode()
        assert f"This is item {later.number} of report 2 now." in shown
        assert f"#item-{later.pk}" in shown


def test_a_disputed_item_is_shown_as_disputed_on_both_sides(
    browser, report, contact, applicator, client_for
):
    item = item_of(report)
    fixes.disagree(contact, item, reason="That is paint.")
    office = client_for(applicator)
    pages = (
        (browser, reverse("builder:site", args=[report.site_id])),
        (browser, fixed_url(item)),
        (office, reverse("office:item", args=[item.pk])),
        (office, reverse("office:site", args=[report.site_id])),
    )
    for someone, address in pages:
        assert _chip("Disputed") in shown(someone.get(address)), address
    assert _chip("To fix") not in shown(browser.get(fixed_url(item)))
    fixes.decide_disagreement(applicator, item, stands=True, reason="It is mortar.")
    assert _chip("To fix") in shown(browser.get(fixed_url(item)))


def _chip(words):
    return f"<span>{words}</span> </span>"
