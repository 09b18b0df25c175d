"""The business's list of local days off, and what it takes out of the days to choose from."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.firm.days_off import keep_day_off
from readiness.actions.visits import booking as bookings
from readiness.models import Booking, DayOff, RecordEntry, SecurityEvent
from readiness.rules import days_off as rules
from readiness.rules.days_off import Repeats
from tests.factories import (
    SHOW_DAY,
    confirm,
    make_applicator,
    make_contact,
    make_day_off,
    make_draft,
    make_issued,
    make_item,
    make_runs,
    make_site,
)

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 8, 3, 0, 0, tzinfo=UTC)
"""A Monday, nine days before the show in Brisbane."""
SHOW = date(2026, 8, 12)
SHUT_DOWN = rules.DayOff(
    "Christmas shut-down", Repeats.YEARLY, date(2026, 12, 21), date(2027, 1, 8)
)
TYPED = {"name": "Brisbane show day", "repeats": "weekday", "nth": "2", "weekday": "2",
         "month": "8", "postcodes": "4000 - 4179"}  # fmt: skip


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def owner(applicator):
    return applicator


@pytest.fixture
def brisbane(builder):
    return make_site(builder, state="QLD", postcode="4053")


@pytest.fixture
def cairns(builder):
    return make_site(builder, state="QLD", postcode="4870")


def url(name, *args):
    return reverse(f"office:{name}", args=args)


def test_an_empty_list_says_what_to_do(client_for, owner):
    page = client_for(owner).get(url("days_off")).content.decode()
    assert "Add the show days where you work" in page
    assert url("day_off_new") in page
    staff = client_for(make_applicator()).get(url("days_off")).content.decode()
    assert "An owner can add show days" in staff
    assert url("day_off_new") not in staff


def test_an_owner_adds_changes_and_removes_an_entry(client_for, owner):
    client = client_for(owner)
    answer = client.post(url("day_off_new"), TYPED, follow=True)
    page = answer.content.decode()
    assert "Second Wednesday of August, every year" in page
    assert "postcodes 4000-4179" in page
    assert "Next: Wed 12 August 2026" in page
    row = DayOff.objects.get()
    form = client.get(url("day_off", row.pk)).context["form"]
    assert form["postcodes"].value() == "4000-4179"
    client.post(url("day_off", row.pk), {**TYPED, "name": "Ekka"})
    assert DayOff.objects.get().name == "Ekka"
    client.post(url("day_off_remove", row.pk))
    assert not DayOff.objects.exists()
    verbs = list(RecordEntry.objects.filter(site=None).values_list("verb", flat=True))
    assert [verb for verb in verbs if verb.startswith("day_off")] == [
        "day_off_added", "day_off_changed", "day_off_removed",
    ]  # fmt: skip
    assert SecurityEvent.objects.filter(kind="days_off_changed").count() == 3
    assert client.get(url("day_off_remove", row.pk)).status_code == 302


def test_the_same_form_sent_twice_is_one_entry(client_for, owner):
    client = client_for(owner)
    entry_id = client.get(url("day_off_new")).context["form"]["entry_id"].value()
    for _time in range(2):
        client.post(url("day_off_new"), {**TYPED, "entry_id": entry_id})
    assert DayOff.objects.count() == 1
    assert RecordEntry.objects.filter(verb="day_off_added").count() == 1


@pytest.mark.parametrize("name", ["day_off_new", "day_off", "day_off_remove"])
def test_others_than_owners_change_nothing(client_for, name):
    row = make_day_off()
    args = [] if name == "day_off_new" else [row.pk]
    assert client_for(make_applicator()).post(url(name, *args), TYPED).status_code == 403
    assert client_for(make_contact()).post(url(name, *args), TYPED).status_code == 404
    assert DayOff.objects.get().rule == SHOW_DAY


ONCE = {"name": "Closed", "repeats": "once", "postcodes": "", "first_on": "2026-12-21"}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({**ONCE, "name": ""}, "This field is required"),
        ({**ONCE, "first_on": ""}, "Enter the first day off"),
        ({**ONCE, "last_on": "2026-12-01"}, "The last day is before the first"),
        ({**ONCE, "last_on": "2027-12-24"}, "longer than 60 days"),
        ({**ONCE, "first_on": "2025-12-21"}, "over already"),
        ({**ONCE, "first_on": "2062-12-21"}, "more than 5 years ahead"),
        ({**ONCE, "postcodes": "4000, 41"}, "“41” is no postcode"),
        ({**ONCE, "repeats": "weekday"}, "Choose which weekday"),
    ],
)
def test_what_cant_be_kept_is_said_and_stays_typed(client_for, owner, typed, said):
    answer = client_for(owner).post(url("day_off_new"), typed)
    page = answer.content.decode()
    assert said in page
    form = answer.context["form"]
    assert all(form[name].value() == value for name, value in typed.items())
    assert not DayOff.objects.exists()


def test_everything_that_is_wrong_is_said_at_once(client_for, owner):
    typed = {**ONCE, "last_on": "2026-12-01", "postcodes": "41"}
    page = client_for(owner).post(url("day_off_new"), typed).content.decode()
    assert "The last day is before the first" in page
    assert "“41” is no postcode" in page


def test_a_list_that_leaves_no_days_to_work_is_refused(client_for, owner):
    client = client_for(owner)
    for month in (1, 3, 5, 7):
        make_day_off(
            rules.DayOff("Closed", Repeats.YEARLY, date(2026, month, 1), date(2026, month + 1, 28))
        )
    typed = {**ONCE, "repeats": "yearly", "first_on": "2026-09-01", "last_on": "2026-10-28"}
    page = client.post(url("day_off_new"), typed).content.decode()
    assert "hardly a working day would be left in 2026" in page


def test_a_show_day_is_off_where_its_postcodes_are_and_nowhere_else(
    client_for, owner, contact, brisbane, cairns
):
    make_day_off()
    page = client_for(contact).get(reverse("builder:book", args=[brisbane.pk])).content.decode()
    assert "We are closed: Brisbane show day" in page
    assert 'value="2026-08-12/morning"' not in page
    page = client_for(contact).get(reverse("builder:book", args=[cairns.pk])).content.decode()
    assert 'value="2026-08-12/morning"' in page
    with pytest.raises(Refused, match="We are closed on Wednesday 12 August 2026"):
        bookings.offer_date(owner, brisbane, day=SHOW, half="morning")
    bookings.offer_date(owner, cairns, day=SHOW, half="morning")


def test_a_day_that_was_closed_after_the_page_was_opened_is_refused_with_its_reason(
    client_for, contact, brisbane
):
    make_issued(make_applicator(), brisbane, kinds=())
    make_day_off()
    ticked = {"day": ["2026-08-11/morning", "2026-08-12/morning"]}
    answer = client_for(contact).post(reverse("builder:book", args=[brisbane.pk]), ticked)
    page = answer.content.decode()
    assert "We are closed on Wednesday 12 August 2026 (Brisbane show day)" in page
    assert 'value="2026-08-11/morning" checked' in page
    assert not Booking.objects.exists()


def test_a_shut_down_is_one_line_for_the_builder_and_the_office(
    client_for, owner, contact, brisbane
):
    make_day_off(SHUT_DOWN)
    with clock.at(datetime(2026, 12, 16, 0, 0, tzinfo=UTC)):
        for somebody, page in ((contact, "builder:book"), (owner, "office:booking")):
            text = client_for(somebody).get(reverse(page, args=[brisbane.pk])).content.decode()
            assert text.count("We are closed until Fri 8 Jan: Christmas shut-down") == 1
            assert "Boxing Day" not in text


def test_due_dates_leave_a_local_day_off_out(owner, brisbane, cairns):
    make_day_off()
    wanted = date(2026, 8, 13)
    found = {}
    for site in (brisbane, cairns):
        make_runs(site)
        report = make_draft(owner, site, treatment_wanted_on=wanted, visited_on=date(2026, 8, 3))
        found[site] = make_item(owner, report, kind="access_blocked").due_on
    # Two working days before Thursday 13 August: Monday 10 where the Wednesday is a show day.
    assert found == {brisbane: date(2026, 8, 10), cairns: date(2026, 8, 11)}


def test_what_was_agreed_before_stays_and_is_counted(client_for, owner, contact, brisbane, cairns):
    for site in (brisbane, cairns):
        bookings.offer_date(owner, site, day=SHOW, half="morning")
    page = client_for(owner).post(url("day_off_new"), TYPED, follow=True).content.decode()
    assert "1 visit is already offered or booked then: it stays until you move it." in page
    assert Booking.objects.filter(day=SHOW).count() == 2


def test_a_day_that_was_offered_and_is_closed_now_is_not_accepted(owner, contact, brisbane):
    make_issued(owner, brisbane, kinds=())
    confirm(contact, brisbane.reports.get())
    offered = bookings.offer_date(owner, brisbane, day=date(2026, 8, 6), half="morning")
    closed = replace(SHOW_DAY, nth=1, weekday=3)  # first Thursday of August
    make_day_off(closed)
    with pytest.raises(Refused, match="We are closed on Thursday 6 August"):
        bookings.accept_offer(contact, offered)


def test_the_record_tells_what_it_was_and_what_it_is(client_for, owner):
    row = keep_day_off(owner, SHOW_DAY, day_off_id=make_day_off(SHUT_DOWN).pk)
    assert row.rule == SHOW_DAY
    (entry,) = RecordEntry.objects.filter(verb="day_off_changed")
    assert entry.told["day_off_before"] == (
        "Christmas shut-down: 21 December to 8 January, every year, everywhere"
    )
