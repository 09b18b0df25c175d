"""From a new site to a confirmed booking, as the two people live it, through their real screens.

The applicator has a phone (390 x 844), the supervisor a desk (1280 x 800). Photos are real files,
links come out of real e-mails, and nothing is put into the database on the way.
"""

import re
from datetime import date, timedelta

import icalendar
import pytest
from django.core import mail
from django.core.management import call_command
from playwright.sync_api import expect

from readiness.demo.album import Shot, photo_file
from readiness.models import Booking, Paper, Photo, Site
from readiness.rules.calendar import calendar_of
from tests.browser.conftest import DESK, PHONE, tick_all
from tests.factories import make_applicator
from tests.recorded import record_rows_by_hand

EMAIL, PASSWORD = "owner@applicator.example", "seven quiet brick kilns"
SUPERVISOR = "supervisor@wattle.example"
WALLS = [("North wall", "12.4"), ("East wall", "8"), ("South wall", "12.4"), ("West wall", "8")]


@pytest.fixture
def _no_papers():
    """They are part of the story, and made."""


@pytest.fixture
def owner(db):
    made = make_applicator(EMAIL, name="Alex Applicator", is_owner=True, password=PASSWORD)
    record_rows_by_hand()
    return made


@pytest.fixture(autouse=True)
def _links_lead_here(settings, live_server):
    settings.SITE_URL = live_server.url


@pytest.fixture(scope="module")
def album(tmp_path_factory):
    """Photo files as a phone makes them: the defects, and the same places put right."""
    folder = tmp_path_factory.mktemp("camera")
    shots = {
        "drop": "kh-1204-mortar_drop",
        "drop-wide": "kh-1158-mortar_drop",
        "drop-half-fixed": "kh-1213-mortar_drop",
        "drop-fixed": "kh-1204-mortar_drop-fixed",
        "soil": "kh-1204-soil_against_brick",
        "soil-fixed": "kh-1204-soil_against_brick-fixed",
    }
    files = {}
    for name, picture in shots.items():
        files[name] = folder / f"{name}.jpg"
        files[name].write_bytes(photo_file(Shot(picture)))
    return files


def link_in_mail(to, subject):
    """The first link of the newest e-mail to somebody whose subject has these words."""
    for message in reversed(mail.outbox):
        if message.to == [to] and subject in message.subject:
            return re.search(r"https?://\S+", message.body).group()
    raise AssertionError(f"no such e-mail; there are {[m.subject for m in mail.outbox]}")


def choose_photos(page, *files):
    """Choose files in the page's photo field, as from a phone's gallery."""
    page.locator("input[type=file]").set_input_files([str(file) for file in files])


class Applicator:
    """The applicator at their phone."""

    def __init__(self, page):
        self.page = page

    def sign_in(self):
        self.page.goto("/")
        self.page.get_by_label("E-mail address").last.fill(EMAIL)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.page.get_by_role("button", name="Sign in with a password").click()
        expect(self.page.get_by_role("heading", name="Today", exact=True)).to_be_visible()

    def add_site(self, wanted: date):
        page = self.page
        page.get_by_role("link", name="Add the first site").click()
        page.get_by_label("Name of the builder").fill("Wattle Homes")
        page.get_by_role("button", name="Add and continue").click()
        page.get_by_label("Lot or number, and street").fill("12 Tallowood Way")
        page.get_by_label("Suburb").fill("Mirrin Vale")
        page.get_by_label("State").first.select_option("NSW")
        page.get_by_label("Postcode").fill("2999")
        page.get_by_label("Builder's job number").fill("WH-204")
        page.get_by_label("Treatment wanted on").fill(wanted.isoformat())
        page.get_by_role("button", name="Save and enter the walls").click()

    def enter_walls(self):
        page = self.page
        rows = page.locator("[data-wall-row]")
        for number, (name, length) in enumerate(WALLS):
            rows.nth(number).get_by_label("Length, m").fill(length)
            rows.nth(number).get_by_label("Name").fill(name)
        page.get_by_role("button", name="Save the walls").click()
        expect(page.get_by_role("heading", name="12 Tallowood Way")).to_be_visible()

    def invite(self):
        page = self.page
        page.get_by_role("link", name="Invite somebody").click()
        page.get_by_label("E-mail address").fill(SUPERVISOR)
        page.get_by_role("button", name="Send the invitation").click()
        expect(page.get_by_text(f"We will e-mail {SUPERVISOR} a link")).to_be_visible()

    def open_site(self):
        page = self.page
        page.goto("/office/")
        find = page.get_by_role("search", name="Sites")
        find.get_by_label("Find a site by address").fill("WH-204")
        find.get_by_role("button", name="Find").click()
        page.get_by_role("link", name=re.compile("12 Tallowood Way")).first.click()

    def start_report(self):
        self.open_site()
        self.page.get_by_role("link", name="Start the report").first.click()
        self.page.get_by_role("button", name="Start at the first wall").click()

    def add_item(self, wall, kind, files, start, end="", measured=None):
        page = self.page
        page.get_by_role("link", name=f"Add an item to {wall}").click()
        page.get_by_role("link", name=kind).click()
        choose_photos(page, *files)
        if measured:
            label, value = measured
            page.get_by_label(label, exact=False).fill(value)
        page.get_by_label("From, m").fill(start)
        page.get_by_label("To, m").fill(end)
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.get_by_role("heading", name="Draft report")).to_be_visible()

    def check_walls(self, labels):
        for label in labels:
            self.page.get_by_role("button", name=re.compile(f"Checked.*{label}")).click()
            expect(
                self.page.get_by_role("button", name=re.compile(f"Undo.*{label}"))
            ).to_be_visible()

    def issue(self):
        page = self.page
        page.get_by_role("link", name="Check and issue").click()
        page.get_by_role("button", name="Issue the report").click()
        expect(page.get_by_text("2 things must be fixed before we can book.")).to_be_visible()

    def review(self):
        self.page.goto("/office/")
        self.page.get_by_role("link", name=re.compile("to review")).first.click()

    def accept(self, number):
        self.page.get_by_role("button", name=f"Accept item {number}").click()
        expect(self.page.get_by_text(f"Item {number}: accepted.")).to_be_visible()

    def send_back(self, number, reason):
        page = self.page
        item = page.locator("article").filter(has=page.get_by_text(f"Send item {number} back"))
        item.locator("summary", has_text="Send back").click()
        item.get_by_label("What is still wrong?").fill(reason)
        item.get_by_role("button", name=f"Send item {number} back").click()
        expect(page.get_by_text(f"Item {number}: sent back.")).to_be_visible()

    def offer(self, words):
        self.page.goto("/office/")
        self.page.get_by_role("link", name=re.compile("Asked for")).click()
        self.page.get_by_role("button", name=re.compile(words)).click()
        expect(self.page.get_by_role("status")).to_be_visible()


