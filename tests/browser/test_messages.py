"""What was done is confirmed in view on the smallest phone, wherever the page opens, and said."""

import pytest
from playwright.sync_api import expect

from readiness import clock
from tests.browser.conftest import DESK
from tests.browser.test_builder_screens import issue, picture

SMALL = {"width": 360, "height": 640}

SAID = """() => {
  const region = document.querySelector(".messages[role=status]");
  window.said = [];
  new MutationObserver((changes) => {
    for (const change of changes) {
      for (const node of change.addedNodes) window.said.push(node.textContent);
    }
  }).observe(region, {childList: true, subtree: true});
}"""


@pytest.fixture
def report(applicator, builder):
    site_day = clock.now().date()
    kinds = [("mortar_drop", {"from_mm": 1000 * number}) for number in range(1, 6)]
    return issue(applicator, builder, "1 Fixing Street", site_day, kinds)


@pytest.mark.parametrize("size", [SMALL, DESK], ids=["small phone", "desk"])
def test_what_was_sent_is_confirmed_where_the_page_opens(open_as, contact, report, size, axe):
    item = report.items.order_by("number").last()
    picture(report.site, contact, 700)
    page = open_as(contact, f"/builder/fixing/items/{item.pk}/dispute/", size)
    page.get_by_label("Why do you dispute this item?").fill("It is paint.")
    page.get_by_role("button", name="Send").click()
    page.wait_for_url("**#fixes")
    message = page.get_by_role("status")
    expect(message).to_contain_text("Sent. We will check item 5 and answer.")
    expect(message.get_by_text("Sent. We will")).to_be_in_viewport(ratio=1)
    expect(page.get_by_role("heading", name="What to fix")).to_be_in_viewport()
    box, heading = message.bounding_box(), page.locator("#fixes-title").bounding_box()
    assert box["y"] + box["height"] <= heading["y"] + 1, "the message covers what the page opens at"
    axe(page)
    page.get_by_role("button", name="Close this message").click()
    expect(message).to_have_count(1)
    expect(message).to_be_empty()


@pytest.mark.long
def test_a_screen_reader_is_told_after_the_page_has_come(open_as, contact, report):
    item = report.items.first()
    page = open_as(contact, f"/builder/fixing/items/{item.pk}/dispute/", SMALL)
    page.get_by_label("Why do you dispute this item?").fill("It is paint.")
    page.add_init_script(f"document.addEventListener('DOMContentLoaded', {SAID})")
    page.get_by_role("button", name="Send").click()
    page.wait_for_url("**#fixes")
    was_said = "text => text.includes('We will check item 1')"
    page.wait_for_function(f"() => window.said?.some({was_said})")
