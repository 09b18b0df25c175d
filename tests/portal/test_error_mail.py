"""What administrators are e-mailed of an error: where it was, and nothing of anybody."""

import logging

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from portal.error_mail import ErrorMail
from readiness.actions.people import inviting
from tests.factories import make_applicator, token_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def mails(settings):
    """The e-mails of a production's administrator, about errors of pages."""
    settings.ADMINS = [("Admin", "admin@applicator.example")]
    handler = ErrorMail(level=logging.ERROR)
    logger = logging.getLogger("django")
    logger.addHandler(handler)
    yield mail.outbox
    logger.removeHandler(handler)


@pytest.fixture
def broken(monkeypatch):
    """Pages break; a variable with a secret is at hand where they do."""

    def break_it(*args, **kwargs):
        secret = "secret-of-a-variable"  # noqa: F841  as frames have them
        raise ValueError("It broke.")

    monkeypatch.setattr("portal.accounts.views.find_invitation", break_it)
    monkeypatch.setattr("portal.office.people.views.unused", break_it)


def test_it_names_the_page_the_account_and_the_line_and_nothing_else(mails, broken, client_for):
    staff = make_applicator(name="Vera Visible")
    client = client_for(staff)
    client.get("/office/")
    client.raise_request_exception = False
    page = reverse("office:staff")
    assert client.get(page + "?q=what-was-asked").status_code == 500
    (message,) = mails
    assert message.subject.endswith(f"ERROR ValueError {page}")
    for part in (f"Page: GET {page}", str(staff.pk), "It broke.", "in break_it"):
        assert part in message.body
    cookies = [morsel.value for morsel in client.cookies.values()]
    for secret in (*cookies, "what-was-asked", "secret-of-a-variable", staff.email, "Vera"):
        assert secret not in message.body + message.subject


def test_no_link_that_lets_people_in_and_nothing_typed_goes_along(mails, broken, applicator):
    token = token_of(inviting.invite_staff(applicator, "new@applicator.example"))
    mails.clear()
    client = Client(raise_request_exception=False)
    page = reverse("accounts:invitation", args=[token])
    client.post(page, {"name": "Nora New", "password": "three random words"})
    (message,) = mails
    assert "Page: POST /accounts/invitation/<str:token>/" in message.body
    assert "Account: not known" in message.body
    for secret in (token, "Nora", "three random words", "csrf"):
        assert secret not in message.body + message.subject


def test_an_error_without_a_request_is_told_too(mails):
    logging.getLogger("django").error("The portal is unwell.")
    (message,) = mails
    assert "The portal is unwell." in message.body


def test_nobody_to_tell_is_no_error(settings):
    settings.ADMINS = []
    ErrorMail(level=logging.ERROR).emit(logging.makeLogRecord({"msg": "x", "levelname": "ERROR"}))
    assert mail.outbox == []
