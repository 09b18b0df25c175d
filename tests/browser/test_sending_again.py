"""Forms when reception fails or a person goes back: they can be sent again, and stay one thing."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from readiness.models import Builder, DefectItem, Site
from tests.factories import make_draft, make_runs, make_site

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_form_that_never_arrived_can_be_sent_again(open_as, applicator):
    page = open_as(applicator, reverse("applicator:builder_new"))
    page.clock.install()
    page.get_by_label("Name of the builder").fill("Wattle Homes")
    address = page.url
    # An answer of no content leaves the page where it is, as a stopped or failed send does.
    page.route(address, lambda route: route.fulfill(status=204))
    save = page.get_by_role("button", name="Save")
    save.click()
    expect(save).to_have_attribute("aria-busy", "true")
    page.unroute(address)
    page.clock.run_for(11_000)
    expect(save).not_to_have_attribute("aria-busy", "true")
    save.click()
    expect(page.get_by_text("Wattle Homes is added")).to_be_visible()
    assert Builder.objects.filter(name="Wattle Homes").count() == 1


def test_a_site_mended_after_the_back_button_is_still_one_site(open_as, applicator, builder):
    page = open_as(applicator, f"{reverse('applicator:site_new')}?builder={builder.pk}")
    street = page.get_by_label("Lot or number, and street")
    street.fill("4 Ironbrk Rise")
    page.get_by_label("Suburb").fill("Mirrin Vale")
    save = page.get_by_role("button", name="Save and enter the walls")
    save.click()
    expect(page.get_by_role("heading", name="Walls")).to_be_visible()
    page.go_back()
    expect(street).to_have_value("4 Ironbrk Rise")
    street.fill("4 Ironbark Rise")
    save.click()
    expect(page.get_by_text("4 Ironbark Rise, Mirrin Vale is added")).to_be_visible()
    assert Site.objects.get(builder=builder).street == "4 Ironbark Rise"


def test_an_item_mended_after_the_back_button_is_still_one_item(open_as, applicator, builder):
    site = make_site(builder)
    wall = make_runs(site)[0]
    draft = make_draft(applicator, site)
    new = reverse("applicator:item_new", args=[draft.pk])
    page = open_as(applicator, f"{new}?wall={wall.pk}&kind=soil_against_brick")
    page.get_by_label("Note").fill("By the tap")
    save = page.get_by_role("button", name="Save", exact=True)
    save.click()
    expect(page.get_by_text("Item 1 is saved")).to_be_visible()
    page.go_back()
    page.get_by_label("Note").fill("By the meter box")
    save.click()
    expect(page.get_by_text("Item 1 is saved")).to_be_visible()
    assert DefectItem.objects.get(report=draft).note == "By the meter box"
