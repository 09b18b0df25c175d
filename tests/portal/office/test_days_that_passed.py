"""Days that have passed: no form takes one as due or wanted, and none is offered again."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions.reporting import drafts
from readiness.actions.visits import booking as acts
from tests.factories import make_draft, make_item

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)  # Monday morning in Sydney


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def browser(client_for, applicator):
    return client_for(applicator)


def draft_of(applicator, site, **fields):
    draft = make_draft(applicator, site, visited_on=date(2026, 11, 23), **fields)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    return draft


def test_the_form_of_an_item_refuses_a_due_date_that_has_passed(browser, applicator, site):
    draft = draft_of(applicator, site)
    item = make_item(applicator, draft)
    page = reverse("office:item_edit", args=[item.pk])
    form = browser.get(page).context["form"]
    typed = {name: form[name].value() or "" for name in form.fields} | {"due_on": "2026-11-20"}
    response = browser.post(page, typed)
    assert response.context["form"].errors["due_on"] == [
        "Fri 20 November 2026 is before the visit. Choose a later day."
    ]
    item.refresh_from_db()
    assert item.due_on > date(2026, 11, 23)


def test_a_report_does_not_start_with_a_wanted_day_that_has_passed(browser, site):
    site.treatment_wanted_on = date(2026, 11, 20)
    site.save()
    page = reverse("office:report_start", args=[site.pk])
    form = browser.get(page).context["form"]
    assert form["treatment_wanted_on"].value() is None
    posted = browser.post(
        page, {"visited_on": "2026-11-16", "treatment_wanted_on": "2026-11-20", "weather": "Dry"}
    )
    assert posted.context["form"].errors["treatment_wanted_on"] == [
        "This day has passed. Choose a later day, or leave it empty."
    ]
    assert not site.reports.exists()


def test_dates_of_a_draft_that_lay_are_set_anew_with_one_button(browser, applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 12, 4))
    late = make_item(applicator, draft, due_on=date(2026, 11, 25))
    page = reverse("office:issue", args=[draft.pk])
    with clock.at(NOW + timedelta(days=4)):
        shown = browser.get(page).content.decode()
        assert "was due on Wed 25 November 2026, which has passed" in shown
        assert reverse("office:item", args=[late.pk]) in shown
        done = browser.post(reverse("office:renew_dates", args=[draft.pk]), follow=True)
        assert "New due date for 1 item." in done.content.decode()
        assert not done.context["problems"]
    late.refresh_from_db()
    assert late.due_on == date(2026, 12, 2)  # two working days before Friday 4 December


def test_a_wanted_day_that_passed_while_the_draft_lay_leads_to_its_form(browser, applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 11, 25))
    with clock.at(NOW + timedelta(days=4)):
        shown = browser.get(reverse("office:issue", args=[draft.pk]))
    (problem,) = shown.context["problems"]
    assert problem.sentence.startswith("Treatment was wanted on Wed 25 November 2026")
    assert problem.url == reverse("office:report_head", args=[draft.pk])


def test_a_site_is_not_given_a_wanted_day_that_has_passed(browser, site):
    page = reverse("office:site_edit", args=[site.pk])
    form = browser.get(page).context["form"]
    typed = {name: form[name].value() or "" for name in form.fields if name != "notify"}
    posted = browser.post(page, typed | {"treatment_wanted_on": "2026-11-20"})
    assert "treatment_wanted_on" in posted.context["form"].errors
    site.treatment_wanted_on = date(2026, 11, 20)
    site.save()
    kept = browser.post(page, typed | {"treatment_wanted_on": "2026-11-20", "suburb": "New"})
    assert kept.status_code == 302


def test_half_days_that_passed_are_offered_to_nobody(browser, client_for, contact, site):
    wanted = [(date(2026, 11, 24), "morning"), (date(2026, 11, 27), "afternoon")]
    acts.ask_for_booking(contact, site, preferences=wanted)
    theirs = client_for(contact)
    ours, book = (reverse(f"{name}", args=[site.pk]) for name in PAGES)
    with clock.at(NOW + timedelta(days=2)):
        assert [wish["day"] for wish in browser.get(ours).context["wishes"]] == ["2026-11-27"]
        page = theirs.get(book)
        assert page.context["wishes"] == ["Friday 27 November, afternoon"]
        assert page.context["form"].wanted == {"2026-11-27/afternoon"}
    with clock.at(NOW + timedelta(days=9)):
        assert "have passed" in browser.get(ours).content.decode()
        assert "Those days have passed." in theirs.get(book).content.decode()


PAGES = ("office:booking", "builder:book")