class Supervisor:
    """The builder's site supervisor at their desk."""

    def __init__(self, page):
        self.page = page

    def accept_invitation(self):
        page = self.page
        page.goto(link_in_mail(SUPERVISOR, "invites you"))
        page.get_by_label("Your name").fill("Sam Supervisor")
        page.get_by_label("Your position").fill("Site supervisor")
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_role("heading", name="My sites")).to_be_visible()

    def sign_in_by_code(self):
        page = self.page
        page.goto("/")
        page.get_by_label("Your e-mail address").fill(SUPERVISOR)
        page.get_by_role("button", name="Send me a code").click()
        expect(page.get_by_role("heading", name="Enter the code")).to_be_visible()
        self.enter_code("Sign in")
        expect(page.get_by_role("heading", name="My sites")).to_be_visible()

    def says(self, sentence):
        self.page.goto("/builder/")
        expect(self.page.get_by_text(sentence)).to_be_visible()

    def next_step(self, label):
        self.page.goto("/builder/")
        self.page.get_by_role("link", name=f"{label} 12 Tallowood Way").click()

    def show_both_fixed(self, drop, soil):
        page = self.page
        page.get_by_role("link", name="Mark several as fixed").click()
        drop_item = page.locator("section").filter(has_text="Mortar drop").last
        soil_item = page.locator("section").filter(has_text="Soil against brick").last
        for item, file in ((drop_item, drop), (soil_item, soil)):
            item.get_by_label("Photos of the fix").set_input_files(str(file))
        page.get_by_role("button", name="Send as fixed").click()
        expect(page.get_by_text("Sent. We will check items 1 and 2.")).to_be_visible()

    def show_fixed(self, number, file, note):
        page = self.page
        page.get_by_role("link", name=re.compile(rf"Mark as fixed ?: item {number}$")).click()
        choose_photos(page, file)
        page.get_by_label("Note").fill(note)
        page.get_by_role("button", name="Send as fixed").click()
        expect(page.get_by_text(f"Sent. We will check item {number}.")).to_be_visible()

    def enter_code(self, button):
        code = re.search(r"^\s*([A-Z0-9-]{4,})\s*$", mail.outbox[-1].body, re.MULTILINE).group(1)
        self.page.get_by_label("Code").fill(code)
        self.page.get_by_role("button", name=button).click()

    def show_who(self):
        """Who came by an invitation has not shown yet that it is them."""
        page = self.page
        page.get_by_role("button", name="E-mail me a code").click()
        expect(page.get_by_role("heading", name="Enter the code")).to_be_visible()
        self.enter_code("Continue")
        expect(page.get_by_role("heading", name="Check each wall, then tick")).to_be_visible()

    def confirm(self):
        page = self.page
        self.next_step("Confirm readiness")
        self.show_who()
        for wall, _ in WALLS:
            page.get_by_role("button", name=f"Tick all of this wall {wall}").click()
        self.sign()

    def sign(self):
        page = self.page
        page.get_by_role("button", name="Sign and confirm").click()
        expect(page.get_by_text("Confirmed. Now ask for a day.")).to_be_visible()

    def ask(self, day):
        page = self.page
        page.get_by_label(f"Morning of {day:%A} {day.day} {day:%B}", exact=False).check()
        page.get_by_role("button", name="Ask for these").click()
        expect(page.get_by_text("Sent: 1 half-day.")).to_be_visible()

    def accept(self):
        page = self.page
        page.goto(link_in_mail(SUPERVISOR, "Day offered"))
        page.get_by_role("button", name=re.compile("^Accept")).click()
        expect(page.get_by_text(re.compile("^Booked for"))).to_be_visible()


