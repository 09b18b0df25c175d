"""The settings of the business in Chromium: previews in tabs of their own, then saving."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from readiness.models import Business
from tests.browser.conftest import SIZES

pytestmark = pytest.mark.django_db(transaction=True)


@SIZES
def test_the_settings_can_be_read_and_reached(open_as, applicator, axe, size):
    page = open_as(applicator, reverse("office:business"), size)
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_settings_are_previewed_more_than_once_and_then_saved(open_as, applicator):
    Business.current().save()
    page = open_as(applicator, reverse("office:business"))
    page.get_by_label("Name of the business").fill("")
    for _ in range(2):
        with page.context.expect_page() as opened:
            page.get_by_role("button", name="Fix list").click()
        expect(opened.value.get_by_text("no preview yet")).to_be_visible()
        opened.value.close()
    page.get_by_label("Name of the business").fill("Ironbark Barriers")
    page.get_by_label("Currency").fill("NZD")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Saved. Papers made")).to_be_visible()
    business = Business.current()
    assert (business.name, business.currency) == ("Ironbark Barriers", "NZD")
