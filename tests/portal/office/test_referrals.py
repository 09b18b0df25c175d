"""The office's screens of live termites and of walls that nobody can reach."""

import re
import uuid
from datetime import UTC, datetime

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions import referrals
from readiness.actions.firm.business import change_business
from readiness.actions.reporting import drafts
from readiness.models import Message, Photo, Referral, ReferralDecision
from tests.actions.cases.base import FRIDAY, Cast
from tests.factories import make_applicator, make_draft, make_photo
from tests.pages import read
from tests.rules.walls import brick_wall

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)


@pytest.fixture
def cast(applicator, contact, builder, site):
    applicator.licence_number = "T-2208"
    applicator.save()
    with clock.at(NOW):
        yield Cast(applicator, contact, builder, site)


@pytest.fixture
def office(cast, client_for):
    return client_for(cast.applicator)


@pytest.fixture
def found(cast):
    return referrals.note_live_termites(cast.applicator, cast.site, wall_run=cast.wall())


@pytest.fixture
def barred(cast):
    return referrals.note_no_access(cast.applicator, cast.wall(), cause="boundary")


def page(client, name, *ids, **query):
    return read(client.get(reverse(f"office:{name}", args=ids), query))


# Live termites: one tap from the walk


def test_live_termites_are_one_tap_from_every_page_of_the_walk(cast, office):
    draft, wall = make_draft(cast.applicator, cast.site), cast.wall()
    address = reverse("office:termites_new", args=[cast.site.pk])
    walk = (
        reverse("office:report", args=[draft.pk]),
        reverse("office:item_new", args=[draft.pk]),
        f"{reverse('office:item_new', args=[draft.pk])}?wall={wall.pk}",
        f"{reverse('office:item_new', args=[draft.pk])}?wall={wall.pk}&kind=dirty_brick",
        reverse("office:site", args=[cast.site.pk]),
    )
    for path in walk:
        links = re.findall(r'href="([^"]+)"', office.get(path).content.decode())
        assert [link for link in links if link.startswith(address)], path


def test_the_page_says_stop_and_whom_to_call(cast, office):
    text = page(office, "termites_new", cast.site.pk)
    for words in (
        "Stop. Do not disturb them.", "Do not touch, break open, spray, wash or clear it",
        "Take photos", "Look at the whole building", "Call your licensed technician.",
    ):  # fmt: skip
        assert words in text
    change_business(cast.applicator, technician_name="Kim Lee", technician_phone="0491 570 006")
    answer = office.get(reverse("office:termites_new", args=[cast.site.pk]))
    assert "Call Kim Lee." in read(answer)
    assert 'href="tel:0491570006"' in answer.content.decode()


def test_recording_them_needs_nothing_but_the_button(cast, office):
    answer = office.post(reverse("office:termites_new", args=[cast.site.pk]), {})
    made = Referral.objects.get()
    assert (made.kind, made.wall_run, made.noted_by) == ("live_termites", None, cast.applicator)
    assert answer.url == reverse("office:referral", args=[made.pk])
    text = page(office, "referral", made.pk)
    assert "Not decided yet. A licensed technician decides." in text
    assert "No day can be offered, accepted or booked." in text


def test_the_form_sent_twice_is_one_find_with_its_photos(cast, office):
    photo, key = make_photo(cast.site, cast.applicator), uuid.uuid4()
    sent = {
        "referral_id": key, "wall_run": cast.wall().pk, "from_mm": "2.4", "note": "Mud tube",
        "photos_kept": photo.pk,
    }  # fmt: skip
    for _ in range(2):
        office.post(reverse("office:termites_new", args=[cast.site.pk]), sent)
    made = Referral.objects.get()
    assert (made.pk, made.from_mm, made.note) == (key, 2400, "Mud tube")
    assert list(made.photos.all()) == [photo]
    assert Message.objects.filter(kind="termites_found").count() == 2


def test_a_wrong_place_loses_nothing_that_was_typed_or_sent(cast, office):
    photo = make_photo(cast.site, cast.applicator)
    answer = office.post(
        reverse("office:termites_new", args=[cast.site.pk]),
        {"wall_run": cast.wall().pk, "from_mm": "99", "note": "Tube", "photos_kept": photo.pk},
    )
    text = answer.content.decode()
    assert "12 m" in read(answer)
    assert ">Tube</textarea>" in text.replace("\n", "")
    assert str(photo.pk) in text
    assert not Referral.objects.exists()


def test_the_walk_says_so_at_its_top_and_the_site_and_home_too(cast, office, found):
    draft = make_draft(cast.applicator, cast.site)
    assert "Live termites or mud tubes: do not disturb them." in page(office, "report", draft.pk)
    said = "Live termites or mud tubes found on Mon 23 November 2026, North wall. Nothing can be"
    assert said in page(office, "site", cast.site.pk)
    assert said in page(office, "sites")
    assert f"{cast.site}: Live termites" in page(office, "home")


