"""From where a request comes: behind a proxy that nobody counted, on a socket, and in the demo."""

import logging

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.test import Client
from django.urls import reverse

from portal.loopback import is_loopback
from portal.requests import client_address
from readiness.models import LastDone
from readiness.operations.upkeep import PROXY_UNSET
from tests.pages import shown

pytestmark = pytest.mark.django_db

LOGIN = reverse("account_login")
AFAR = "203.0.113.7"
"""RFC 5737: for documentation, nobody's."""


@pytest.fixture
def in_production(settings):
    settings.READINESS_DEMO = settings.EMBEDDED = False


def ask(path=LOGIN, address="127.0.0.1", proxies=""):
    headers = {"X-Forwarded-For": proxies} if proxies else {}
    return Client(REMOTE_ADDR=address).get(path, headers=headers)


def test_a_proxy_that_is_not_counted_is_an_error_once_and_on_the_owners_screen(
    in_production, settings, client_for, applicator, caplog
):
    status = reverse("office:status")
    browser = client_for(applicator)
    assert "READINESS_PROXY_COUNT" not in shown(browser.get(status))
    with caplog.at_level(logging.ERROR):
        browser.get(LOGIN, headers={"X-Forwarded-For": AFAR})
        browser.get(LOGIN, headers={"X-Forwarded-For": AFAR})
    assert (
        len([line for line in caplog.records if "READINESS_PROXY_COUNT is 0" in line.message]) == 1
    )
    assert "set READINESS_PROXY_COUNT to the number of proxies" in shown(browser.get(status))
    settings.READINESS_PROXY_COUNT = 1
    assert "READINESS_PROXY_COUNT" not in shown(browser.get(status))


def test_the_deploy_check_names_it(in_production, settings):
    LastDone.note(PROXY_UNSET)
    with pytest.raises(SystemCheckError, match="come through a proxy, and READINESS_PROXY_COUNT"):
        call_command("check", deploy=True, databases=["default"])


def test_a_counted_proxy_is_nothing_to_tell(in_production, settings):
    settings.READINESS_PROXY_COUNT = settings.ALLAUTH_TRUSTED_PROXY_COUNT = 1
    assert ask(proxies=AFAR).status_code == 200
    assert not LastDone.objects.filter(name=PROXY_UNSET).exists()


def test_a_socket_without_a_counted_proxy_says_what_to_set(in_production):
    for proxies in ("", AFAR):
        answer = ask(address="", proxies=proxies)
        assert answer.status_code == 500
        assert "Set READINESS_PROXY_COUNT=1" in shown(answer)
    assert ask("/healthz", address="").status_code == 200


def test_a_socket_behind_a_counted_proxy_serves(in_production, settings):
    settings.READINESS_PROXY_COUNT = settings.ALLAUTH_TRUSTED_PROXY_COUNT = 1
    assert ask(address="", proxies=AFAR).status_code == 200
    assert "served on a socket" in shown(ask(address=""))


def test_fewer_proxies_than_counted_is_said(in_production, settings):
    settings.READINESS_PROXY_COUNT = settings.ALLAUTH_TRUSTED_PROXY_COUNT = 2
    answer = ask(proxies=AFAR)
    assert answer.status_code == 500
    assert "READINESS_PROXY_COUNT is 2, and this request came through 1." in shown(answer)


def test_the_demo_answers_only_on_its_own_machine(settings):
    settings.READINESS_DEMO = True
    for address in ("127.0.0.1", "127.0.0.9", "::1", ""):
        assert client_address.from_here(type("R", (), {"META": {"REMOTE_ADDR": address}}), [])
    assert ask().status_code == 200
    assert ask(proxies="127.0.0.1").status_code == 200
    for answer in (ask(address=AFAR), ask(proxies=AFAR), ask(proxies=f"{AFAR}, 127.0.0.1")):
        assert answer.status_code == 403
        assert "This is the demo" in shown(answer)


@pytest.mark.parametrize("name", ["localhost", "LOCALHOST", "a.localhost", "127.0.0.1", "[::1]"])
def test_names_of_this_machine(name):
    assert is_loopback(name)


@pytest.mark.parametrize("name", ["", "*", ".localhost.example", "0.0.0.0", "10.0.0.1", "::"])
def test_names_of_others(name):
    assert not is_loopback(name)
