"""Reported fixed, accepted, sent back, disputed."""

import uuid

import pytest
from django.core.exceptions import PermissionDenied

from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.models import DefectItem, Message, Photo
from tests.factories import make_issued, make_photo

pytestmark = pytest.mark.django_db


@pytest.fixture
def item(applicator, site):
    return make_issued(applicator, site).items.get()


def report_fixed(contact, item, **fields):
    return fixes.report_fixed(
        contact, item, photos=[make_photo(item.report.site, contact)], **fields
    )


def fresh(item):
    return DefectItem.objects.get(pk=item.pk)


def test_a_fix_needs_a_photo(contact, item):
    with pytest.raises(Refused, match="at least one photo"):
        fixes.report_fixed(contact, item, photos=[])
    assert fresh(item).state == "to_fix"


def test_a_photo_of_the_defect_cannot_be_used_as_the_fix(contact, item):
    with pytest.raises(Refused, match="used already"):
        fixes.report_fixed(contact, item, photos=[item.photos.get()])


def test_one_upload_shows_one_item_fixed(contact, applicator, site):
    """Both forms of a page can name it; what the page had read of it before is out of date."""
    one, other = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick")).items.all()
    photo = make_photo(site, contact)
    as_read_before = Photo.objects.get(pk=photo.pk)
    fix = fixes.report_fixed(contact, one, photos=[photo])
    with pytest.raises(Refused, match="used already"):
        fixes.report_fixed(contact, other, photos=[as_read_before])
    assert fresh(other).state == "to_fix"
    assert list(fix.photos.all()) == [photo]
    assert not other.fixes.exists()


def test_a_photo_named_twice_is_one_photo_of_the_fix(contact, item):
    photo = make_photo(item.report.site, contact)
    again = Photo.objects.get(pk=photo.pk)
    assert fixes.report_fixed(contact, item, photos=[photo, again]).photos.count() == 1


def test_saying_fixed_tells_the_applicator(contact, item, applicator):
    report_fixed(contact, item, note="Brushed off.")
    assert fresh(item).state == "said_fixed"
    assert Message.objects.get(kind="fix_said").to == applicator


def test_the_same_fix_sent_twice_is_one_fix(contact, item):
    fix_id = uuid.uuid4()
    first = report_fixed(contact, item, fix_id=fix_id)
    assert report_fixed(contact, item, fix_id=fix_id) == first
    assert item.fixes.count() == 1


def test_another_builders_contact_cannot_say_it(other_contact, item):
    with pytest.raises(PermissionDenied):
        report_fixed(other_contact, item)


def test_a_fix_can_be_taken_back_until_it_is_reviewed(contact, item, applicator):
    fix = report_fixed(contact, item)
    fixes.take_back_fix(contact, fix)
    assert fresh(item).state == "to_fix"
    fix = report_fixed(contact, item)
    fixes.accept_fix(applicator, item)
    with pytest.raises(Refused, match="was accepted already"):
        fixes.take_back_fix(contact, fix)


def test_a_fix_is_sent_back_with_a_reason_and_can_be_said_again(contact, item, applicator):
    report_fixed(contact, item)
    with pytest.raises(Refused, match="Say what is still wrong"):
        fixes.send_back(applicator, item, reason=" ")
    fixes.send_back(applicator, item, reason="Still mortar at the left end.")
    assert fresh(item).state == "sent_back"
    fix = report_fixed(contact, item)
    fixes.take_back_fix(contact, fix)
    assert fresh(item).state == "sent_back"


def test_reviewing_twice_has_one_outcome(contact, item, applicator):
    report_fixed(contact, item)
    fixes.accept_fix(applicator, item)
    with pytest.raises(Refused, match="Item 1 was accepted at"):
        fixes.send_back(applicator, item, reason="Too late")
    assert item.fixes.get().outcome == "accepted"


def test_several_are_accepted_in_one_go_and_make_one_e_mail(contact, site, applicator):
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    items = list(report.items.all())
    for item in items:
        report_fixed(contact, item)
    fixes.accept_fixes(applicator, items)
    assert {fresh(item).state for item in items} == {"accepted"}
    message = Message.objects.get(kind="item_accepted")
    assert len(message.details["items"]) == 2


def test_accepting_several_is_all_or_none(contact, site, applicator):
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    first, second = report.items.order_by("number")
    report_fixed(contact, first)
    fixes.accept_on_site(applicator, second)
    with pytest.raises(Refused, match="Item 2 was accepted"):
        fixes.accept_fixes(applicator, [first, second])
    assert fresh(first).state == "said_fixed"


def test_what_was_seen_on_site_needs_no_fix_of_the_builder(item, applicator):
    fixes.accept_on_site(applicator, item, note="Seen on site.")
    assert fresh(item).state == "accepted"


def test_a_disagreement_keeps_holding_until_it_is_decided(contact, item, applicator):
    fixes.disagree(contact, item, reason="This is the drawn finish.")
    assert fresh(item).is_disputed
    assert fresh(item).holds
    fixes.decide_disagreement(applicator, item, stands=False, reason="You are right.")
    assert fresh(item).state == "accepted"
    assert not fresh(item).is_disputed


def test_an_item_that_stands_says_why(contact, item, applicator):
    fixes.disagree(contact, item, reason="It looks fine.")
    with pytest.raises(Refused, match="Say why the item stands"):
        fixes.decide_disagreement(applicator, item, stands=True)
    fixes.decide_disagreement(applicator, item, stands=True, reason="The liquid bonds it on.")
    assert fresh(item).state == "to_fix"
    assert fresh(item).holds


def test_washing_as_the_fix_starts_the_drying(contact, item, applicator):
    from readiness import clock

    washed = clock.now()
    report_fixed(contact, item, washed_at=washed)
    fixes.accept_fix(applicator, item)
    assert fresh(item).cleaned_wet_at == washed