def test_no_form_offers_a_day_while_the_site_is_closed(cast, office, found):
    text = page(office, "booking", cast.site.pk)
    assert "No day can be offered now. To do before a day can be offered" in text
    assert "Offer this day" not in text
    answer = office.post(
        reverse("office:booking", args=[cast.site.pk]), {"day": FRIDAY, "half": "morning"}
    )
    assert "Nothing can be booked until a licensed technician has decided." in read(answer)
    assert not cast.site.bookings.exists()


def test_a_booked_day_stays_and_says_what_blocks_it(cast, office):
    cast.booked()
    referrals.note_live_termites(cast.applicator, cast.site)
    text = page(office, "site", cast.site.pk)
    assert "Booked for Friday morning: cancel it, or tell the crew not to start." in text
    assert "Still blocking this day" in page(office, "booking", cast.site.pk)


# Deciding


def test_who_has_no_licence_sees_no_form_and_why(cast, client_for, found):
    office = client_for(make_applicator())
    text = page(office, "referral", found.pk)
    assert "Only a licensed technician can decide, signed in as themselves." in text
    assert "an owner enters its number under Staff" in text
    assert "Record my decision" not in text
    answer = office.post(
        reverse("office:referral_decide", args=[found.pk]),
        {"outcome": "not_termites", "reason": "Ants"},
    )
    assert "no licence number" in read(answer)
    assert not ReferralDecision.objects.exists()


def test_a_decision_is_recorded_with_name_licence_words_and_photos(cast, office, found):
    photo, key = make_photo(cast.site, cast.applicator), uuid.uuid4()
    assert "You decide as Alex Applicator, licence T-2208." in page(office, "referral", found.pk)
    sent = {
        "outcome": "stays_closed", "reason": "Under the\nslab.", "seen": "", "decision_id": key,
        "photos_kept": photo.pk,
    }  # fmt: skip
    for _ in range(2):
        office.post(reverse("office:referral_decide", args=[found.pk]), sent)
    decision = ReferralDecision.objects.get()
    assert (decision.pk, decision.reason) == (key, "Under the\nslab.")
    assert list(decision.photos.all()) == [photo]
    text = page(office, "referral", found.pk)
    assert "The site stays closed" in text
    assert "Alex Applicator, licence T-2208, at 11:00 am on Mon 23 November 2026" in text


def test_a_decision_without_words_comes_back_with_what_was_chosen(cast, office, found):
    answer = office.post(
        reverse("office:referral_decide", args=[found.pk]), {"outcome": "not_termites"}
    )
    assert "Write why, in your own words." in read(answer)
    chosen = r'value="not_termites"[^>]*\n?[^>]*checked|checked[^>]*value="not_termites"'
    assert re.search(chosen, answer.content.decode())


def test_a_decision_that_came_meanwhile_is_told(cast, office, found):
    referrals.decide_referral(cast.applicator, found, outcome="stays_closed", reason="Look again.")
    answer = office.post(
        reverse("office:referral_decide", args=[found.pk]),
        {"outcome": "not_termites", "reason": "Ants", "seen": ""},
    )
    assert "Somebody decided this while you were writing." in read(answer)
    assert "Ants" in answer.content.decode()


def test_after_a_decision_to_go_on_the_page_leads_to_a_new_find(cast, office, found):
    referrals.decide_referral(cast.applicator, found, outcome="not_termites", reason="Ants.")
    text = page(office, "referral", found.pk)
    assert "Record a new find" in text
    assert "Record my decision" not in text


def test_photos_are_added_later(cast, office, found):
    photo = make_photo(cast.site, cast.applicator)
    office.post(reverse("office:referral_photos", args=[found.pk]), {"found_kept": photo.pk})
    assert Photo.objects.get(pk=photo.pk).referral == found
    assert "Live termites" in page(office, "photos", cast.site.pk)


# Walls that nobody can reach


def test_the_decision_is_offered_beside_access_blocked(cast, office):
    draft, wall = make_draft(cast.applicator, cast.site), cast.wall()
    address = reverse("office:access_new", args=[wall.pk])
    for query in ({"wall": wall.pk}, {"wall": wall.pk, "kind": "access_blocked"}):
        text = office.get(reverse("office:item_new", args=[draft.pk]), query).content.decode()
        assert f'href="{address}"' in text


def test_a_wall_is_left_to_the_technician(cast, office):
    wall = cast.wall()
    address = reverse("office:access_new", args=[wall.pk])
    assert "The builder is not asked to do anything." in read(office.get(address))
    answer = office.post(address, {"from_mm": "0", "note": "Fence"})
    assert "Say why nobody can reach it" in read(answer)
    assert "where it ends" in read(office.post(address, {"cause": "boundary", "from_mm": "1"}))
    office.post(address, {"cause": "boundary", "from_mm": "0", "to_mm": "4.2"})
    made = Referral.objects.get()
    assert (made.kind, made.from_mm, made.to_mm) == ("no_access", 0, 4200)
    assert "noted already" in read(
        office.post(address, {"cause": "hidden", "from_mm": "1", "to_mm": "2"})
    )


