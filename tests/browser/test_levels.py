"""Entering a wall's levels in Chromium: the answer while typing, rows, items, accessibility."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from readiness.facts import run_facts
from readiness.models import DefectItem
from tests.browser.conftest import SIZES
from tests.factories import make_runs, make_site

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def run(applicator):
    return make_runs(make_site(), "North wall", "East wall", length_mm=6000)[0]


def measure(page, left="300", right="200"):
    """Sloping ground on a brick wall, as a person types it."""
    page.get_by_label("mm down").nth(0).fill(left)
    page.get_by_label("mm down").nth(1).fill(right)
    page.get_by_label("A bed joint you can see").fill("172")


@SIZES
def test_a_wall_is_measured_and_the_line_drawn_while_typing(open_as, axe, applicator, run, size):
    page = open_as(applicator, reverse("office:run_levels", args=[run.pk]), size)
    measure(page)
    answer = page.locator("#levels-sentence")
    expect(answer).to_contain_text("172 mm below the top of the slab, with 1 step")
    expect(page.locator("#levels-brief")).to_contain_text("Meets the 75 mm rule: 1 step")
    expect(page.get_by_role("img", name="North wall, seen from outside")).to_be_visible()
    axe(page)
    page.get_by_role("button", name="Save, next wall").click()
    expect(page.get_by_role("heading", name="East wall")).to_be_visible()
    expect(page.get_by_label("A bed joint you can see")).to_have_value("172")


def test_a_row_is_added_without_leaving_the_page(open_as, applicator, run):
    page = open_as(applicator, reverse("office:run_levels", args=[run.pk]))
    measure(page, "300", "300")
    page.get_by_role("button", name="Another point").first.click()
    rows = page.locator("[data-rows=ground] fieldset")
    expect(rows).to_have_count(4)
    expect(rows.last.get_by_label("At, m")).to_be_focused()


@pytest.mark.long
@SIZES
@pytest.mark.parametrize("javascript", [True, False], ids=["with script", "without"])
def test_rows_of_weep_holes_are_added_and_removed(open_as, applicator, run, size, javascript):
    address = reverse("office:run_levels", args=[run.pk])
    page = open_as(applicator, address, size, java_script_enabled=javascript)
    measure(page, "300", "300")
    weeps = page.locator("#section-weeps")
    for number, level in enumerate(("0", "20", "86")):
        if weeps.get_by_label("Underside, mm").count() == number:
            weeps.get_by_role("button", name="Another row").click()
        weeps.get_by_label("Underside, mm").nth(number).fill(level)
    weeps.get_by_role("button", name="Remove row 2").click()
    expect(weeps.get_by_label("Underside, mm").nth(1)).to_have_value("86")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth + 1")
    page.get_by_role("button", name="Save", exact=True).last.click()
    expect(page.get_by_role("status")).to_contain_text("Levels of North wall saved.")
    run.refresh_from_db()
    assert [row.level_mm for row in run_facts(run).weep_holes] == [0, -86]


def test_a_shortfall_is_seen_and_added_with_one_tap(open_as, axe, applicator, run):
    page = open_as(applicator, reverse("office:run_levels", args=[run.pk]))
    measure(page, "140", "140")
    page.get_by_label("Underside, mm").first.fill("86")
    expect(page.locator("#levels-live")).to_contain_text("lower the ground by")
    page.get_by_role("button", name="Save and add to the report").first.click()
    expect(page.get_by_role("status")).to_contain_text("1 item added to the draft report")
    axe(page)
    assert DefectItem.objects.get().kind == "ground_too_high"


def test_everything_works_without_javascript(open_as, applicator, run):
    page = open_as(
        applicator, reverse("office:run_levels", args=[run.pk]), java_script_enabled=False
    )
    measure(page)
    page.get_by_role("button", name="Another point").first.click()
    expect(page.get_by_label("mm down").nth(0)).to_have_value("300")
    page.get_by_role("button", name="Save", exact=True).last.click()
    expect(page.locator("#levels-sentence")).to_contain_text("with 1 step")


@SIZES
def test_the_tables_are_accessible_and_fit_the_screen(open_as, axe, applicator, run, size):
    for name, args in (("levels", [run.site.pk]), ("quantities", [run.site.pk]), ("rules", [])):
        page = open_as(applicator, reverse(f"office:{name}", args=args), size)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth + 1")
        page.close()
