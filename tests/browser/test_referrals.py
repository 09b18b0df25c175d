"""What only a licensed technician decides, as three people live it, each at a phone.

One of the office walks round the house, the technician decides, the builder's supervisor is told.
"""

import re

import pytest
from django.core import mail
from django.urls import reverse
from playwright.sync_api import expect

from readiness import clock
from readiness.actions.people import rights
from readiness.actions.visits import booking
from readiness.models import Booking, Paper
from readiness.papers.render import render_paper
from readiness.rules.calendar import calendar_of
from tests.factories import confirm, make_applicator, make_draft, make_issued
from tests.papers.reading import flat
from tests.papers.reports import text_of
from tests.photos.pictures import jpeg, scene

pytestmark = pytest.mark.django_db(transaction=True)

LEAVE = "Leave everything there as it is: no spraying, no clearing, no digging."
DECIDES = "Nobody can reach North wall. Our technician decides: nothing for you to do."


@pytest.fixture
def technician(applicator):
    made = make_applicator("tech@applicator.example", name="Terry Tech")
    return rights.set_licence(applicator, made, "T-2208")


@pytest.fixture
def walks(applicator):
    """Who walks round the house and holds no licence."""
    return make_applicator("walks@applicator.example", name="Wes Walker")


@pytest.fixture
def day(site):
    return calendar_of(site.state).add_working_days(clock.now().astimezone(site.zone).date(), 2)


def office(name, *ids):
    return reverse(f"office:{name}", args=ids)


def builder(name, *ids):
    return reverse(f"builder:{name}", args=ids)


@pytest.fixture
def right(axe):
    """`right(page)`: no fault of access, and in text twice as large nothing leaves the screen."""

    def check(page):
        axe(page)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        wide, room = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        page.evaluate("document.documentElement.style.fontSize = ''")
        assert wide <= room, f"{page.url}: {wide} px wide"

    return check


def offer(page, day):
    page.get_by_label(re.compile(r"^\s*Day")).fill(day.isoformat())
    page.get_by_role("button", name="Offer this day").click()
    expect(page.get_by_text("Day offered.")).to_be_visible()


def decide(page, outcome, reason):
    page.get_by_label(outcome).check()
    page.get_by_label(re.compile(r"^\s*Why")).fill(reason)
    page.get_by_role("button", name="Record my decision").click()
    expect(page.get_by_text("Decision recorded.")).to_be_visible()


def accept(page):
    page.get_by_role("button", name=re.compile("^Accept")).click()
    expect(page.get_by_text(re.compile("^Booked for"))).to_be_visible()


def told(subject) -> set[str]:
    """Whom an e-mail with such a subject went to."""
    return {one.to[0] for one in mail.outbox if one.subject.startswith(subject)}


def test_live_termites_close_the_site_until_the_technician_has_decided(
    open_as, right, applicator, walks, technician, contact, site, day
):
    confirm(contact, make_issued(applicator, site, kinds=()))
    page = open_as(walks, office("site", site.pk))
    page.get_by_role("link", name="Live termites").first.click()
    expect(page.get_by_text("Stop. Do not disturb them.")).to_be_visible()
    right(page)
    photo = {"name": "tube.jpg", "mimeType": "image/jpeg", "buffer": jpeg(scene(1))}
    page.locator("input[type=file]").set_input_files([photo])
    page.get_by_label("Wall").select_option("North wall (12 m)")
    page.get_by_label("At, m from its left end").fill("2.4")
    page.get_by_label("What you saw").fill("Mud tube up the slab edge.")
    page.get_by_role("button", name="Record live termites").click()
    expect(page.get_by_text("Recorded. Nothing can be booked now.")).to_be_visible()
    expect(page.get_by_text("Only a licensed technician can decide")).to_be_visible()
    expect(page.get_by_role("button", name="Record my decision")).to_have_count(0)
    right(page)
    found = page.url
    assert contact.email in told("Live termites")

    page.goto(office("booking", site.pk))
    expect(page.get_by_text("To do before a day can be offered")).to_be_visible()
    expect(page.get_by_role("button", name="Offer this day")).to_have_count(0)
    right(page)
    theirs = open_as(contact, builder("site", site.pk))
    expect(theirs.get_by_text(LEAVE).first).to_be_visible()
    right(theirs)
    theirs.goto(builder("book", site.pk))
    expect(theirs.get_by_text(LEAVE).first).to_be_visible()
    expect(theirs.get_by_role("button", name="Ask for these")).to_have_count(0)
    right(theirs)

    page = open_as(technician, found)
    expect(page.get_by_text("You decide as Terry Tech, licence T-2208.")).to_be_visible()
    right(page)
    decide(page, "Treated separately: work can go on", "Nest in the stump, dusted.")
    right(page)
    assert contact.email in told("Live termites, decided")

    page.goto(office("booking", site.pk))
    offer(page, day)
    theirs.goto(builder("book", site.pk))
    accept(theirs)
    assert Booking.objects.get().state == "confirmed"


