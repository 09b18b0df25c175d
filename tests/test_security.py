"""The security log: what is noted at the doors, what never is, and for how long."""

import json
import re
from datetime import timedelta

import pytest
from allauth.mfa.models import Authenticator
from django.core.cache import cache
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse

from portal.requests import few, security_log
from readiness import clock, security
from readiness.actions.errors import Refused
from readiness.actions.firm import business, rule_values
from readiness.actions.people import inviting, removing, rights
from readiness.models import SecurityEvent, SecurityKind, User
from readiness.operations import sweeping
from readiness.wording.security import WORDS
from tests.factories import make_applicator, token_of
from tests.portal.accounts.test_sign_in import CODE, CONFIRM, LOGIN, code_in

pytestmark = pytest.mark.django_db

PASSWORD = "three random words"
AFAR = "127.0.0.77"
PHONE = "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 Chrome/129.0 Mobile Safari/537.36"


@pytest.fixture(autouse=True)
def _no_tries_yet(db):
    cache.clear()


@pytest.fixture
def browser():
    return Client(REMOTE_ADDR=AFAR, headers={"User-Agent": PHONE})


def told() -> list[tuple]:
    """What was noted, the oldest first."""
    return [(e.kind, e.account, e.about) for e in SecurityEvent.objects.order_by("pk")]


def kinds() -> list[str]:
    return [kind for kind, _, _ in told()]


def test_who_signed_in_as_whom_from_where_and_how(browser, contact, mailoutbox):
    browser.post(CODE, {"email": contact.email})
    browser.post(CONFIRM, {"code": "0000-0000"})
    browser.post(CONFIRM, {"code": code_in(mailoutbox[0])})
    browser.post("/accounts/logout/")
    assert told() == [
        (kind, contact.pk, None)
        for kind in ("code_sent", "sign_in_failed", "signed_in", "signed_out")
    ]
    for event in SecurityEvent.objects.all():
        assert (event.address, event.device, event.email) == (AFAR, "Chrome on Android", "")
    assert SecurityEvent.objects.get(kind="signed_in").details == {"methods": ["code"]}


def test_a_wrong_password_is_noted_by_account_and_a_strangers_by_address(browser):
    staff = make_applicator(password=PASSWORD)
    browser.post(LOGIN, {"login": staff.email.upper(), "password": "wrong"})
    browser.post(LOGIN, {"login": "nobody@nowhere.example", "password": "wrong"})
    browser.post(LOGIN, {"login": staff.email, "password": PASSWORD})
    failed = SecurityEvent.objects.filter(kind="sign_in_failed").order_by("pk")
    assert [(event.account, event.email) for event in failed] == [
        (staff.pk, ""),
        (None, "nobody@nowhere.example"),
    ]
    assert SecurityEvent.objects.filter(kind="signed_in", account=staff.pk).exists()


