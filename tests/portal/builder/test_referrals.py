"""What the builder and their trades read of live termites and of walls nobody can reach."""

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions import referrals, sharing
from readiness.actions.visits import booking
from tests.actions.cases.base import NOW, Cast
from tests.factories import make_issued
from tests.pages import read
from tests.proving import proved

pytestmark = pytest.mark.django_db

LEAVE = "Leave everything there as it is: no spraying, no clearing, no digging."


@pytest.fixture
def cast(applicator, contact, builder, site):
    applicator.licence_number = "T-2208"
    applicator.save()
    with clock.at(NOW):
        yield Cast(applicator, contact, builder, site)


@pytest.fixture
def theirs(cast, client_for):
    return client_for(cast.contact)


def page(client, name, *ids):
    return read(client.get(reverse(f"builder:{name}", args=ids)))


def test_the_builder_is_told_to_leave_all_as_it_is_and_that_nothing_is_theirs_to_fix(cast, theirs):
    cast.issued()
    photo = cast.photo()
    referrals.note_live_termites(
        cast.applicator, cast.site, wall_run=cast.wall(), from_mm=2400, photos=[photo]
    )
    text = page(theirs, "site", cast.site.pk)
    assert (
        f"Live termites or mud tubes found on Mon 23 November 2026, North wall, at 2.4 m. {LEAVE}"
        in text
    )
    assert (
        "Nothing for you to do there: our licensed technician looks at the whole building" in text
    )
    assert (
        str(photo.pk) in theirs.get(reverse("builder:site", args=[cast.site.pk])).content.decode()
    )
    assert LEAVE in page(theirs, "home")
    assert "You can’t confirm this site yet." in page(theirs, "confirm", cast.site.pk)


def test_no_page_of_the_booking_asks_them_to_clear_or_to_choose(cast, theirs):
    cast.booked()
    referrals.note_live_termites(cast.applicator, cast.site)
    text = page(theirs, "book", cast.site.pk)
    assert "Blocking this day" in text
    assert "Keep the walls clean" not in text
    booking.cancel_booking(cast.contact, cast.site.bookings.get(), reason="Termites")
    text = page(theirs, "book", cast.site.pk)
    assert LEAVE in text
    assert "You can choose days again once our licensed technician has decided" in text
    assert "Tick every half-day" not in text


def test_an_offered_day_has_no_button_to_accept(cast, theirs):
    cast.confirmed()
    offered = cast.offered()
    referrals.note_live_termites(cast.applicator, cast.site)
    text = theirs.get(reverse("builder:book", args=[cast.site.pk])).content.decode()
    assert reverse("builder:accept", args=[offered.pk]) not in text
    answer = theirs.post(reverse("builder:accept", args=[offered.pk]), {"seen": offered.offer})
    assert LEAVE in read(answer)


def test_a_trade_with_a_link_is_told_too(cast, client):
    item = cast.item()
    link = sharing.share_trade_list(cast.contact, cast.site, item.trade)
    assert LEAVE not in read(client.get(reverse("trade:trade_list", args=[link.token])))
    referrals.note_live_termites(cast.applicator, cast.site)
    assert LEAVE in read(client.get(reverse("trade:trade_list", args=[link.token])))


def test_a_decision_to_go_on_takes_it_off_their_pages(cast, theirs):
    make_issued(cast.applicator, cast.site, kinds=())
    found = referrals.note_live_termites(cast.applicator, cast.site)
    referrals.decide_referral(cast.applicator, found, outcome="not_termites", reason="Ants.")
    assert LEAVE not in page(theirs, "site", cast.site.pk)
    assert "Decided about live termites" in page(theirs, "history", cast.site.pk)


def test_a_wall_that_nobody_can_reach_asks_nothing_of_them(cast, theirs):
    cast.issued(kinds=())
    barred = referrals.note_no_access(cast.applicator, cast.wall(), cause="boundary")
    text = page(theirs, "site", cast.site.pk)
    assert "Not treated: no access North wall, the whole of it" in text
    assert "Our licensed technician decides about it." in text
    assert "Ready to confirm." in text
    proved(theirs, cast.contact)
    text = page(theirs, "confirm", cast.site.pk)
    assert "Nobody can reach North wall: nothing to tick there." in text
    assert text.count("North wall") == 1
    referrals.decide_referral(cast.applicator, barred, outcome="not_treated", reason="Fence.")
    assert "Decided by our licensed technician." in page(theirs, "site", cast.site.pk)


def test_an_offer_that_waits_for_us_says_so(cast, theirs):
    cast.confirmed()
    cast.offered()
    referrals.note_no_access(cast.applicator, cast.wall(), cause="hidden")
    said = "Nobody can reach North wall. Our technician decides: nothing for you to do."
    assert said in page(theirs, "site", cast.site.pk)
    text = page(theirs, "book", cast.site.pk)
    assert f"We still have to decide {said}" in text
    assert "Before you can accept" not in text


def test_who_confirmed_is_not_told_to_confirm_while_we_have_to_decide(cast, theirs):
    cast.confirmed()
    referrals.note_no_access(cast.applicator, cast.wall(), cause="hidden")
    text = page(theirs, "book", cast.site.pk)
    assert "Confirmed ready. You can ask for a day now." in text
    assert "We book it once our technician has decided about a wall that nobody can reach" in text
    assert "you have confirmed it" not in text


def test_a_booked_day_that_waits_for_us_asks_nothing_of_them(cast, theirs):
    cast.booked()
    referrals.note_no_access(cast.applicator, cast.wall(), cause="hidden")
    text = page(theirs, "book", cast.site.pk)
    assert "We still have to decide Nobody can reach North wall." in text
    assert "Fix or confirm before the day" not in text