def test_a_wall_that_nobody_can_reach_is_decided_and_printed_as_a_limit(
    open_as, right, applicator, walks, technician, contact, site, day
):
    draft = make_draft(walks, site)
    page = open_as(walks, office("report", draft.pk))
    page.get_by_role("link", name="Add an item to North wall").click()
    page.locator("summary", has_text="Access blocked").click()
    page.get_by_role("link", name="Nobody can reach it").click()
    page.get_by_label("Boundary wall against a neighbour").check()
    page.get_by_label("Note").fill("50 mm to the fence.")
    right(page)
    page.get_by_role("button", name="Leave it to the technician").click()
    expect(page.get_by_text("Recorded. A licensed technician decides next.")).to_be_visible()
    right(page)
    noted = page.url
    page.goto(office("report", draft.pk))
    expect(
        page.get_by_text("Nobody can reach North wall, the whole of it: to decide")
    ).to_be_visible()
    for wall in ("East wall", "South wall", "West wall"):
        page.get_by_role("button", name=re.compile(f"Checked.*{wall}")).click()
        expect(page.get_by_role("button", name=re.compile(f"Undo.*{wall}"))).to_be_visible()
    right(page)
    page.get_by_role("link", name="Check and issue").click()
    page.get_by_role("button", name="Issue the report").click()
    expect(page.get_by_text("Report issued.")).to_be_visible()

    theirs = open_as(contact, builder("confirm", site.pk))
    expect(
        theirs.get_by_text("Nobody can reach North wall: nothing to tick there.")
    ).to_be_visible()
    right(theirs)
    for wall in ("East wall", "South wall", "West wall"):
        theirs.get_by_role("button", name=f"Tick all of this wall {wall}").click()
    theirs.get_by_role("button", name="Sign and confirm").click()
    expect(theirs.get_by_text("Confirmed. Now ask for a day.")).to_be_visible()
    expect(theirs.get_by_text(DECIDES)).to_be_visible()
    right(theirs)

    page.goto(office("booking", site.pk))
    expect(page.get_by_text("To do before the builder can accept a day")).to_be_visible()
    right(page)
    offer(page, day)
    theirs.goto(builder("book", site.pk))
    expect(theirs.get_by_text("We still have to decide")).to_be_visible()
    expect(theirs.get_by_role("button", name=re.compile("^Accept"))).to_have_count(0)
    right(theirs)

    page = open_as(technician, noted)
    right(page)
    decide(page, "Not treated", "50 mm to the fence: no room for anybody.")
    right(page)
    theirs.goto(builder("book", site.pk))
    accept(theirs)
    theirs.goto(builder("site", site.pk))
    expect(theirs.get_by_text("Decided by our licensed technician.")).to_be_visible()
    right(theirs)

    booked = Booking.objects.get()
    with clock.at(clock.now().replace(year=booked.day.year + 1)):
        booking.record_treatment(technician, booked, used_ml=4000)
    treated = render_paper(Paper.objects.get(kind=Paper.Kind.TREATMENT)).content
    assert (
        "Not treated: North wall (A), the whole of it: boundary wall against a neighbour's, no "
        "access. Decided by Terry Tech (licence T-2208)"
    ) in flat(text_of(treated, "-layout"))