def test_a_mail_server_that_is_down_is_noted(browser, contact, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    browser.post(CODE, {"email": contact.email})
    assert kinds() == ["code_not_sent"]


def test_too_many_tries_are_noted(contact):
    for _ in range(5):
        Client().post(CODE, {"email": contact.email})
    assert kinds().count("too_many") == 2
    event = SecurityEvent.objects.filter(kind="too_many").first()
    assert (event.account, event.email, event.details) == (contact.pk, "", {"path": CODE})


def test_passwords_and_second_factors_are_noted(client_for):
    staff = make_applicator(password=PASSWORD)
    client = client_for(staff)
    client.post(
        reverse("account_change_password"),
        {"oldpassword": PASSWORD, "password1": "four other words", "password2": "four other words"},
    )
    again = reverse("account_reauthenticate")
    client.post(again, {"password": "four other words"})
    owner = make_applicator(is_owner=True)
    Authenticator.objects.create(user=staff, type="webauthn", data={})
    page = reverse("office:change_staff", args=[staff.pk])
    client_for(owner).post(page, {"change": "reset"})
    noted = told()
    assert ("password_changed", staff.pk, None) in noted
    assert ("proved_again", staff.pk, None) in noted
    assert ("factors_reset", owner.pk, staff.pk) in noted


def test_a_passkey_that_nobody_has_is_noted(browser):
    page = reverse("mfa_login_webauthn")
    browser.get(page, headers={"Accept": "application/json"})
    body = {"clientDataJSON": "AA", "authenticatorData": "AA", "signature": "AA"}
    sent = {
        "id": "AA",
        "rawId": "AA",
        "type": "public-key",
        "response": body | {"userHandle": "_w"},
    }
    browser.post(page, {"credential": json.dumps(sent)})
    event = SecurityEvent.objects.get()
    assert (event.kind, event.account, event.details) == (
        "sign_in_failed",
        None,
        {"methods": ["webauthn"]},
    )


def test_refusals_are_noted_without_what_lets_people_in(client_for, applicator, contact):
    technician = make_applicator()
    page = reverse("office:staff") + "invite/?q=secret-query"
    assert client_for(technician).get(page).status_code == 403
    strict = Client(enforce_csrf_checks=True)
    builder = contact.memberships.get().builder
    token = token_of(inviting.invite_contact(applicator, builder, "n@wattle.example"))
    assert strict.post(reverse("accounts:invitation", args=[token])).status_code == 403
    refused = SecurityEvent.objects.filter(kind="refused").order_by("pk")
    assert [event.account for event in refused] == [technician.pk, None]
    paths = [event.details["path"] for event in refused]
    assert paths[0] == reverse("office:invite_staff")
    assert paths[1] == "/accounts/invitation/<str:token>/"


def test_a_flood_of_refusals_fills_no_table(client_for, monkeypatch):
    monkeypatch.setattr(security_log, "MOST_A_MINUTE", 3)
    monkeypatch.setattr(few, "monotonic", lambda: 1000.0)
    client = client_for(make_applicator())
    for _ in range(6):
        client.get(reverse("office:invite_staff"))
    assert kinds().count("refused") == 3
    monkeypatch.setattr(few, "monotonic", lambda: 1020.0)  # the next full minute
    client.get(reverse("office:invite_staff"))
    assert kinds().count("refused") == 4


def test_rights_and_people_are_noted(applicator, contact, builder):
    colleague = make_applicator()
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    inviting.resend_invitation(applicator, invited)
    inviting.revoke_invitation(applicator, invited)
    accepted = inviting.invite_staff(applicator, "new@applicator.example")
    new = inviting.accept_invitation(token_of(accepted), name="New", password=PASSWORD)
    person = contact.memberships.get()
    rights.change_contact(applicator, person, position="Boss", sites=None)
    rights.switch_contact(applicator, person, on=False)
    rights.switch_contact(applicator, person, on=True)
    rights.switch_staff(applicator, colleague, on=False)
    rights.change_ownership(applicator, colleague, owner=True)
    rights.change_ownership(applicator, colleague, owner=False)
    rights.sign_out_everywhere(applicator, colleague)
    removing.remove_person(applicator, contact)
    by, them = applicator.pk, colleague.pk
    assert told() == [
        ("invited", by, None),
        ("invited", by, None),
        ("invitation_cancelled", by, None),
        ("invited", by, None),
        ("invitation_accepted", new.pk, None),
        ("rights_changed", by, contact.pk),
        ("switched_off", by, contact.pk),
        ("switched_on", by, contact.pk),
        ("switched_off", by, them),
        ("made_owner", by, them),
        ("no_longer_owner", by, them),
        ("sessions_ended", by, them),
        ("person_removed", by, contact.pk),
    ]
    assert not SecurityEvent.objects.exclude(email="").exists()


def test_settings_are_noted_by_their_names(applicator):
    business.change_business(applicator, name="Ironbark", phone="")
    rule_values.change_rule_values(applicator, {"labour_cents_per_hour": "9900"})
    events = SecurityEvent.objects.order_by("pk")
    assert [(e.kind, e.account, e.details) for e in events] == [
        ("settings_changed", applicator.pk, {"fields": ["name"]}),
        ("rules_changed", applicator.pk, {"fields": ["labour_cents_per_hour"]}),
    ]


def test_exports_and_owners_made_by_command_are_noted(site, tmp_path):
    call_command("export_site", str(site.pk), "--out", str(tmp_path / "a.zip"))
    call_command("add_owner", "o@applicator.example", name="Olive")
    owner = User.objects.get(email="o@applicator.example")
    assert told() == [("exported", None, None), ("made_owner", None, owner.pk)]
    assert SecurityEvent.objects.get(kind="exported").details == {
        "site": str(site.pk),
        "whole": True,
    }


def test_nothing_secret_is_ever_in_it(browser, contact, mailoutbox):
    staff = make_applicator(password=PASSWORD)
    browser.post(CODE, {"email": contact.email})
    code = code_in(mailoutbox[0])
    browser.post(CONFIRM, {"code": code})
    browser.post("/accounts/logout/")
    browser.post(LOGIN, {"login": staff.email, "password": "a wrong one typed"})
    browser.post(LOGIN, {"login": "my secret password", "password": PASSWORD})
    browser.post("/accounts/password/reset/", {"email": staff.email})
    link = re.search(r"key/(\S+)/", mailoutbox[-1].body)[1]
    text = json.dumps([security.line_of(event) for event in SecurityEvent.objects.all()])
    for secret in (code, code.replace("-", ""), PASSWORD, "a wrong one", "my secret", link):
        assert secret not in text
    for address in (contact.email, staff.email):
        assert address not in text
    assert SecurityEvent.objects.count() >= 5


def test_each_event_is_a_line_of_json(contact, caplog, django_capture_on_commit_callbacks):
    security.log.addHandler(caplog.handler)
    with (
        security.asked_from(AFAR, "Firefox on Linux"),
        django_capture_on_commit_callbacks(execute=True),
    ):
        security.note(SecurityKind.SIGNED_IN, contact, methods=["code"])
    security.log.removeHandler(caplog.handler)
    (record,) = caplog.records
    line = json.loads(record.getMessage())
    assert "\n" not in record.getMessage()
    assert line.pop("at").endswith("+00:00")
    assert line == {
        "event": "signed_in",
        "account": str(contact.pk),
        "address": AFAR,
        "device": "Firefox on Linux",
        "methods": ["code"],
    }


def test_what_was_taken_back_is_no_event(applicator):
    with pytest.raises(Refused):
        rights.change_ownership(applicator, applicator, owner=False)
    assert told() == []


def test_a_log_that_can_not_be_written_keeps_nobody_out(client_for, contact, monkeypatch, caplog):
    def full(**fields):
        raise DatabaseError("database or disk is full")

    monkeypatch.setattr(SecurityEvent.objects, "create", full)
    client = client_for(contact)
    assert client.get("/builder/").status_code == 200
    assert "Not noted in the security log" in caplog.text


def test_no_event_is_ever_changed(contact):
    event = security.note(SecurityKind.SIGNED_IN, contact)
    for change in ({"account": None}, {"kind": "signed_out"}, {"at": clock.now()}):
        with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
            SecurityEvent.objects.filter(pk=event.pk).update(**change)
    with connection.cursor() as cursor, pytest.raises(DatabaseError), transaction.atomic():
        cursor.execute("UPDATE readiness_securityevent SET details = '{}'")


def test_old_events_go_and_newer_ones_stay(contact, settings):
    settings.READINESS_SECURITY_LOG_DAYS = 30
    with clock.at(clock.now() - timedelta(days=31)):
        security.note(SecurityKind.SIGNED_IN, contact)
    with clock.at(clock.now() - timedelta(days=29)):
        kept = security.note(SecurityKind.SIGNED_OUT, contact)
    sweeping.sweep()
    assert list(SecurityEvent.objects.all()) == [kept]


def test_every_kind_has_words():
    assert set(WORDS) == set(SecurityKind)
