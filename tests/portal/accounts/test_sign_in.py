"""Signing in: a code for builder contacts, a password and a second factor for staff."""

import base64
import hashlib
import hmac
import re
import time

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import TOTP
from django.core.cache import cache
from django.db import connection

from portal.accounts.demo import sign_in_path
from tests.factories import make_applicator, make_contact

pytestmark = pytest.mark.django_db

PASSWORD = "three random words"
LOGIN, CODE, CONFIRM = (
    "/accounts/login/",
    "/accounts/login/code/",
    "/accounts/login/code/confirm/",
)


@pytest.fixture(autouse=True)
def _no_tries_yet(db):
    cache.clear()


def signed_in_as(client):
    return client.session.get("_auth_user_id")


def ask_for_a_code(client, email):
    return client.post(CODE, {"email": email}, follow=True)


def code_in(message):
    return re.search(r"^ {4}(\S+)$", message.body, re.MULTILINE)[1]


def totp(secret, at):
    """The six-digit code at a Unix time, worked out anew from RFC 6238 and RFC 4226."""
    message = int(at // 30).to_bytes(8, "big")
    digest = hmac.new(base64.b32decode(secret), message, hashlib.sha1).digest()
    offset = digest[-1] & 15
    number = int.from_bytes(digest[offset : offset + 4], "big") & 0x7FFFFFFF
    return f"{number % 1_000_000:06d}"


def test_the_tests_own_totp_agrees_with_rfc_6238():
    # RFC 6238 appendix B, SHA-1, last six of the eight digits it prints.
    secret = base64.b32encode(b"12345678901234567890").decode()
    assert totp(secret, 59) == "287082"
    assert totp(secret, 1111111109) == "081804"
    assert totp(secret, 20000000000) == "353130"


def test_a_contact_signs_in_with_the_code_that_was_e_mailed(client, contact, mailoutbox):
    page = ask_for_a_code(client, contact.email)
    assert "Enter the code" in page.content.decode()
    (message,) = mailoutbox
    assert message.to == [contact.email]
    assert code_in(message) in message.alternatives[0][0]
    client.post(CONFIRM, {"code": code_in(message)})
    assert signed_in_as(client) == str(contact.pk)


def test_a_wrong_code_does_not_sign_in_and_three_end_it(client, contact, mailoutbox):
    ask_for_a_code(client, contact.email)
    first = client.post(CONFIRM, {"code": "0000-0000"})
    assert "Wrong code." in first.content.decode()
    for _ in range(2):
        client.post(CONFIRM, {"code": "0000-0000"})
    client.post(CONFIRM, {"code": code_in(mailoutbox[0])})
    assert signed_in_as(client) is None


def pages_and_mail(client, mailoutbox, url, data):
    mailoutbox.clear()
    page = client.post(url, data, follow=True).content.decode()
    said = re.sub(r'value="[^"]*"', "", page.replace(data["email"], "ADDRESS"))
    mail = [(m.subject, m.body) for m in mailoutbox]
    return re.sub(r"X-CSRFToken[^}]*", "", said), mail


def test_asking_for_a_code_tells_nobody_which_accounts_exist(client, contact, mailoutbox):
    staff = make_applicator(password=PASSWORD)
    off = make_contact(email="off@wattle.example")
    off.memberships.update(is_active=False)
    known, _ = pages_and_mail(client, mailoutbox, CODE, {"email": contact.email})
    answers = []
    for email in (staff.email, "nobody@nowhere.example", off.email):
        cache.clear()
        client.post("/accounts/logout/")
        page, mail = pages_and_mail(client.__class__(), mailoutbox, CODE, {"email": email})
        assert page == known
        answers.append(mail)
    assert answers[0] == answers[1] == answers[2]
    assert "sign in with your password or passkey" in answers[0][0][1]


def test_a_new_password_is_for_staff_only(client, contact, mailoutbox):
    staff = make_applicator()
    reset = "/accounts/password/reset/"
    for_contact, mail = pages_and_mail(client, mailoutbox, reset, {"email": contact.email})
    assert "Choose a new password" not in mail[0][0]
    for_staff, mail = pages_and_mail(client, mailoutbox, reset, {"email": staff.email})
    assert for_staff == for_contact
    link = re.search(r"http\S+/accounts/password/reset/key/\S+", mail[0][1])[0]
    form = client.get(link, follow=True)
    client.post(form.request["PATH_INFO"], {"password1": PASSWORD, "password2": PASSWORD})
    staff.refresh_from_db()
    assert staff.check_password(PASSWORD)


def test_staff_sign_in_with_a_password(client):
    staff = make_applicator(password=PASSWORD)
    wrong = client.post(LOGIN, {"login": staff.email, "password": "something else"})
    assert "address or password is wrong" in wrong.content.decode()
    client.post(LOGIN, {"login": staff.email.upper(), "password": PASSWORD})
    assert signed_in_as(client) == str(staff.pk)


def test_staff_with_an_authenticator_app_are_asked_for_its_code(client):
    staff = make_applicator(password=PASSWORD)
    secret = "JBSWY3DPEHPK3PXP"
    TOTP.activate(staff, secret)
    stored = Authenticator.objects.get(user=staff).data["secret"]
    assert secret not in stored, "the secret is stored encrypted"
    page = client.post(LOGIN, {"login": staff.email, "password": PASSWORD}, follow=True)
    assert page.request["PATH_INFO"] == "/accounts/2fa/authenticate/"
    assert signed_in_as(client) is None
    client.post("/accounts/2fa/authenticate/", {"code": "000000"})
    assert signed_in_as(client) is None
    client.post("/accounts/2fa/authenticate/", {"code": totp(secret, time.time())})
    assert signed_in_as(client) == str(staff.pk)


def test_staff_without_a_second_factor_are_led_to_set_one_up(client_for, applicator, settings):
    settings.READINESS_REQUIRE_SECOND_FACTOR = True
    client = client_for(applicator)
    for path in ("/", "/accounts/", "/office/"):
        if client.get(path).status_code != 404:
            assert client.get(path).url == "/accounts/2fa/"
    assert client.get("/accounts/2fa/").status_code == 200
    assert client.get("/cautions/").status_code == 200
    TOTP.activate(applicator, "JBSWY3DPEHPK3PXP")
    assert client.get("/accounts/").status_code == 200


def test_a_second_factor_is_no_matter_for_contacts(client_for, contact, settings):
    settings.READINESS_REQUIRE_SECOND_FACTOR = True
    client = client_for(contact)
    assert client.get("/accounts/").status_code == 200
    for path in ("/accounts/2fa/", "/accounts/2fa/totp/activate/", "/accounts/password/set/"):
        assert client.get(path).status_code == 404


def test_too_many_wrong_passwords_lock_the_address_for_a_while(client):
    staff = make_applicator(password=PASSWORD)
    for _ in range(6):
        page = client.post(LOGIN, {"login": staff.email, "password": "wrong wrong wrong"})
    assert "Too many tries" in page.content.decode()
    page = client.post(LOGIN, {"login": staff.email, "password": PASSWORD})
    assert signed_in_as(client) is None


def test_the_count_of_tries_is_kept_in_the_database_for_all_workers(client):
    client.post(LOGIN, {"login": "nobody@nowhere.example", "password": "wrong wrong wrong"})
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM readiness_cache WHERE cache_key LIKE '%allauth%'")
        assert cursor.fetchone()[0] > 0


def test_a_mail_server_that_is_down_is_said_in_plain_words(client, contact, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # nobody listens on discard
    for email in (contact.email, "nobody@nowhere.example"):
        page = ask_for_a_code(client.__class__(), email)
        assert page.status_code == 200
        assert "our mail server does not answer" in page.content.decode()


def test_nobody_signs_up_by_themselves(client):
    assert client.get("/accounts/signup/").status_code == 404
    for path in ("/accounts/email/", "/accounts/confirm-email/", "/accounts/3rdparty/"):
        assert client.get(path).status_code in (302, 404)
        assert client.get(path, follow=True).request["PATH_INFO"] in (path, LOGIN)


def test_somebody_who_is_switched_off_is_out_at_the_next_click(client_for, contact):
    client = client_for(contact)
    assert client.get("/accounts/").status_code == 200
    contact.is_active = False
    contact.save()
    assert client.get("/accounts/").url.startswith(LOGIN)


def test_the_demo_link_signs_in_with_one_click(client, contact, settings):
    settings.READINESS_DEMO = True
    client.get(sign_in_path(contact))
    assert signed_in_as(client) == str(contact.pk)


def test_the_demo_link_can_switch_from_one_person_to_another(client, contact, applicator):
    client.get(sign_in_path(contact))
    client.get(sign_in_path(applicator))
    assert signed_in_as(client) == str(applicator.pk)


def test_the_demo_link_does_not_exist_in_production(client, contact, settings):
    settings.READINESS_DEMO = False
    assert client.get(sign_in_path(contact)).status_code == 404
    assert signed_in_as(client) is None


def test_a_demo_link_that_was_tampered_with_does_not_work(client, contact):
    path = sign_in_path(contact)
    assert client.get(path[:-3] + "xx/").status_code == 404


def test_the_page_that_was_wanted_is_kept_through_another_address_and_a_new_code(
    client, contact, mailoutbox
):
    wanted = "/builder/sites/?q=lane"
    sent = {"email": "mistyped@wattle.example", "next": wanted}
    page = client.post(CODE, sent, follow=True).content.decode()
    assert 'value="/accounts/login/?next=%2Fbuilder%2Fsites%2F%3Fq%3Dlane"' in page
    client.post("/accounts/logout/")
    client.post(CODE, {"email": contact.email, "next": wanted})
    page = client.post(CONFIRM, {"action": "resend", "next": wanted}, follow=True).content.decode()
    assert "A new code is on its way." in page
    codes = [code_in(message) for message in mailoutbox if message.to == [contact.email]]
    assert len(codes) == 2
    response = client.post(CONFIRM, {"code": codes[-1], "next": wanted})
    assert response.url == wanted


def test_one_address_is_sent_few_codes_and_the_form_says_so(client, contact, mailoutbox):
    for _ in range(5):
        page = client.__class__().post(CODE, {"email": contact.email})
    assert len(mailoutbox) == 3
    assert "Too many codes were asked for." in page.content.decode()
    assert contact.email in page.content.decode(), "what was typed is still there"


def test_a_stranger_is_written_to_once_a_day_and_the_page_is_the_same(client, mailoutbox):
    pages = {
        ask_for_a_code(client.__class__(), "stranger@nowhere.example").request["PATH_INFO"]
        for _ in range(3)
    }
    assert len(mailoutbox) == 1
    assert pages == {CONFIRM}
    client.post("/accounts/password/reset/", {"email": " Stranger@nowhere.example"})
    assert len(mailoutbox) == 1


def test_one_sender_asks_for_few_codes(client, mailoutbox):
    for number in range(14):
        client.__class__().post(CODE, {"email": f"stranger{number}@nowhere.example"})
    assert len(mailoutbox) == 10


def test_a_new_password_is_sent_a_few_times_a_day(client, mailoutbox):
    staff = make_applicator()
    codes = [
        client.post("/accounts/password/reset/", {"email": staff.email}).status_code
        for _ in range(3)
    ]
    assert codes == [302, 302, 429]
    assert len(mailoutbox) == 2


def test_a_code_does_not_stand_in_the_subject(client, contact, mailoutbox):
    """Subjects are shown on locked screens, and kept in logs of mail servers."""
    ask_for_a_code(client, contact.email)
    (message,) = mailoutbox
    assert message.subject == "Your sign-in code"
    assert code_in(message).replace("-", "") not in re.sub(r"\D", "", message.subject)


def test_links_of_sign_in_mails_have_the_portals_own_name(client, mailoutbox, settings):
    settings.SITE_URL, settings.ALLOWED_HOSTS = "https://ready.example.com", ["*"]
    staff = make_applicator()
    for email in (staff.email, "nobody@nowhere.example"):
        client.post("/accounts/password/reset/", {"email": email}, headers={"host": "evil.example"})
    assert len(mailoutbox) == 2
    for message in mailoutbox:
        assert "https://ready.example.com/accounts/" in message.body
        assert "evil.example" not in message.body
    address = re.search(r"https://ready.example.com(\S+)", mailoutbox[0].body)[1]
    assert "New password" in client.get(address, follow=True).content.decode()
