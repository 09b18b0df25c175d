"""How much one person can cause in a day; what was there already is no part of it."""

import io
import uuid
from datetime import UTC, date, datetime, timedelta

import pytest

from readiness import clock
from readiness.actions import limits, sharing
from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.actions.people import inviting
from readiness.actions.photos import keeping
from readiness.actions.visits import booking, confirming
from readiness.models import Message, Photo, TradeLink, User
from readiness.photos.refused import PhotoRefused
from tests.factories import (
    confirm,
    make_contact,
    make_issued,
    make_photo,
    make_site,
    token_of,
)
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db


@pytest.fixture
def few(monkeypatch):
    monkeypatch.setattr(limits, "PHOTOS", dict.fromkeys(User.Role, 2))
    monkeypatch.setattr(limits, "SHARED_LINKS", 2)
    monkeypatch.setattr(limits, "INVITATIONS", 2)
    monkeypatch.setattr(limits, "FIXES_TAKEN_BACK", 2)
    monkeypatch.setattr(limits, "CONFIRMATIONS", 2)
    monkeypatch.setattr(limits, "DAYS_ASKED_FOR", 2)


def send(user, site, **more):
    return keeping.add_photo(user, site, io.BytesIO(jpeg()), filename="wall.jpg", **more)


def test_a_days_photos_are_taken_and_no_more(few, contact, site):
    first = uuid.uuid4()
    send(contact, site, photo_id=first)
    send(contact, site)
    with pytest.raises(PhotoRefused, match=r"“wall.jpg” was not taken in.*tomorrow"):
        send(contact, site)
    assert send(contact, site, photo_id=first).pk == first, "its answer was lost: it is here"
    assert Photo.objects.count() == 2
    with clock.at(clock.now() + timedelta(hours=25)):
        send(contact, site)


def test_a_photo_that_was_taken_back_counts_and_a_colleagues_does_not(
    few, contact, applicator, site
):
    keeping.discard_photo(contact, send(contact, site))
    send(contact, site)
    with pytest.raises(PhotoRefused):
        send(contact, site)
    send(applicator, site)


def test_bytes_count_too(contact, site, monkeypatch):
    monkeypatch.setattr(limits, "PHOTO_BYTES", dict.fromkeys(User.Role, 1500))
    make_photo(site, contact)
    limits.require_room_for_a_photo(contact, "wall.jpg")
    make_photo(site, contact)
    with pytest.raises(PhotoRefused):
        limits.require_room_for_a_photo(contact, "wall.jpg")


def test_lists_are_shared_up_to_a_limit_and_those_of_a_report_always(
    few, contact, applicator, site
):
    make_issued(applicator, site, kinds=("mortar_drop", "articulation_unsealed", "dirty_brick"))
    before = TradeLink.objects.count()
    for trade in ("bricklayer", "cleaner"):
        known = sharing.share_trade_list(contact, site, trade, link_id=uuid.uuid4())
    with pytest.raises(Refused, match="limit for one person"):
        sharing.share_trade_list(contact, site, "bricklayer")
    again = sharing.share_trade_list(contact, site, "cleaner", link_id=known.pk)
    assert (again, TradeLink.objects.count()) == (known, before + 2)
    make_issued(applicator, site, kinds=("mortar_drop", "articulation_unsealed", "dirty_brick"))


def test_invitations_have_a_limit_for_who_sends_them(few, applicator, builder):
    for number in range(2):
        inviting.invite_contact(applicator, builder, f"new{number}@wattle.example")
    with pytest.raises(Refused, match="ask a colleague"):
        inviting.invite_contact(applicator, builder, "new3@wattle.example")
    with pytest.raises(Refused, match="ask a colleague"):
        inviting.invite_staff(applicator, "new@applicator.example")


def test_one_address_gets_a_few_invitations_a_day_whoever_sends_them(applicator, builder):
    sent = inviting.invite_contact(applicator, builder, "new@wattle.example")
    for _ in range(limits.INVITATIONS_TO_ONE - 1):
        inviting.resend_invitation(applicator, sent)
    token = token_of(sent)
    with pytest.raises(Refused, match="Check the address with the person"):
        inviting.resend_invitation(applicator, sent)
    with pytest.raises(Refused, match="Check the address with the person"):
        inviting.invite_contact(applicator, builder, " New@wattle.example")
    assert inviting.find_invitation(token) == sent, "the link that was sent last still works"
    with clock.at(clock.now() + timedelta(hours=25)):
        inviting.resend_invitation(applicator, sent)