def test_the_walk_asks_no_check_of_it_and_counts_it_apart(cast, office, barred):
    draft = make_draft(cast.applicator, cast.site)
    text = page(office, "report", draft.pk)
    assert "0 of 4 walls checked, 1 out of reach, 0 items" in text
    assert "Nobody can reach North wall, the whole of it: to decide" in text
    assert text.count("Checked North wall") == 0
    for run in cast.site.wall_runs.order_by("position")[1:]:
        drafts.check_run(cast.applicator, draft, run)
    assert "North wall is not checked" not in page(office, "issue", draft.pk)


def test_quantities_and_levels_leave_it_out(cast, office, barred):
    text = page(office, "quantities", cast.site.pk)
    assert "Left out: North wall, the whole of it. Nobody can reach it." in text
    assert "36 m of brick wall" in text
    assert "Nobody can reach it" in page(office, "levels", cast.site.pk)
    text = page(office, "run_levels", cast.wall().pk)
    assert "no levels are needed, and nothing is treated there" in text


def test_levels_ask_nothing_of_a_wall_that_was_measured_before_nobody_could_reach_it(
    cast, office, barred
):
    wall = cast.wall()
    wall.levels = brick_wall((0, -300)).levels_as_dict()
    wall.save()
    for text in (page(office, "levels", cast.site.pk), page(office, "run_levels", wall.pk)):
        assert "Nobody can reach this wall: nothing is treated there." in text
        assert "No struck joint" not in text


def test_it_is_said_on_the_day_and_what_was_decided(cast, office, barred):
    referrals.decide_referral(cast.applicator, barred, outcome="not_treated", reason="Fence.")
    cast.booked()
    assert "Not treated, no access: North wall, the whole of it." in page(
        office, "booking", cast.site.pk
    )


def test_what_still_has_to_be_decided_is_the_office_s_next_step(cast, office, barred):
    cast.confirmed()
    text = page(office, "site", cast.site.pk)
    said = "North wall: nobody can reach it (boundary wall against a neighbour's). A licensed"
    assert said in text
    assert "For us" in page(office, "sites")


def test_who_offers_a_day_is_told_that_a_decision_is_missing(cast, office, barred):
    """Over the form and with its link; the day can be offered all the same."""
    cast.issued()
    address = reverse("office:booking", args=[cast.site.pk])
    said = "To do before the builder can accept a day.* North wall: nobody can reach it .* Offer a"
    assert re.search(said, page(office, "booking", cast.site.pk))
    links = re.findall(r'href="([^"]+)"', office.get(address).content.decode())
    assert reverse("office:referral", args=[barred.pk]) in links
    office.post(address, {"day": FRIDAY, "half": "morning"})
    assert cast.site.bookings.get().state == "offered"


def test_the_settings_say_whom_to_call(cast, office):
    text = page(office, "business")
    assert "Whom to call" in text


# E-mails


def letters(mailoutbox, person) -> str:
    """The text of the e-mail to a person, its lines joined."""
    email = next(email for email in mailoutbox if email.to == [person.email])
    return " ".join(email.body.split())


def test_both_sides_are_told_each_in_their_own_words(
    cast, mailoutbox, django_capture_on_commit_callbacks
):
    change_business(cast.applicator, technician_name="Kim Lee", technician_phone="0491 570 006")
    with django_capture_on_commit_callbacks(execute=True):
        found = referrals.note_live_termites(
            cast.applicator, cast.site, wall_run=cast.wall(), from_mm=2400, note="Tube."
        )
    ours, theirs = letters(mailoutbox, cast.applicator), letters(mailoutbox, cast.contact)
    where = "Found at 11:00 am on Mon 23 November 2026, North wall, at 2.4 m."
    for body in (ours, theirs):
        assert where in body
        assert "To call: Kim Lee, 0491 570 006." in body
    assert "Nothing can be booked there until a licensed technician has decided" in ours
    assert "no spraying, no clearing, no digging. Tell everybody on site." in theirs
    assert "Nothing for you to fix there: our licensed technician decides." in theirs
    mailoutbox.clear()
    with django_capture_on_commit_callbacks(execute=True):
        referrals.decide_referral(
            cast.applicator, found, outcome="treated_separately", reason="Nest in the stump."
        )
    theirs = letters(mailoutbox, cast.contact)
    decided = "Treated separately: work can go on. Decided by Alex Applicator, licence T-2208:"
    assert decided in theirs
    assert "Work can go on there, and days can be booked again." in theirs
