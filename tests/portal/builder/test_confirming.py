"""Signing that a site is ready, being told why not, and withdrawing."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.visits import booking, confirming
from readiness.models import Business, ReadinessConfirmation
from tests.factories import confirm, make_issued, make_runs, make_site
from tests.proving import proved

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def browser(client_for, contact):
    return proved(client_for(contact), contact)


@pytest.fixture
def site(builder):
    found = make_site(builder)
    make_runs(found, "North wall", "South wall")
    return found


@pytest.fixture
def clean(applicator, site):
    """A report in which nothing holds the booking."""
    return make_issued(applicator, site, kinds=())


def page_of(browser, site):
    return browser.get(reverse("builder:confirm", args=[site.pk])).content.decode()


def sign(browser, report, *, leave_out=None, **fields):
    """Send the form as a browser would, with every tick but those of `leave_out`."""
    sent = {"signed_as": "Sam Supervisor"}
    for run in report.site.wall_runs.all():
        ticks = {"clean", "dry", "clear"} - set((leave_out or {}).get(run.label, ()))
        sent[f"wall-{run.pk}"] = sorted(ticks)
    address = reverse("builder:sign", args=[report.pk])
    return browser.post(address, {**sent, **fields}, follow=True)


def test_the_whole_statement_is_shown_with_who_signs(browser, clean):
    page = page_of(browser, clean.site)
    assert Business.current().confirmation_statement in page
    assert "You sign as <strong>Sam Supervisor</strong>, Site supervisor, for" in page
    assert 'type="text"' not in page, "nothing is typed"
    assert "7 days from when you sign." in page


def test_signing_leads_on_to_asking_for_a_day(browser, clean):
    response = sign(browser, clean)
    assert response.redirect_chain[-1][0] == reverse("builder:book", args=[clean.site_id])
    stated = ReadinessConfirmation.objects.get()
    assert stated.confirmed_at == NOW
    assert stated.statement == Business.current().confirmation_statement
    assert set(stated.ticks) == {str(run.pk) for run in clean.site.wall_runs.all()}


def test_a_missing_tick_is_named_with_its_wall_and_the_rest_stays_ticked(browser, clean):
    page = sign(browser, clean, leave_out={"South wall": ["dry", "clear"]}).content.decode()
    south = clean.site.wall_runs.get(label="South wall")
    assert "South wall: tick dry and nothing against it." in page
    assert f'href="#wall-{south.pk}"' in page
    assert page.count('type="checkbox"') == 6
    assert page.count(" checked") == 4
    assert not ReadinessConfirmation.objects.exists()


@pytest.mark.parametrize("field", ["signed_as", "name", "signature"])
def test_a_name_that_is_not_the_accounts_is_refused(browser, clean, field):
    """Somebody else signed in in another tab, or a page of an earlier version was still open."""
    response = sign(browser, clean, **{field: "Olga Other"})
    page = response.content.decode()
    assert "You are signed in as Sam Supervisor, so “Olga Other” can&#x27;t sign here." in page
    assert not ReadinessConfirmation.objects.exists()
    again = response.context["form"]
    sent = {name: again[name].value() for name in ("signed_as", "confirmation_id")}
    assert "Confirmed." in sign(browser, clean, **sent).content.decode()
    assert ReadinessConfirmation.objects.get().name == "Sam Supervisor"


def test_a_typed_position_changes_nothing(browser, clean):
    sign(browser, clean, position="Managing director")
    assert ReadinessConfirmation.objects.get().position == "Site supervisor"


def test_an_account_without_a_position_is_told_where_to_fill_it_in(browser, clean, contact):
    contact.memberships.update(position="")
    page = page_of(browser, clean.site)
    assert "Your account has no position yet. Fill it in under your details, then sign." in page
    assert reverse("accounts:profile") in page
    assert "Sign and confirm" not in page
    assert "Your account has no position yet." in sign(browser, clean).content.decode()
    assert not ReadinessConfirmation.objects.exists()


def test_a_wall_without_any_tick_is_said_in_few_words(browser, clean):
    nothing = {"North wall": ["clean", "dry", "clear"]}
    page = sign(browser, clean, leave_out=nothing).content.decode()
    assert "North wall: nothing is ticked yet." in page


def test_what_stands_in_the_way_is_listed_with_links(browser, applicator, site):
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    page = page_of(browser, site)
    assert "You can’t confirm this site yet" in page
    for item in report.items.all():
        assert reverse("builder:report_fixed", args=[item.pk]) in page
    assert "What you state" not in page
    refused = sign(browser, report).content.decode()
    assert "Mortar drop, North wall, at 1 m: still to fix." in refused
    assert not ReadinessConfirmation.objects.exists()


def test_a_report_issued_while_signing_is_noticed(browser, applicator, clean):
    make_issued(applicator, clean.site, kinds=())
    page = sign(browser, clean).content.decode()
    assert "A newer report was issued while you were signing." in page
    assert not ReadinessConfirmation.objects.exists()


def test_signing_twice_is_one_confirmation(browser, clean):
    form = browser.get(reverse("builder:confirm", args=[clean.site_id])).context["form"]
    same = str(form["confirmation_id"].value())
    sign(browser, clean, confirmation_id=same)
    sign(browser, clean, confirmation_id=same)
    assert ReadinessConfirmation.objects.count() == 1


def test_what_was_signed_is_shown_with_the_end_in_the_sites_own_time(browser, clean, contact):
    confirm(contact, clean)
    page = page_of(browser, clean.site)
    assert "Confirmed ready until Monday 30 November at 11:00\xa0am." in page
    assert "What was signed" in page


def test_a_confirmation_that_ran_out_says_why_and_can_be_signed_again(browser, clean, contact):
    confirm(contact, clean)
    with clock.at(NOW + timedelta(days=8)):
        page = page_of(proved(browser, contact), clean.site)
    assert "The confirmation ran out at" in page
    assert "Sign and confirm" in page


def test_a_new_thing_to_fix_makes_it_lapse_and_says_so(browser, clean, contact, applicator):
    confirm(contact, clean)
    with clock.at(NOW + timedelta(hours=1)):
        report = make_issued(applicator, clean.site, kinds=("mortar_drop",))
        fixes.accept_on_site(applicator, report.items.get())
        page = page_of(browser, clean.site)
    assert "report 2 is current now" in page


def test_withdrawing_needs_a_reason(browser, clean, contact):
    stated = confirm(contact, clean)
    address = reverse("builder:withdraw", args=[stated.pk])
    page = browser.post(address, {"withdraw-reason": ""}, follow=True).content.decode()
    assert "Say why the confirmation is withdrawn." in page
    browser.post(address, {"withdraw-reason": "Soil is back at the wall."})
    stated.refresh_from_db()
    assert stated.withdrawn_at == NOW
    page = page_of(browser, clean.site)
    assert "The readiness confirmation was withdrawn." in page
    assert "Soil is back at the wall." in page


def test_an_outsider_can_not_sign_or_withdraw(client_for, other_contact, clean, contact):
    outsider = client_for(other_contact)
    assert sign(outsider, clean).status_code == 404
    stated = confirm(contact, clean)
    address = reverse("builder:withdraw", args=[stated.pk])
    assert outsider.post(address, {"withdraw-reason": "No."}).status_code == 404
    stated.refresh_from_db()
    assert stated.withdrawn_at is None


ONCE = "5f9c1e9a-53a5-4a8e-9a53-1f6f3f3b8a01"


def test_going_back_to_a_form_whose_confirmation_was_withdrawn(browser, clean, contact):
    sign(browser, clean, confirmation_id=ONCE)
    confirming.withdraw_confirmation(contact, ReadinessConfirmation.objects.get(), reason="Mud.")
    response = sign(browser, clean, confirmation_id=ONCE)
    assert "What you signed with this form was withdrawn." in response.content.decode()
    assert ReadinessConfirmation.objects.count() == 1
    fresh = response.context["form"]["confirmation_id"].value()
    assert "Confirmed." in sign(browser, clean, confirmation_id=fresh).content.decode()
    assert ReadinessConfirmation.objects.filter(withdrawn_at=None).count() == 1


def test_an_id_of_another_report_confirms_nothing(
    browser, clean, applicator, other_contact, client_for
):
    other_site = make_site(other_contact.memberships.get().builder)
    make_runs(other_site, "North wall")
    theirs = make_issued(applicator, other_site, kinds=())
    elsewhere = proved(client_for(other_contact), other_contact)
    sign(elsewhere, theirs, confirmation_id=ONCE, signed_as=other_contact.name)
    page = sign(browser, clean, confirmation_id=ONCE).content.decode()
    assert "This is the form of another report." in page
    assert "Confirmed." not in page
    assert ReadinessConfirmation.objects.get().report == theirs


def test_a_reason_that_is_too_long_stays_in_its_box(browser, clean, contact):
    confirmation = confirm(contact, clean)
    address = reverse("builder:withdraw", args=[confirmation.pk])
    reason = "The driveway was poured. " * 81
    page = browser.post(address, {"withdraw-reason": reason}).content.decode()
    assert "at most 2000 characters" in page
    assert reason.strip() in page


def test_a_button_after_signing_in_again_leads_to_its_page(browser, clean, contact):
    confirmation = confirm(contact, clean)
    here = reverse("builder:confirm", args=[clean.site_id])
    for address in (
        reverse("builder:sign", args=[clean.pk]),
        reverse("builder:withdraw", args=[confirmation.pk]),
    ):
        response = browser.get(address, follow=True)
        assert response.redirect_chain == [(here, 302)]
        assert "Nothing was changed." in response.content.decode()
    confirmation.refresh_from_db()
    assert confirmation.withdrawn_at is None


def test_a_treated_site_does_not_ask_to_be_confirmed_again(
    browser, clean, contact, applicator, site
):
    confirm(contact, clean)
    offer = booking.offer_date(applicator, site, day=NOW.date(), half="afternoon")
    booking.record_treatment(applicator, booking.accept_offer(contact, offer), used_ml=6000)
    page = page_of(browser, site)
    assert "Treated on Monday 23 November. Nothing left to confirm." in page
    assert "What was signed" in page
    assert "Ask for a day" not in page
    assert "Withdraw the confirmation" not in page
    with clock.at(NOW + timedelta(days=9)):
        page = page_of(browser, site)
    assert "Treated on Monday 23 November. Nothing left to confirm." in page
    assert "ran out" not in page
    assert "<summary>Confirm for another visit</summary>" in page
