"""Signing in and the account's screens, in a real browser."""

import re
import time

import pytest
from allauth.usersessions.models import UserSession
from django.contrib.sessions.backends.db import SessionStore
from playwright.sync_api import expect

from portal.accounts.demo import sign_in_path
from readiness.actions.people import inviting
from tests.browser.conftest import DESK, PHONE, SIZES, tick_all
from tests.factories import make_applicator, make_issued, token_of
from tests.portal.accounts.test_sign_in import code_in, totp
from tests.proving import METHODS

pytestmark = pytest.mark.django_db(transaction=True)

PASSWORD = "three random words"


@pytest.fixture
def staff():
    return make_applicator("staff@applicator.example", password=PASSWORD, is_owner=True)


def sign_in_with_password(page):
    page.get_by_label("E-mail address").last.fill("staff@applicator.example")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in with a password").click()


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_contact_signs_in_on_a_phone_with_a_code(open_as, contact, mailoutbox, scripts):
    page = open_as(None, "/accounts/login/", PHONE, java_script_enabled=scripts)
    page.get_by_label("Your e-mail address").fill(contact.email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_label("Code").fill(code_in(mailoutbox[0]))
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile("/builder/|/cautions/"))
    page.get_by_role("link", name=re.compile("Sam Supervisor")).click()
    page.get_by_role("button", name="Sign out of this device").click()
    page.wait_for_url("**/accounts/login/")


def test_an_invitation_is_accepted_on_a_phone(open_as, axe, applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    page = open_as(None, f"/accounts/invitation/{token_of(invited)}/", PHONE)
    axe(page)
    page.get_by_role("button", name="Sign in").click()
    expect(page.locator(":focus").get_by_text("Please put this right")).to_be_visible()
    axe(page)
    page.get_by_label("Your name").fill("Kim New")
    page.get_by_label("Your position").fill("Site supervisor")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name=re.compile("Kim New")).wait_for()


@pytest.mark.long
def test_staff_must_set_up_a_second_factor_and_then_use_it(open_as, axe, staff, settings):
    settings.READINESS_REQUIRE_SECOND_FACTOR = True
    page = open_as(None, "/accounts/login/", PHONE)
    sign_in_with_password(page)
    page.wait_for_url("**/accounts/2fa/")
    axe(page)
    page.get_by_role("link", name="Set up the app").click()
    page.get_by_label("Your password").fill(PASSWORD)
    axe(page)
    page.get_by_role("button", name="Continue").click()
    secret = page.locator(".secret").inner_text()
    axe(page)
    page.get_by_label("Six-digit code").fill(totp(secret, time.time()))
    page.get_by_role("button", name="Turn it on").click()
    page.get_by_role("heading", name="Recovery codes").wait_for()
    expect(page.locator(".codes li")).to_have_count(10)
    recovery = page.locator(".codes li").first.inner_text()
    axe(page)
    page.get_by_role("link", name="I have saved them. Continue").click()
    page.goto("/accounts/logout/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/accounts/login/")
    sign_in_with_password(page)
    page.get_by_role("heading", name="One more step").wait_for()
    axe(page)
    page.get_by_label("Code").fill(recovery)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name=re.compile("Alex Applicator")).wait_for()


def add_device(page):
    """A device that holds passkeys, whose fingerprint is always the right one."""
    device = page.context.new_cdp_session(page)
    device.send("WebAuthn.enable")
    device.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "internal",
                "hasResidentKey": True,
                "hasUserVerification": True,
                "isUserVerified": True,
                "automaticPresenceSimulation": True,
            }
        },
    )