# What tells the office by e-mail, is taken back and done again. All times: New South Wales.

TEN = datetime(2026, 11, 22, 23, 0, tzinfo=UTC)
"""10 in the morning of Monday 23 November."""


def marked(user, item, minutes, *, back=True, fix_id=None):
    with clock.at(TEN + timedelta(minutes=minutes)):
        photos = [make_photo(item.report.site, user)]
        fix = fixes.report_fixed(user, item, photos=photos, fix_id=fix_id)
        if back:
            fixes.take_back_fix(user, fix)
    return fix


@pytest.fixture
def item(applicator, site):
    with clock.at(TEN - timedelta(hours=1)):
        return make_issued(applicator, site).items.get()


def test_marking_as_fixed_and_taking_back_ends_and_says_until_when(few, contact, item, builder):
    marked(contact, item, 0)
    marked(contact, item, 10)
    with pytest.raises(Refused) as refused:
        marked(contact, item, 20)
    assert str(refused.value) == (
        "You marked items here as fixed and undid it 2 times in 24 hours, the limit. You can "
        "mark the next one from 10:00 am on Tue 24 November 2026, or a colleague marks it now."
    )
    assert Message.objects.filter(kind="fix_said").count() == 2
    with pytest.raises(Refused):
        marked(contact, item, 24 * 60 - 1)
    marked(contact, item, 24 * 60)
    with pytest.raises(Refused, match="10:10 am on Tue 24 November"):
        marked(contact, item, 24 * 60 + 1)


def test_what_the_limit_refuses_a_colleague_may_and_it_may_be_sent_twice(
    few, contact, item, builder
):
    for minutes in (0, 10):
        marked(contact, item, minutes)
    colleague, chosen = make_contact(builder), uuid.uuid4()
    fix = marked(colleague, item, 20, back=False, fix_id=chosen)
    assert marked(colleague, item, 21, back=False, fix_id=chosen) == fix


def test_another_site_and_fixes_that_stand_are_not_counted(few, applicator, contact, item, builder):
    elsewhere = make_site(builder)
    kinds = ("mortar_drop", "unfilled_joint", "dirty_brick")
    with clock.at(TEN - timedelta(hours=1)):
        others = list(make_issued(applicator, elsewhere, kinds).items.all())
    for minutes in (0, 10):
        marked(contact, item, minutes)
    for minutes, other in enumerate(others, 20):
        marked(contact, other, minutes, back=False)


def test_what_was_taken_back_can_always_be_taken_back(few, contact, item):
    """Whoever sees that a fix does not hold says so, limit or not."""
    marked(contact, item, 0)
    fix = marked(contact, item, 10, back=False)
    with clock.at(TEN + timedelta(minutes=11)):
        assert fixes.take_back_fix(contact, fix).taken_back_at


def test_confirming_and_withdrawing_ends_and_says_until_when(few, applicator, contact, site):
    with clock.at(TEN):
        report = make_issued(applicator, site, kinds=())
    for minutes in (0, 10):
        with clock.at(TEN + timedelta(minutes=minutes)):
            signed = confirm(contact, report)
            confirming.withdraw_confirmation(contact, signed, reason="Mud.")
    with (
        clock.at(TEN + timedelta(minutes=20)),
        pytest.raises(Refused, match="confirm again from 10:00 am on Tue 24 November 2026, or a"),
    ):
        confirm(contact, report)
    with clock.at(TEN + timedelta(hours=24)):
        confirm(contact, report)


def test_asking_for_other_days_ends_and_says_until_when(few, contact, site):
    day = date(2026, 12, 1)

    def ask(number):
        with clock.at(TEN + timedelta(minutes=10 * number)):
            wanted = [(day + timedelta(days=number), "morning")]
            return booking.ask_for_booking(contact, site, preferences=wanted)

    ask(0)
    made = ask(1)
    assert ask(1) == made, "the same again sends nothing"
    with pytest.raises(Refused, match="ask again from 10:00 am on Tue 24 November 2026, or a"):
        ask(2)
    with clock.at(TEN + timedelta(minutes=21)):
        booking.cancel_booking(contact, made)
    with pytest.raises(Refused):
        ask(3)