@pytest.mark.long  # as the one below
def test_from_a_new_site_to_a_confirmed_booking(open_as, owner, album):
    calendar = calendar_of("NSW")
    wanted = calendar.add_working_days(date.today() + timedelta(days=1), 10)
    day = calendar.add_working_days(date.today() + timedelta(days=1), 2)
    applicator = Applicator(open_as(None, "/", PHONE))
    applicator.sign_in()
    applicator.add_site(wanted)
    applicator.enter_walls()
    applicator.invite()

    supervisor = Supervisor(open_as(None, "/", DESK))
    supervisor.accept_invitation()
    supervisor.says("We have not issued a report for this site yet.")

    applicator.start_report()
    applicator.check_walls(["North wall", "East wall", "South wall", "West wall"])
    drop = [album["drop"], album["drop-wide"]]
    applicator.add_item("North wall", "Mortar drop", drop, "2.4", "5.1")
    measured = ("Height of the soil on the brick", "180")
    applicator.add_item("East wall", "Soil against brick", [album["soil"]], "1", "4.5", measured)
    applicator.issue()

    supervisor.page.goto(link_in_mail(SUPERVISOR, "2 things to fix"))
    page = supervisor.page
    expect(page.get_by_text("North wall, from 2.4 m to 5.1 m (2.7 m)")).to_be_visible()
    expect(page.get_by_text("Soil lies 180 mm up the brick.", exact=False)).to_be_visible()
    supervisor.show_both_fixed(album["drop-half-fixed"], album["soil-fixed"])
    supervisor.says("We still have to check 2 fixes.")

    applicator.review()
    applicator.accept(2)
    applicator.send_back(1, "The left half is still there.")

    supervisor.next_step("See what to fix")
    expect(supervisor.page.get_by_text("The left half is still there.")).to_be_visible()
    supervisor.show_fixed(1, album["drop-fixed"], "Chipped off, all of it.")

    applicator.review()
    applicator.accept(1)

    supervisor.says("Ready to confirm.")
    supervisor.confirm()
    supervisor.ask(day)
    applicator.offer(f"{day.day} {day:%B}")
    supervisor.accept()

    booking = Booking.objects.get()
    assert (booking.state, booking.day, booking.half) == ("confirmed", day, "morning")
    assert booking.confirmation.name == "Sam Supervisor"
    assert Photo.objects.filter(item=None, fix=None, run_check=None).count() == 0
    made = set(Paper.objects.made().values_list("kind", flat=True))
    assert {"site_report", "fix_list", "confirmation"} <= made
    booked = [message for message in mail.outbox if message.subject.startswith("Booked for")]
    assert {message.to[0] for message in booked} == {EMAIL, SUPERVISOR}
    invite = next(part for part in booked[0].attachments if part[0] == "treatment.ics")
    event = icalendar.Calendar.from_ical(invite[1]).walk("VEVENT")[0]
    assert event["dtstart"].dt.date() == day
    call_command("verify_record")


@pytest.mark.long  # each step has a short test of its own screen
def test_the_main_steps_without_javascript(open_as, owner, album, monkeypatch):
    """The same people with scripts off: forms carry the photos, pages do the rest.

    The story above makes the papers; here they would only take time.
    """
    monkeypatch.setattr("readiness.actions.papers.asking.enqueue", lambda paper: None)
    calendar = calendar_of("NSW")
    day = calendar.add_working_days(date.today() + timedelta(days=1), 2)
    off = {"java_script_enabled": False}
    applicator = Applicator(open_as(None, "/", PHONE, **off))
    applicator.sign_in()
    applicator.add_site(calendar.add_working_days(date.today() + timedelta(days=1), 10))
    applicator.enter_walls()
    applicator.invite()
    first = Supervisor(open_as(None, "/", DESK, **off))
    first.accept_invitation()

    applicator.start_report()
    applicator.check_walls([name for name, _ in WALLS])
    applicator.add_item("North wall", "Mortar drop", [album["drop"]], "2.4", "5.1")
    page = applicator.page
    page.get_by_role("link", name="Check and issue").click()
    page.get_by_role("button", name="Issue the report").click()
    expect(page.get_by_text("1 thing must be fixed before we can book.")).to_be_visible()

    supervisor = Supervisor(open_as(None, "/", DESK, **off))
    supervisor.sign_in_by_code()
    supervisor.next_step("See what to fix")
    supervisor.show_fixed(1, album["drop-fixed"], "Chipped off.")
    applicator.review()
    applicator.accept(1)

    supervisor.next_step("Confirm readiness")
    tick_all(supervisor.page, 3 * len(WALLS))
    supervisor.sign()
    supervisor.ask(day)
    applicator.offer(f"{day.day} {day:%B}")
    supervisor.accept()
    assert Booking.objects.get().state == "confirmed"
    assert Site.objects.get().record.filter(verb="booking_confirmed").count() == 1