@pytest.mark.long
def test_a_contact_adds_a_passkey_signs_with_it_and_signs_in_with_it(
    open_as, axe, applicator, contact, site, mailoutbox
):
    report = make_issued(applicator, site, kinds=())
    contact.memberships.update(vouched_how="address")
    page = open_as(None, "/accounts/login/", PHONE)
    add_device(page)
    page.get_by_label("Your e-mail address").fill(contact.email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_label("Code").fill(code_in(mailoutbox[-1]))
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name=re.compile("Sam Supervisor")).click()
    page.get_by_role("link", name="Passkeys").click()
    axe(page)
    page.get_by_role("link", name="Add a passkey").click()
    page.get_by_label("Name").fill("Site phone")
    axe(page)
    page.get_by_role("button", name="Add the passkey").click()
    page.get_by_text("Passkey added.").wait_for()
    page.get_by_text("Site phone").first.wait_for()
    axe(page)
    assert mailoutbox[-1].subject == "Passkey added"
    page.goto("/accounts/logout/")
    page.get_by_role("button", name="Sign out").click()
    axe(page)
    page.get_by_role("button", name="Sign in with a passkey").click()
    page.get_by_role("link", name=re.compile("Sam Supervisor")).wait_for()
    a_day_passes(contact)
    page.goto(f"/builder/confirming/{site.pk}/")
    page.get_by_role("link", name="Use a passkey").click()
    axe(page)
    page.get_by_role("button", name="Use a passkey").click()
    page.get_by_role("button", name="Sign and confirm").wait_for()
    tick_all(page, 12)
    page.get_by_role("button", name="Sign and confirm").click()
    page.get_by_text("Confirmed. Now ask for a day.").wait_for()
    assert report.confirmations.get().proved_by == "passkey"


def a_day_passes(user):
    """What the session showed is not of today any more."""
    for row in UserSession.objects.filter(user=user):
        session = SessionStore(row.session_key)
        for record in session[METHODS]:
            record["at"] -= 24 * 3600
        session.save()


@pytest.mark.long
def test_a_passkey_is_added_and_signs_in_without_a_password(open_as, axe, staff):
    page = open_as(None, "/accounts/login/", DESK)
    add_device(page)
    sign_in_with_password(page)
    page.get_by_role("link", name=re.compile("Alex Applicator")).wait_for()
    page.goto("/accounts/2fa/webauthn/add/")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Continue").click()
    page.get_by_label("Name").fill("Office computer")
    page.get_by_label("Use it without a password").check()
    axe(page)
    page.get_by_role("button", name="Add the passkey").click()
    page.wait_for_url("**/recovery-codes/**")
    page.get_by_text("Passkey added.").wait_for()
    page.goto("/accounts/reauthenticate/")
    page.get_by_role("link", name="Use a passkey").wait_for()
    page.goto("/accounts/2fa/webauthn/")
    page.get_by_text("Office computer").first.wait_for()
    axe(page)
    page.goto("/accounts/logout/")
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Sign in with a passkey").click()
    page.get_by_role("link", name=re.compile("Alex Applicator")).wait_for()
    assert "/login/" not in page.url


@SIZES
def test_every_account_screen_is_accessible_and_fits(open_as, axe, staff, contact, builder, size):
    paths = [
        "/cautions/",
        "/accounts/",
        "/accounts/sessions/",
        "/accounts/logout/",
        "/office/people/staff/",
        "/office/people/staff/invite/",
        "/accounts/2fa/",
        "/accounts/password/change/",
        f"/office/people/builders/{builder.pk}/",
        f"/office/people/builders/{builder.pk}/invite/",
        f"/office/people/contacts/{contact.memberships.get().pk}/",
        "/no/such/page/",
    ]
    inviting.invite_contact(staff, builder, "new@wattle.example")
    inviting.invite_staff(staff, "new@applicator.example")
    page = open_as(staff, "/accounts/", size)
    for path in paths:
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path
    page = open_as(None, "/accounts/login/", size)
    for path in ("/accounts/login/", "/accounts/login/code/", "/accounts/password/reset/"):
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path


def test_the_keyboard_alone_reaches_the_page_and_the_first_field(open_as):
    page = open_as(None, "/accounts/login/", DESK)
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_text("Skip to content")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_id("code-email")


def test_the_demos_link_opens_the_home_screen(open_as, contact):
    page = open_as(None, sign_in_path(contact), PHONE)
    page.get_by_role("link", name=re.compile("Sam Supervisor")).wait_for()
